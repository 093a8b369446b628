"""Strange places change no answer: another locale, other letters, no home, no display, one core, another clock."""

import json
import os
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from riskmodel.monitoring import Review, review
from tests.faults.commands import Done, fit, riskmodel, run, score
from tests.packaging import GOLDEN

STRANGE = ("with two  spaces", "Ωδοντοειδής", "環椎 軸椎", "зуб'\"$(x)%20")


def answers(done: Done) -> dict[str, Any]:
    assert done.returncode == 0, done.stderr
    held: dict[str, Any] = json.loads(done.stdout)
    return held


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The answers under ordinary conditions."""
    return answers(run(score(tmp_path_factory.mktemp("plain"))))


@pytest.mark.parametrize(
    "variables",
    [
        pytest.param({"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"}, id="a locale with decimal commas"),
        pytest.param({"LC_ALL": "C", "LANG": None, "PYTHONUTF8": "0"}, id="a locale without letters"),
        pytest.param({"HOME": None, "XDG_CONFIG_HOME": None, "XDG_CACHE_HOME": None}, id="no home"),
        pytest.param({"HOME": "/nowhere/at/all"}, id="a home that is not there"),
        pytest.param({"DISPLAY": None, "WAYLAND_DISPLAY": None}, id="no display"),
    ],
)
def test_the_environment_changes_no_answer(
    variables: dict[str, str | None], plain: dict[str, Any], tmp_path: Path
) -> None:
    assert answers(run(score(tmp_path), variables=variables)) == plain


@pytest.mark.parametrize("name", STRANGE)
def test_names_of_folders_change_no_answer(name: str, plain: dict[str, Any], tmp_path: Path) -> None:
    folder = tmp_path / name
    folder.mkdir()
    out = folder / f"{name}.json"
    assert run(score(folder, "--out", str(out)), at=folder).returncode == 0
    assert json.loads(out.read_text(encoding="utf-8")) == plain


def one_core() -> None:
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="the system does not bind processes to cores")
def test_one_core_changes_no_answer(plain: dict[str, Any], tmp_path: Path) -> None:
    assert answers(run(score(tmp_path), before=one_core)) == plain


def test_decimal_commas_in_a_table_are_read_or_refused_never_misread(tmp_path: Path) -> None:
    command = score(tmp_path)
    (tmp_path / "cases.csv").write_text("Age;Number;Start\n71,5;3;5\n", encoding="utf-8")
    comma = run(command)
    (tmp_path / "cases.csv").write_text("Age,Number,Start\n71.5,3,5\n", encoding="utf-8")
    point = answers(run(command))
    assert comma.returncode in (0, 1)
    if comma.returncode == 0:
        assert answers(comma) == point
    assert "Traceback" not in comma.stderr


CLOCK = """
import datetime, sys
class Earlier(datetime.date):
    @classmethod
    def today(cls):
        return cls(2001, 1, 1)
datetime.date = Earlier
from riskmodel.cli import main
main()
"""


def test_a_clock_before_the_models_date_gives_no_number_and_says_to_check_it(tmp_path: Path) -> None:
    asked = score(tmp_path)
    without = [part for part in asked[3:] if part not in ("--on", "2026-12-01", "--json")]
    for command in ([sys.executable, "-c", CLOCK, *without], riskmodel(*without, "--on", "2001-01-01")):
        done = run(command)
        assert done.returncode == 0, done.stderr
        assert "check the clock" in done.stdout
        assert "no number is shown" in done.stdout


def test_a_clock_before_the_models_date_is_said_by_inspect() -> None:
    early = run(riskmodel("inspect", str(GOLDEN), "--on", "2001-01-01"))
    assert early.returncode == 0
    state = review(date(2026, 11, 25), date(2028, 11, 25), date(2001, 1, 1))
    assert state is not Review.CURRENT
    assert f"on 2001-01-01: {state.value}" in early.stdout


@pytest.mark.slow
def test_a_fit_in_a_strange_place_has_the_same_digest(tmp_path: Path) -> None:
    folder = tmp_path / STRANGE[2]
    assert run(fit(tmp_path / "plain")).returncode == 0
    bare: dict[str, str | None] = {"HOME": None, "DISPLAY": None, "LC_ALL": "de_DE.UTF-8", "MPLCONFIGDIR": None}
    assert run(fit(folder / "model"), before=one_core, variables=bare).returncode == 0
    (one,), (other,) = (tmp_path / "plain").glob("*.riskmodel.json"), (folder / "model").glob("*.riskmodel.json")
    assert one.read_bytes() == other.read_bytes()
