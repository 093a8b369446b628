"""`python scripts/startup.py [PYTHON]`: how long the program takes to start, the best of 9 of each.

Wanted on an idle machine: `import riskmodel` within 200 ms, `riskmodel --help` within 300 ms, Python's own start
included. Not a test: a busy machine is no failure.
"""

import subprocess
import sys
import time

TIMES = 9
STARTS = {
    "python alone": ("pass", None),
    "import riskmodel": ("import riskmodel", 200),
    "riskmodel --help": ("import sys; sys.argv = ['riskmodel', '--help']; from riskmodel.cli import main; main()", 300),
}


def main() -> None:
    """Print each start with what is wanted."""
    python = sys.argv[1] if len(sys.argv) > 1 else sys.executable
    for name, (program, wanted) in STARTS.items():
        best = min(_milliseconds([python, "-c", program]) for _ in range(TIMES))
        beside = "" if wanted is None else f"   wanted: at most {wanted} ms"
        sys.stdout.write(f"{name:<18}{best:6.0f} ms{beside}\n")


def _milliseconds(command: list[str]) -> float:
    began = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True)  # noqa: S603 - our own words
    return 1000 * (time.perf_counter() - began)


if __name__ == "__main__":
    main()
