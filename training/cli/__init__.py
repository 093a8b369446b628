"""The fellow's command line, `python -m training`: one module per command, loaded when it is called."""

import sys

import click

from riskmodel.cli.group import LazyGroup
from riskmodel.cli.status import run

NAME = "python -m training"


def _template() -> click.Command:
    from training.cli.template import command

    return command


def _map() -> click.Command:
    from training.cli.map import command

    return command


def _tidy() -> click.Command:
    from training.cli.tidy import command

    return command


def _check() -> click.Command:
    from training.cli.check import command

    return command


def _advise() -> click.Command:
    from training.cli.advise import command

    return command


def _fit() -> click.Command:
    from training.cli.fit import command

    return command


def _validate() -> click.Command:
    from training.cli.validate import command

    return command


def _update() -> click.Command:
    from training.cli.update import command

    return command


def _share() -> click.Command:
    from training.cli.share import command

    return command


def _pool() -> click.Command:
    from training.cli.pool import command

    return command


def _card() -> click.Command:
    from training.cli.card import command

    return command


def _demo() -> click.Command:
    from training.cli.demo import command

    return command


@click.group(
    cls=LazyGroup,
    commands_by_name={
        "template": ("an empty workbook for a cohort that starts anew", _template),
        "map": ("a draft of how a registry becomes a cohort", _map),
        "tidy": ("the de-identified cohort that a map describes", _tidy),
        "check": ("everything that is wrong with a cohort, and what became of its children", _check),
        "advise": ("what a cohort can carry, and which step that leaves open", _advise),
        "fit": ("a risk model from a cohort: bundle, validation, card", _fit),
        "validate": ("a model checked on other patients", _validate),
        "update": ("a model recalibrated or updated with other patients", _update),
        "share": ("a centre's sums for a model of several centres; no row leaves", _share),
        "pool": ("one step of a model of several centres, from their sums", _pool),
        "card": ("the model card of a bundle", _card),
        "demo": ("the whole way on the invented demonstration cohort", _demo),
    },
    context_settings={"help_option_names": ["-h", "--help"]},
)
def commands() -> None:
    """Turn a department's registry into a risk model that deserves belief.

    Research software; it does not replace the judgement of the treating team, local protocols or licensed practice.

    Exit status: 0 done, 1 input refused, 2 wrong use, 3 could not finish.
    """


def main() -> None:
    """Run the command line and leave with its exit status."""
    sys.exit(run(commands, NAME))
