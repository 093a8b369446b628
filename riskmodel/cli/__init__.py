"""The command line `riskmodel`: one module per command, loaded when it is called."""

import sys

import click

from riskmodel.cli.group import LazyGroup
from riskmodel.cli.status import run


def _dictionary() -> click.Command:
    from riskmodel.cli.dictionary import command

    return command


def _inspect() -> click.Command:
    from riskmodel.cli.inspect import command

    return command


def _plans() -> click.Command:
    from riskmodel.cli.plans import command

    return command


def _score() -> click.Command:
    from riskmodel.cli.score import command

    return command


def _serve() -> click.Command:
    from riskmodel.cli.serve import command

    return command


def _sheet() -> click.Command:
    from riskmodel.cli.sheet import command

    return command


@click.group(
    cls=LazyGroup,
    commands_by_name={
        "dictionary": ("what each column means, and what it may hold", _dictionary),
        "inspect": ("what a model is: limits, outcome, ranges, performance", _inspect),
        "plans": ("what fits where, what contradicts itself, what must be ready in theatre", _plans),
        "score": ("estimates for new children, with reasons and range", _score),
        "sheet": ("the surgeon's page, or the family's sheet, of one child", _sheet),
        "serve": ("the local app: estimate, plan and counsel in a browser on this machine", _serve),
    },
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(package_name="riskmodel")
def commands() -> None:
    """Score a child with a risk model made from a department's own cohort.

    Research software. It works from typed values, reads no images and chooses no operation; it does not replace the
    judgement of the treating team, local protocols or licensed practice.

    Exit status: 0 done (also when a number was withheld), 1 input refused, 2 wrong use, 3 could not finish.
    """


def main() -> None:
    """Run the command line and leave with its exit status."""
    sys.exit(run(commands, "riskmodel"))
