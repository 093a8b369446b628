"""Benchmarks: ratios against a peer in one run. `make bench`; exit status 1 when a ratio falls below its bound."""

import sys

from tests.bench import tuning

if __name__ == "__main__":
    sys.exit(0 if tuning.main() else 1)
