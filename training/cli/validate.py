"""`python -m training validate`: a model checked on other patients, and the check noted in a new bundle."""

from datetime import date
from pathlib import Path

import click

from riskmodel import bundle as bundles
from riskmodel.cli.day import on_option
from riskmodel.cli.status import tell
from riskmodel.documents.cautions import DEMONSTRATION, GENERAL
from training import cohort as cohorts
from training.report import elsewhere, results
from training.report.whole import put, refuse_existing
from training.updating import Elsewhere, check_elsewhere, noted, protocol_of


@click.command("validate")
@click.argument("bundle", type=click.Path(path_type=Path))
@click.argument("cohort", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR", help="The folder to write.")
@click.option("--use", type=click.Choice(["local"]), help="Release the model for local use after this check.")
@click.option("--place", metavar="TEXT", help="Where the children come from; the names of their centres if left out.")
@click.option("--dictionary", metavar="NAME|FILE", help="The model's dictionary, where it is not a shipped one.")
@on_option("the check")
@click.option("--replace", "replace_it", is_flag=True, help="Replace DIR if it is there.")
def command(
    *, bundle: Path, cohort: Path, out: Path, on: date, dictionary: str | None, replace_it: bool, **how: str
) -> None:
    """Check the model in BUNDLE on COHORT (a CSV file, a workbook, or a folder of CSV files) of other patients."""
    refuse_existing(out, replace_it=replace_it)
    held = bundles.read(bundle)
    protocol = protocol_of(held, named=dictionary, beside=bundle.parent)
    told = cohorts.read(cohort, protocol)
    tell(told.findings)
    found = check_elsewhere(held, protocol, told, on=on, place=how.get("place"))
    after = noted(found, use_local=how.get("use") == "local")
    for what, path in put(out, lambda folder: _fill(folder, found, after), replace_it=replace_it).items():
        click.echo(f"{what}: {path}")
    click.echo("\n".join([*([DEMONSTRATION] if held.demonstration else []), *found.tells, " ".join(GENERAL[:2])]))


def _fill(folder: Path, found: Elsewhere, after: bundles.Bundle) -> dict[str, str]:
    return results.write(
        folder,
        after,
        "check",
        lambda sealed: elsewhere.document(found, sealed),
        lambda sealed: elsewhere.page(found, sealed),
    )
