"""`python -m training map`: a draft of how a registry becomes a cohort."""

from pathlib import Path

import click

from riskmodel import dictionary as dictionaries
from riskmodel.cli.files import write_whole
from training.registry import files
from training.registry.draft import draft_map
from training.registry.mapping.marks import marked_lines
from training.registry.safe import refuse_existing, refuse_same


@click.command("map")
@click.argument("registry", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="map.toml", help="The draft to write.")
@click.option("--of", default="cvj", show_default=True, metavar="NAME|PATH", help="A shipped dictionary, or a path.")
@click.option(
    "--header-rows",
    "declared",
    multiple=True,
    metavar="SHEET=ROW[,ROW]",
    help="Rows of the column names, where they are not found.",
)
@click.option("--replace", is_flag=True, help="Write over an earlier map, with everything that was answered in it.")
def command(*, registry: Path, out: Path, of: str, declared: tuple[str, ...], replace: bool) -> None:
    """Draft a map of REGISTRY (an .xlsx workbook or a .csv table), every guess marked `# check`.

    The map holds names of columns and words of the shipped lists, and no child's value. The registry is only read.
    """
    refuse_same(registry, out)
    refuse_existing(out, replace=replace)
    held = draft_map(files.read(registry), dictionaries.read(of), header_rows=_rows(declared))
    write_whole(out, held)
    click.echo(
        f"written: {out.name}, with {len(marked_lines(held))} guesses to check before the registry can be tidied"
    )


def _rows(declared: tuple[str, ...]) -> dict[str, tuple[int, ...]]:
    out = {}
    for text in declared:
        sheet, equals, rows = text.rpartition("=")
        numbers = [row.strip() for row in rows.split(",")]
        if not equals or not all(row.isdigit() and int(row) > 0 for row in numbers):
            raise click.UsageError("--header-rows takes SHEET=ROW or SHEET=ROW,ROW, such as Registry=2,3")
        out[sheet] = tuple(map(int, numbers))
    return out
