"""How commands end: one status, plain words, no traceback, no value that may be a patient's."""

import errno
from collections.abc import Callable

import click
import pytest

from riskmodel.cli.status import run, tell
from riskmodel.errors import BundleError, CasesRefused, Finding, Severity

A_CHILD = "Jane Smith 943 476 5919"


def _command(body: Callable[[], object]) -> click.Command:
    return click.Command("probe", callback=body)


def _finding(row: int, column: str = "adi_mm", rule: str = "outside_hard") -> Finding:
    return Finding("children", row, column, "99", "a number from -3 to 30 mm", Severity.ERROR, rule)


def _raise(error: BaseException) -> Callable[[], object]:
    def body() -> object:
        raise error

    return body


@pytest.mark.parametrize(
    ("error", "status", "words"),
    [
        (CasesRefused([_finding(3)]), 1, "error: children, row 3, column adi_mm: found 99; accepted: a number from"),
        (BundleError("the digest does not fit"), 1, "probe: the digest does not fit"),
        (click.UsageError("one at a time"), 2, "one at a time"),
        (KeyboardInterrupt(), 3, "probe: interrupted"),
        (
            OSError(errno.ENOSPC, "No space left on device", "/somewhere/out.json"),
            3,
            "No space left on device (out.json)",
        ),
        (MemoryError(), 3, "not enough memory"),
        (ValueError(A_CHILD), 3, "internal fault: ValueError at test_status.py:"),
        (RecursionError(A_CHILD), 3, "internal fault: RecursionError"),
    ],
)
def test_each_kind_of_end_has_its_status_and_one_line(
    error: BaseException, status: int, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(_command(_raise(error)), "probe", []) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert "Traceback" not in err
    assert A_CHILD not in err
    assert "/somewhere" not in err


def test_a_command_that_ends_well_ends_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(_command(lambda: click.echo("done")), "probe", []) == 0
    assert run(_command(lambda: None), "probe", ["--help"]) == 0
    assert run(_command(lambda: None), "probe", ["--nonsense"]) == 2
    assert "done" in capsys.readouterr().out


def _incident(error: Exception, capsys: pytest.CaptureFixture[str]) -> str:
    def fault() -> None:
        raise error

    run(_command(fault), "probe", [])
    return capsys.readouterr().err.rsplit("incident ", 1)[1]


def test_the_same_fault_has_the_same_incident_number(capsys: pytest.CaptureFixture[str]) -> None:
    first = _incident(ValueError("a"), capsys)
    assert first == _incident(ValueError("another child"), capsys)
    assert first != _incident(TypeError("a"), capsys)


def test_findings_alike_are_counted_after_the_tenth(capsys: pytest.CaptureFixture[str]) -> None:
    tell([*(_finding(row) for row in range(2, 1002)), _finding(7, "padi_mm")])
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 12
    assert lines[9].startswith("error: children, row 11,")
    assert lines[10] == "  ... and 990 more like this (children, column adi_mm)"
    assert "padi_mm" in lines[11]
