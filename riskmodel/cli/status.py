"""How a command ends: one exit status, and one line (or one per finding) that says why."""

from collections.abc import Iterable, Sequence
from enum import IntEnum
from itertools import groupby
from pathlib import Path

import click

from riskmodel.errors import Finding, Refused, RiskmodelError

_SHOWN_ALIKE = 10


class Status(IntEnum):
    """Exit statuses of every command."""

    DONE = 0
    REFUSED = 1
    WRONG_USE = 2
    NOT_FINISHED = 3


def run(command: click.Command, name: str, arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit status; what went wrong is said on stderr, without a traceback.

    An internal fault is said by its kind, its place in the code and an incident number that is the same for the same
    fault; the values at hand are not said, since they may be a patient's.
    """
    try:
        held = command.main(args=arguments, prog_name=name, standalone_mode=False)
        return held if isinstance(held, int) else Status.DONE
    except Refused as refused:
        tell(refused.findings)
        return Status.REFUSED
    except RiskmodelError as error:
        return _end(f"{name}: {error}", Status.REFUSED)
    except click.ClickException as error:
        error.show()
        return Status.WRONG_USE
    except (click.Abort, KeyboardInterrupt):
        return _end(f"{name}: interrupted", Status.NOT_FINISHED)
    except SystemExit:  # what click raises, standalone or not, when the reader of our output has gone
        return Status.NOT_FINISHED
    except (OSError, MemoryError) as error:
        return _end(f"{name}: could not finish: {_reason(error)}", Status.NOT_FINISHED)
    except Exception as error:  # the last door: nothing may leave as a traceback
        from riskmodel.incident import incident  # loaded when something went wrong: every start would wait for it

        return _end(f"{name}: internal fault: {incident(error)}", Status.NOT_FINISHED)


def tell(findings: Iterable[Finding]) -> None:
    """Print findings to stderr, one a line; of many about the same column and rule the first ten and a count."""
    ordered = sorted(findings, key=lambda held: (held.sheet, held.column or "", held.rule))
    for _, alike in groupby(ordered, key=lambda held: (held.sheet, held.column, held.rule)):
        held = list(alike)
        for finding in held[:_SHOWN_ALIKE]:
            click.echo(str(finding), err=True)
        if len(held) > _SHOWN_ALIKE:
            place = f"{held[0].sheet}, column {held[0].column}" if held[0].column else held[0].sheet
            click.echo(f"  ... and {len(held) - _SHOWN_ALIKE:,} more like this ({place})", err=True)


def _end(line: str, status: Status) -> Status:
    click.echo(line, err=True)
    return status


def _reason(error: OSError | MemoryError) -> str:
    if isinstance(error, MemoryError):
        return "not enough memory"
    name = f" ({Path(error.filename).name})" if isinstance(error.filename, str) else ""
    return f"{error.strerror or type(error).__name__}{name}"
