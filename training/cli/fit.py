"""`python -m training fit`: from a cohort and its protocol to a bundle, its validation and its card."""

from pathlib import Path

import click

from riskmodel.cli.status import tell
from training import cohort as cohorts
from training import protocol as protocols
from training.cli.cluster import cluster
from training.cli.progress import bar
from training.fitting import Trained, fit
from training.report import folder


@click.command("fit")
@click.argument("cohort", type=click.Path(path_type=Path))
@click.option("--protocol", required=True, metavar="FILE|NAME", help="A protocol, or the name of a shipped one.")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="DIR", help="The folder to write.")
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes for the replays.")
@click.option("--cluster", "address", metavar="ADDRESS", help="A dask scheduler, such as tcp://host:8786.")
@click.option("--replays", type=click.IntRange(20, 10_000), help="Replays; the protocol's number when not given.")
@click.option("--replace", "replace_it", is_flag=True, help="Replace DIR if it is there.")
def command(
    *, cohort: Path, protocol: str, out: Path, workers: int, address: str | None, replays: int | None, replace_it: bool
) -> None:
    """Fit COHORT (a CSV file, a workbook, or a folder of CSV files) under a protocol, and replay everything.

    With --cluster the replays run on the workers of a dask cluster, each from a checkout like this one; the numbers
    are the same to the last digit.
    """
    folder.refuse_existing(out, replace_it=replace_it)
    with cluster(address, workers) as count:
        trained = fit_with_bar(cohort, protocol, workers=count, replays=replays)
    tell(trained.warnings)
    for what, path in folder.write(trained, out, replace_it=replace_it).items():
        click.echo(f"{what}: {path}")


def fit_with_bar(cohort: Path, protocol: str, *, workers: int, replays: int | None = None) -> Trained:
    """Read, fit, and show how the replays go on stderr."""
    asked = protocols.read(protocol)
    held = cohorts.read(cohort, asked)
    with bar(asked.replays if replays is None else replays, f"replays of {asked.name}") as progress:
        return fit(held, asked, times=replays, workers=workers, progress=progress)
