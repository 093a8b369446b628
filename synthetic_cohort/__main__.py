"""`python -m synthetic_cohort`: write an invented cohort, and on request its truth."""

from enum import Enum
from pathlib import Path
from typing import Any

import click

from synthetic_cohort import writing
from synthetic_cohort.cohort import Recipe, make


class Scenario(Enum):
    """Which invented world."""

    PLAIN = "plain"


@click.command()
@click.option("--children", type=click.IntRange(1, 1_000_000), default=360, show_default=True)
@click.option("--centres", type=click.IntRange(1, 99), default=4, show_default=True)
@click.option("--seed", type=click.IntRange(0), default=20261125, show_default=True)
@click.option("--missing", type=click.FloatRange(0, 3), default=1.0, show_default=True, help="Times the usual gaps.")
@click.option("--censoring", type=click.FloatRange(0, 10), default=1.0, show_default=True, help="Times the usual loss.")
@click.option("--scenario", type=click.Choice([s.value for s in Scenario]), default="plain", show_default=True)
@click.option("--out", type=click.Path(path_type=Path), required=True, help="A folder, or a file ending in .xlsx.")
@click.option("--truth-out", type=click.Path(path_type=Path), help="CSV file for the true risks.")
def main(scenario: str, out: Path, truth_out: Path | None, **recipe: Any) -> None:
    """Write an invented cohort with known truth. No real child is in it."""
    del scenario  # one world so far
    cohort = make(Recipe(**recipe))
    if out.suffix.lower() == ".xlsx":
        writing.write_workbook(cohort.children, out)
    else:
        writing.write_table(cohort.children, out / "children.csv")
    if truth_out is not None:
        writing.write_table(writing.truth_table(cohort.children["case_id"], cohort.truth), truth_out)
    click.echo(f"{recipe['children']} invented children written to {out}; no real child is in them.", err=True)


if __name__ == "__main__":
    main()
