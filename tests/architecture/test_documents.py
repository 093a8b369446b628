"""Pages that name tests, files and versions name those that there are."""

import re
import tomllib
from collections.abc import Iterator, Mapping

import pytest

from riskmodel import dictionary
from riskmodel.cases import read_case_file
from riskmodel.cli.sheet import TICKS
from riskmodel.dictionary.model import Kind, Variable
from riskmodel.documents.family.numbers import LIKE_CASES, WIDEST
from riskmodel.missing import MEAN_DRAWS
from riskmodel.model import LEVEL
from tests import demonstration
from tests.architecture.project import ROOT
from training.advice.advise import FEWEST_EVENTS as FEWEST_TO_RECALIBRATE
from training.advice.beforehand import TOO_SURE_C
from training.candidates import bias_reduced, trees
from training.features import FEWEST_CARRIERS
from training.fitting import assemble
from training.fitting.assemble import SIGNAL_GAIN, SIGNAL_GAIN_SMALL, SMALL
from training.fitting.performance import FEW_EVENTS_PER_COLUMN
from training.metrics import FEWEST_EVENTS
from training.moments import PRIOR_CHILDREN, WARM_STEPS
from training.outcome.horizon import FEWEST_AT_RISK
from training.posterior import SCALES
from training.sample_size import CAUTIOUS_NAGELKERKE, OPTIMISM
from training.validation import missing

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


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", *sorted(p.name for p in (ROOT / "docs").glob("*.md"))])
def test_every_link_and_every_path_of_a_page_leads_somewhere(page: str) -> None:
    place = ROOT / page if (ROOT / page).exists() else ROOT / "docs" / page
    for link in re.findall(r"\]\(([^)#]+)\)", place.read_text(encoding="utf-8")):
        assert (place.parent / link).exists(), link
    for path in re.findall(r"`((?:[\w.]+/)+[\w.]*)`", place.read_text(encoding="utf-8")):
        assert path.startswith("demo/") or (ROOT / path).exists(), path


def rows(page: str) -> list[list[str]]:
    """The cells of every row of a page's tables, without their heads."""
    lines = (ROOT / "docs" / page).read_text(encoding="utf-8").splitlines()
    below = [*lines[1:], ""]
    held = [line for line, after in zip(lines, below, strict=True) if line[:2] == "| " and after[:5] != "| ---"]
    return [[cell.strip() for cell in line.split("|")[1:-1]] for line in held if line[:5] != "| ---"]


def test_every_promise_has_a_place_and_a_test() -> None:
    held = rows("trace.md")
    assert len(held) > 40
    for promise, places, proof in held:
        assert re.search(r"`[\w/.]+`", places), promise
        for place in KEPT.findall(places):
            assert (ROOT / place).exists(), f"{promise}: {place} is not there"
        assert NAMED.search(proof), f"{promise}: no test is named"


def test_every_hazard_has_a_guard_and_a_test() -> None:
    held = rows("hazards.md")
    assert len(held) > 30
    for hazard, guard, proof, _left in held:
        assert guard, hazard
        assert NAMED.search(proof), hazard


def test_what_is_ten_times_too_large_or_too_small_is_hardly_ever_taken() -> None:
    """What the page of hazards says of units, tried on the numbers of the invented children."""
    known = dictionary.read("cvj").variables
    asked = {factor: [_asked(known[name], factor * value) for name, value in _numbers(known)] for factor in (10.0, 0.1)}
    assert len(asked[10.0]) > 50
    assert sum(asked[10.0]) > 0.95 * len(asked[10.0])
    assert sum(asked[0.1]) > 0.85 * len(asked[0.1])
    assert _asked(known["age_years"], 12.0 * 9.2)
    assert _asked(known["c2_pedicle_width_right_mm"], 0.46)
    assert not _asked(known["adi_mm"], 0.6), "the page says that a distance that may be near nothing passes"


def _numbers(known: Mapping[str, Variable]) -> Iterator[tuple[str, float]]:
    for path in sorted(demonstration.CASES.glob("*.toml")):
        for name, value in read_case_file(path).values.items():
            if name in known and known[name].kind is Kind.NUMBER and isinstance(value, int | float) and value:
                yield name, float(value)


def _asked(variable: Variable, value: float) -> bool:
    """Whether a value is refused or questioned."""
    spans = [span for span in (variable.hard, variable.soft) if span is not None]
    return any(not low <= value <= high for low, high in spans)


def test_the_citation_names_the_version_that_is_built() -> None:
    built = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    cited = re.search(r"^version: (.+)$", (ROOT / "CITATION.cff").read_text(encoding="utf-8"), re.MULTILINE)
    assert cited is not None
    assert cited[1] == built


def test_the_method_page_tells_the_constants_of_the_code() -> None:
    text = " ".join((ROOT / "docs" / "method.md").read_text(encoding="utf-8").split())
    for told in _constants():
        assert told in text


def test_the_page_of_the_counselling_team_names_every_tick_and_when_there_is_a_number() -> None:
    text = " ".join((ROOT / "docs" / "counselling.md").read_text(encoding="utf-8").split())
    assert set(TICKS) <= set(re.findall(r"`(\w+)`", text))
    assert f"at least {LIKE_CASES} like cases, a range narrower than {WIDEST} in 100" in text


def _constants() -> Iterator[str]:
    size, (low, *_, high) = len(SCALES), SCALES
    yield f"at least {FEWEST_AT_RISK} at the horizon"
    yield f"{size} × {size} grid from {low:g} to {high:g}"
    yield f"middle {LEVEL:.0%} of {assemble.DRAWS} draws"
    yield f"{PRIOR_CHILDREN:g} prior children"
    yield f"{MEAN_DRAWS} fixed completions"
    yield f"fewer than {FEWEST_CARRIERS} children of known outcome"
    yield f"must exceed {SIGNAL_GAIN:.1f}, with at most {SMALL} children of known outcome {SIGNAL_GAIN_SMALL:.1f}"
    yield f"({WARM_STEPS} EM steps"
    yield f".632+ with fewer than {FEW_EVENTS_PER_COLUMN:g} events for each learned column, and for trees"
    yield f"optimism of R² and mean absolute error within {OPTIMISM}"
    yield f"Nagelkerke R² of {CAUTIOUS_NAGELKERKE}"
    yield f"from {FEWEST_TO_RECALIBRATE} events and {FEWEST_TO_RECALIBRATE} non-events on"
    yield f"a median c above {TOO_SURE_C} is called too sure"
    yield f"no priors, {bias_reduced.ENOUGH_REPLAYS} replays"
    yield f"from {trees.FEWEST_EVENTS} events on"
    yield f"leaves of {trees.FEWEST_IN_LEAF} children, {trees.ENOUGH_REPLAYS} replays"
    yield f"under {FEWEST_EVENTS} events or non-events"
    yield f"{missing.DRAWS} proper draws"
