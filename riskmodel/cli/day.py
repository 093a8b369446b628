"""The day that a command is asked on: the one place where the commands of the runtime read the clock."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import click


def on_option(what: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The option `--on YYYY-MM-DD`, passed to the command as a date, today when not given; `what` says whose date."""
    return click.option(
        "--on", type=click.DateTime(["%Y-%m-%d"]), callback=_day, help=f"The date of {what}; today when not given."
    )


def _day(context: click.Context, parameter: click.Parameter, given: datetime | None) -> date:
    return date.today() if given is None else given.date()
