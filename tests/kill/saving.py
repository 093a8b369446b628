"""Keep answers without end, and say each one's id as soon as it is confirmed; to be killed."""

import sys
from dataclasses import replace
from itertools import count
from pathlib import Path

from riskmodel.web.kept import Store
from tests.riskmodel.web.kept.builders import KEPT


def main(path: str, run: str) -> None:
    """Keep two answers at a time, as the app does with two models."""
    store = Store(Path(path))
    for number in count():
        pair = [replace(KEPT, id=f"{run}-{number}-{model}", case_id=f"C-{run}-{number}") for model in "ab"]
        sys.stdout.write(f"saving {pair[0].id} {pair[1].id}\n")
        sys.stdout.flush()
        store.keep(pair)
        sys.stdout.write(f"kept {pair[0].id} {pair[1].id}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
