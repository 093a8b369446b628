"""`python -m training tidy`: the de-identified cohort that a map describes."""

import io
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from pathlib import Path

import click

from riskmodel import dictionary as dictionaries
from riskmodel.cli.files import write_whole
from riskmodel.cli.status import tell
from riskmodel.errors import Finding, Refused
from riskmodel.tables import write_csv
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
@click.option(
    "--findings",
    "listed_findings",
    type=click.Path(path_type=Path),
    metavar="FILE.csv",
    help="Write every finding as a table to work through, also when the registry is refused.",
)
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day of reading.  [default: today]")
@click.option("--replace", is_flag=True, help="Write over an earlier cohort and list of changes.")
def command(
    *,
    registry: Path,
    map_path: Path,
    out: Path,
    changes: Path | None,
    listed_findings: Path | None,
    on: datetime | None,
    replace: bool,
) -> None:
    """Make a de-identified cohort of REGISTRY, as its map says; what the map does not cover is refused.

    Nothing is guessed. Names, dates of birth and free text are not carried; dates become months from the operation.
    The list of changes names rows of the registry and shows what stood there: it stays where the registry is.
    """
    out = out.resolve()
    listed = changes or out.with_name(f"{out.name}.changes.csv")
    for path in filter(None, (out, listed, listed_findings)):
        refuse_same(registry, path)
        refuse_same(map_path, path)
        refuse_existing(path, replace=replace)
    try:
        tidied = _tidied(registry, map_path, on.date() if on else date.today())
    except Refused as refused:
        _list_findings(refused.findings, listed_findings)
        raise
    _list_findings(tidied.findings, listed_findings)
    write(tidied, out, listed)
    tell(tidied.findings)
    click.echo("\n".join(_lines(tidied, out, listed)))


def _tidied(registry: Path, map_path: Path, on: date) -> Tidied:
    held = mapping.read(map_path)
    dictionary = dictionaries.read(held.dictionary, map_path.parent)
    return tidy(files.read(registry), held, dictionary, on=on)


def _list_findings(findings: Iterable[Finding], path: Path | None) -> None:
    if path is None:
        return
    text = io.StringIO()
    rows = [(f.severity.value, f.sheet, f.row, f.column, f.found, f.accepted, f.rule) for f in findings]
    write_csv(text, ("severity", "sheet", "row", "column", "found", "accepted", "rule"), rows)
    write_whole(path, text.getvalue())


def _lines(tidied: Tidied, out: Path, listed: Path) -> Iterator[str]:
    for name, table in tidied.tables.items():
        yield f"{name}: {len(table)} rows, {len(table.header)} columns"
    kept = [change for change in tidied.changes if change.row is not None]
    left = sum(change.rule.startswith("not carried") for change in tidied.changes)
    yield f"{len(kept)} cells changed or left out, {left} columns not carried"
    yield f"written: {out.name} (no names, dates of birth, dates or free text)"
    yield f"written: {listed.name} (what stood in the registry and what became of it: stays where the registry is)"
