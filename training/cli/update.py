"""`python -m training update`: a model recalibrated or updated with other patients, as far as they can carry it."""

from datetime import date
from pathlib import Path

import click

from riskmodel import bundle as bundles
from riskmodel.cli.day import on_option
from riskmodel.cli.status import tell
from riskmodel.documents.cautions import DEMONSTRATION, GENERAL
from training import cohort as cohorts
from training.report import results
from training.report import update as report
from training.report.whole import put, refuse_existing
from training.updating import DISCOUNT, Method, Updated, protocol_of, update


@click.command("update")
@click.argument("bundle", type=click.Path(path_type=Path))
@click.argument("cohort", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR", help="The folder to write.")
@click.option("--method", type=click.Choice([held.value for held in Method]), default="closed_test", show_default=True)
@click.option(
    "--discount",
    type=click.FloatRange(1, 100),
    default=DISCOUNT,
    show_default=True,
    help="Of the parent's beliefs, with --method prior: by how much its covariance is multiplied.",
)
@click.option("--dictionary", metavar="NAME|FILE", help="The model's dictionary, where it is not a shipped one.")
@on_option("the update")
@click.option("--replace", "replace_it", is_flag=True, help="Replace DIR if it is there.")
def command(
    *,
    bundle: Path,
    cohort: Path,
    out: Path,
    method: str,
    discount: float,
    on: date,
    replace_it: bool,
    **how: str | None,
) -> None:
    """Update the model in BUNDLE with COHORT (a CSV file, a workbook, or a folder of CSV files) of other patients.

    The closed test keeps the model as it was unless the children show that it needs a change.
    """
    refuse_existing(out, replace_it=replace_it)
    held = bundles.read(bundle)
    protocol = protocol_of(held, named=how["dictionary"], beside=bundle.parent)
    told = cohorts.read(cohort, protocol)
    done = update(held, protocol, told, on=on, method=Method(method), discount=discount)
    tell(done.warnings)
    for what, path in put(out, lambda folder: _fill(folder, done), replace_it=replace_it).items():
        click.echo(f"{what}: {path}")
    click.echo("\n".join([*([DEMONSTRATION] if held.demonstration else []), *_told(done), " ".join(GENERAL[:2])]))


def _told(done: Updated) -> tuple[str, ...]:
    note = done.bundle.updates[-1]
    moved = tuple(f"  {held.what}: {held.before:.3f} -> {held.after:.3f}" for held in note.moved)
    said = report.KEPT if report.kept(done) else report.CHANGED
    return (f"step: {done.chosen}", *(f"  {test}" for test in note.tests), *moved, f"intervals: {note.interval}", said)


def _fill(folder: Path, done: Updated) -> dict[str, str]:
    return results.write(
        folder,
        done.bundle,
        "update",
        lambda sealed: report.document(done, sealed),
        lambda sealed: report.page(done, sealed),
    )
