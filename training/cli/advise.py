"""`python -m training advise`: what a cohort can carry, and which step that leaves open."""

import json
from pathlib import Path

import click

from riskmodel.cli.files import write_whole
from riskmodel.cli.status import tell
from riskmodel.documents.cautions import DEMONSTRATION, GENERAL, cautions
from training import cohort as cohorts
from training import protocol as protocols
from training.advice import advise, document, lines
from training.features import declare
from training.outcome import at_horizon, check_enough

FORMAT = 1


@click.command("advise")
@click.argument("cohort", type=click.Path(path_type=Path))
@click.option("--protocol", required=True, metavar="FILE|NAME", help="A protocol, or the name of a shipped one.")
@click.option("--json", "json_path", type=click.Path(path_type=Path), metavar="FILE", help="Write the advice as JSON.")
def command(*, cohort: Path, protocol: str, json_path: Path | None) -> None:
    """Say whether COHORT can carry the model that a protocol asks for, and what to do if it cannot.

    Nothing is written but the advice; `fit` fits when asked all the same, and stamps what it makes with this advice.
    """
    asked = protocols.read(protocol)
    held = cohorts.read(cohort, asked)
    outcome = at_horizon(held, asked)
    tell((*held.findings, *check_enough(outcome)))
    advice = advise(held, asked, outcome, declare(held, asked))
    said = ([DEMONSTRATION] if asked.demonstration else []) + [asked.title, *lines(advice), " ".join(GENERAL[:2])]
    click.echo("\n".join(said))
    if json_path is not None:
        told = {
            "format": FORMAT,
            "protocol": asked.name,
            "demonstration": asked.demonstration,
            "cautions": list(cautions(demonstration=asked.demonstration)),
            **document(advice),
        }
        write_whole(json_path, json.dumps(told, indent=1, ensure_ascii=False) + "\n")
