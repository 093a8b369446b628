"""`python -m tests.kill [TIMES]`: the tally, and status 1 when something confirmed was lost."""

import random
import sys
import tempfile
from pathlib import Path

from tests.kill.killing import kill

TIMES = 200


def main() -> int:
    """Kill, and print the tally."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else TIMES
    with tempfile.TemporaryDirectory() as folder:
        tally = kill(times, Path(folder) / "kept.sqlite3", random.Random(20261125))  # noqa: S311 - moments, not secrets
    lines = [f"killed {times} times: saved {tally.saved}, confirmed {tally.confirmed}, found {tally.found}"]
    sys.stdout.write(
        "\n".join([*lines, *tally.faults, "nothing confirmed was lost" if not tally.faults else ""]) + "\n"
    )
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main())
