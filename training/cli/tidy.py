"""`python -m training tidy`: the de-identified cohort that a map describes."""

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import click

from riskmodel import dictionary as dictionaries
from riskmodel.cli.status import tell
from training.registry import files, mapping
from training.registry.safe import refuse_existing, refuse_same
from training.registry.tidying import Tidied, tidy, write


@click.command("tidy")
@click.argument("registry", type=click.Path(path_type=Path))
@click.option("--map", "map_path", required=True, type=click.Path(path_type=Path), metavar="map.toml")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR", help="The cohort to write.")
@click.option(
    "--changes",
    type=click.Path(path_type=Path),
    metavar="FILE.csv",
    help="The list of changes.  [default: DIR.changes.csv]",
)
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day of reading.  [default: today]")
@click.option("--replace", is_flag=True, help="Write over an earlier cohort and list of changes.")
def command(
    *, registry: Path, map_path: Path, out: Path, changes: Path | None, on: datetime | None, replace: bool
) -> None:
    """Make a de-identified cohort of REGISTRY, as its map says; what the map does not cover is refused.

    Nothing is guessed. Names, dates of birth and free text are not carried; dates become months from the operation.
    The list of changes names rows of the registry and shows what stood there: it stays where the registry is.
    """
    out = out.resolve()
    listed = changes or out.with_name(f"{out.name}.changes.csv")
    for path in (out, listed):
        refuse_same(registry, path)
        refuse_same(map_path, path)
        refuse_existing(path, replace=replace)
    held = mapping.read(map_path)
    dictionary = dictionaries.read(held.dictionary, map_path.parent)
    tidied = tidy(files.read(registry), held, dictionary, on=on.date() if on else date.today())
    write(tidied, out, listed)
    tell(tidied.findings)
    click.echo("\n".join(_lines(tidied, out, listed)))


def _lines(tidied: Tidied, out: Path, listed: Path) -> Iterator[str]:
    for name, table in tidied.tables.items():
        yield f"{name}: {len(table)} rows, {len(table.header)} columns"
    kept = [change for change in tidied.changes if change.row is not None]
    left = sum(change.rule.startswith("not carried") for change in tidied.changes)
    yield f"{len(kept)} cells changed or left out, {left} columns not carried"
    yield f"written: {out.name} (no names, dates of birth, dates or free text)"
    yield f"written: {listed.name} (what stood in the registry and what became of it: stays where the registry is)"
