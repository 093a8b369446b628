"""`python -m synthetic_cohort`: write an invented cohort, and on request its truth."""

import math
from pathlib import Path
from typing import Any

import click
import numpy as np

from synthetic_cohort import cohort, messy_workbook, registry, truth, writing
from synthetic_cohort.cohort import Cohort, Recipe
from synthetic_cohort.recording import Table
from synthetic_cohort.scenarios import WORLD_SEED, Scenario

COULD_NOT_FINISH = 3


class Times(click.FloatRange):
    """A multiple of what is usual; not a number is none."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read the multiple."""
        times = float(super().convert(value, param, ctx))
        if math.isnan(times):
            self.fail(f"{value} found; accepted: {self.min} to {self.max}", param, ctx)
        return times


@click.command()
@click.option("--children", type=click.IntRange(1, 1_000_000), default=360, show_default=True)
@click.option("--centres", type=click.IntRange(1, 99), help="Units; left out: as many as the scenario has.")
@click.option("--seed", type=click.IntRange(0), default=20261125, show_default=True, help="Of the children.")
@click.option("--missing", type=Times(0, 3), default=1.0, show_default=True, help="Times the usual gaps.")
@click.option("--censoring", type=Times(0, 10), default=1.0, show_default=True, help="Times the usual loss.")
@click.option("--scenario", type=click.Choice([s.value for s in Scenario]), default="plain", show_default=True)
@click.option("--world-seed", type=click.IntRange(0), default=WORLD_SEED, show_default=True, help="Of the effects.")
@click.option("--with", "further", help=f"Further tables, joined by commas, or all: {', '.join(registry.FURTHER)}.")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="A folder, or a file ending in .xlsx.")
@click.option("--truth-out", type=click.Path(path_type=Path, dir_okay=False), help="CSV file for the true risks.")
def main(scenario: str, further: str | None, out: Path, truth_out: Path | None, **numbers: Any) -> None:
    """Write an invented cohort with known truth. No real child is in it."""
    recipe = Recipe(scenario=Scenario(scenario), **numbers)
    names = _further(further, recipe.scenario)
    _keep_apart(out, truth_out)
    made = cohort.make(recipe)
    tables = registry.write_down(made, recipe, names)
    try:
        _write(tables, made, recipe, out)
        if truth_out is not None:
            writing.write_table(_truth(made, tables["children"]), truth_out)
    except OSError as error:
        click.echo(f"could not write {error.filename or out}: {error.strerror}", err=True)
        raise SystemExit(COULD_NOT_FINISH) from None
    click.echo(f"{recipe.children} invented children written to {out}; no real child is among them.", err=True)


def _further(further: str | None, scenario: Scenario) -> tuple[str, ...]:
    """Names of the further tables asked for."""
    names = tuple(name.strip() for name in (further or "").split(",") if name.strip())
    unknown = [name for name in names if name not in (*registry.FURTHER, "all")]
    if unknown:
        accepted = ", ".join((*registry.FURTHER, "all"))
        raise click.BadParameter(f"{', '.join(unknown)} found; accepted: {accepted}", param_hint="--with")
    if names and scenario is Scenario.DIRTY:
        raise click.BadParameter("the messy registry holds the core only; leave this out", param_hint="--with")
    return registry.FURTHER if "all" in names else names


def _keep_apart(out: Path, truth_out: Path | None) -> None:
    """A truth among the tables of a cohort would be read with them."""
    if truth_out is not None and truth_out.resolve().is_relative_to(out.resolve()):
        raise click.BadParameter("a file inside the cohort; accepted: one beside it", param_hint="--truth-out")


def _truth(made: Cohort, children: Table) -> Table:
    people = made.people
    everything = truth.everything(made.world, made.base, people.child, people.plan, people.hidden)
    told = truth.told(made.world, made.base, people.child, people.plan)
    return writing.truth_table(children["case_id"], everything, told)


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
