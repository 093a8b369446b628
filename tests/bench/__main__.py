"""Benchmarks: ratios against a peer in one run, and the app's own bounds. `make bench`; status 1 when one is missed."""

import sys

from tests.bench import replays, scoring, serving, sheets, tuning, whole

if __name__ == "__main__":
    held = [tuning.main(), replays.main(), whole.main(), scoring.main(), sheets.main(), serving.main()]
    sys.exit(0 if all(held) else 1)
