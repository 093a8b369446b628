"""Benchmarks: ratios against a peer in one run. `make bench`; exit status 1 when a ratio falls below its bound."""

import sys

from tests.bench import replays, scoring, tuning, whole

if __name__ == "__main__":
    held = [tuning.main(), replays.main(), whole.main(), scoring.main()]
    sys.exit(0 if all(held) else 1)
