"""`python -m training share`: a centre's sums for a fit over centres; no row leaves."""

from pathlib import Path

import click

from riskmodel.cli.files import write_whole
from riskmodel.cli.status import tell
from training import cohort as cohorts
from training import protocol as protocols
from training.cohort import Cohort
from training.protocol import Protocol
from training.sharing import Counts, Judgement, Masks, Round, Stage, Sums, add_up, centre_name, count, files, judge
from training.sharing.model import CAUTION
from training.sharing.secrets import read_secrets


@click.command("share")
@click.argument("cohort", type=click.Path(path_type=Path))
@click.option("--protocol", required=True, metavar="FILE|NAME", help="The protocol that all centres agreed on.")
@click.option("--at", "round_path", type=click.Path(path_type=Path), metavar="ROUND", help="The round to answer.")
@click.option("--centre", metavar="NAME", help="This centre's name, in place of the cohort's own.")
@click.option("--secrets", type=click.Path(path_type=Path), metavar="FILE", help="Phrases to mask the sums with.")
@click.option("--out", required=True, type=click.Path(path_type=Path), metavar="FILE", help="The file to write.")
def command(
    *, cohort: Path, protocol: str, round_path: Path | None, centre: str | None, secrets: Path | None, out: Path
) -> None:
    """Sum over COHORT (a CSV file, a workbook, or a folder of CSV files), the children of one centre.

    Without --at the centre counts itself, for the first round; with it, it answers the round.
    """
    asked = protocols.read(protocol)
    held = cohorts.read(cohort, asked)
    tell(held.findings)
    name = centre_name(held, centre)
    masks = Masks(name, {}) if secrets is None else read_secrets(secrets, name)
    answer = _answer(held, asked, round_path, masks)
    write_whole(out, files.text(answer))
    click.echo(f"{name}: {_what(answer)}: {out}")
    click.echo(CAUTION)


def _answer(held: Cohort, asked: Protocol, path: Path | None, masks: Masks) -> Counts | Sums | Judgement:
    if path is None:
        return count(held, asked, masks)
    at = files.read(path)
    if not isinstance(at, Round):
        raise files.refused(path.name, "a file that a centre sent", "a round that the pool wrote", "no_round")
    return (add_up if at.stage is Stage.FIT else judge)(held, asked, at, masks)


def _what(answer: Counts | Sums | Judgement) -> str:
    return {Counts: "counts, for the first round", Sums: "sums", Judgement: "judgement"}[type(answer)]
