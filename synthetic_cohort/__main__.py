"""`python -m synthetic_cohort`: write an invented cohort, and on request its truth."""

from pathlib import Path
from typing import Any

import click
import numpy as np

from synthetic_cohort import cohort, messy_workbook, registry, truth, writing
from synthetic_cohort.cohort import Cohort, Recipe
from synthetic_cohort.recording import Table
from synthetic_cohort.scenarios import WORLD_SEED, Scenario


@click.command()
@click.option("--children", type=click.IntRange(1, 1_000_000), default=360, show_default=True)
@click.option("--centres", type=click.IntRange(1, 99), help="Units; left out: as many as the scenario has.")
@click.option("--seed", type=click.IntRange(0), default=20261125, show_default=True, help="Of the children.")
@click.option("--missing", type=click.FloatRange(0, 3), default=1.0, show_default=True, help="Times the usual gaps.")
@click.option("--censoring", type=click.FloatRange(0, 10), default=1.0, show_default=True, help="Times the usual loss.")
@click.option("--scenario", type=click.Choice([s.value for s in Scenario]), default="plain", show_default=True)
@click.option("--world-seed", type=click.IntRange(0), default=WORLD_SEED, show_default=True, help="Of the effects.")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="A folder, or a file ending in .xlsx.")
@click.option("--truth-out", type=click.Path(path_type=Path, dir_okay=False), help="CSV file for the true risks.")
def main(scenario: str, out: Path, truth_out: Path | None, **numbers: Any) -> None:
    """Write an invented cohort with known truth. No real child is in it."""
    recipe = Recipe(scenario=Scenario(scenario), **numbers)
    made = cohort.make(recipe)
    tables = registry.write_down(made, recipe)
    _write(tables, made, recipe, out)
    if truth_out is not None:
        people = made.people
        everything = truth.everything(made.world, made.base, people.child, people.plan, people.hidden)
        told = truth.told(made.world, made.base, people.child, people.plan)
        writing.write_table(writing.truth_table(tables["children"]["case_id"], everything, told), truth_out)
    click.echo(f"{recipe.children} invented children written to {out}; no real child is among them.", err=True)


def _write(tables: dict[str, Table], made: Cohort, recipe: Recipe, out: Path) -> None:
    book = out.suffix.lower() == ".xlsx"
    if recipe.scenario is Scenario.DIRTY:
        rng = np.random.default_rng([recipe.seed, 2])
        messy_workbook.write(rng, tables["children"], made.people.body, out if book else out / "registry.xlsx")
    elif book:
        writing.write_workbook(tables, out)
    else:
        writing.write_folder(tables, out)


if __name__ == "__main__":
    main()
