"""Pages that name tests, files and versions name those that there are."""

import re
import tomllib

import pytest

from tests.architecture.project import ROOT

NAMED = re.compile(r"`(tests/[\w/.]+?)(?:::(\w+))?`")
KEPT = re.compile(r"`((?:riskmodel|training|synthetic_cohort)/[\w/.]+)`")


@pytest.mark.parametrize("page", ["hazards.md", "trace.md"])
def test_every_test_that_a_page_names_exists(page: str) -> None:
    named = NAMED.findall((ROOT / "docs" / page).read_text(encoding="utf-8"))
    assert len(named) > 20
    for path, test in named:
        place = ROOT / path
        assert place.exists(), f"{page}: {path} is not there"
        if test:
            assert f"def {test}(" in place.read_text(encoding="utf-8"), f"{page}: {path} has no {test}"


def test_every_promise_has_a_place_and_a_test() -> None:
    rows = [line for line in (ROOT / "docs" / "trace.md").read_text(encoding="utf-8").splitlines() if line[:2] == "| "]
    for row in rows[2:]:
        _, promise, places, held, _ = row.split("|")
        for place in KEPT.findall(places):
            assert (ROOT / place).exists(), f"{promise.strip()}: {place} is not there"
        assert NAMED.search(held), f"{promise.strip()}: no test is named"


def test_every_hazard_has_a_guard_and_a_test() -> None:
    text = (ROOT / "docs" / "hazards.md").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line[:2] == "| "]
    assert len(rows) > 15
    for row in rows[2:]:
        _, hazard, guard, proof, _, _ = row.split("|")
        assert guard.strip(), hazard
        assert NAMED.search(proof), hazard


def test_the_citation_names_the_version_that_is_built() -> None:
    built = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    cited = re.search(r"^version: (.+)$", (ROOT / "CITATION.cff").read_text(encoding="utf-8"), re.MULTILINE)
    assert cited is not None
    assert cited[1] == built
