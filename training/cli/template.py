"""`python -m training template`: an empty workbook for a cohort that starts anew."""

from pathlib import Path

import click

from riskmodel import dictionary as dictionaries
from riskmodel.cli.files import write_whole
from training.registry.safe import refuse_existing
from training.registry.template import template


@click.command("template")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE.xlsx")
@click.option("--with", "more", default="", metavar="TABLE,...", help="Further tables, such as sides,screws.")
@click.option("--of", default="cvj", show_default=True, metavar="NAME|PATH", help="A shipped dictionary, or a path.")
@click.option("--replace", is_flag=True, help="Write over an earlier file.")
def command(*, file: Path, more: str, of: str, replace: bool) -> None:
    """Write an empty workbook: the core columns with a drop-down for every word, and how to fill them."""
    if file.suffix.lower() != ".xlsx":
        raise click.UsageError("FILE must end in .xlsx")
    refuse_existing(file, replace=replace)
    wanted = tuple(name.strip() for name in more.split(",") if name.strip())
    write_whole(file, template(dictionaries.read(of), wanted))
    click.echo(f"written: {file.name}")
