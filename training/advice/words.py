"""The advice in words: one sentence why, lines for people, plain JSON for bundle and programs."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from riskmodel.bundle import COUNT_STEP
from riskmodel.documents.card.advice import CRITERIA
from riskmodel.documents.words import fixed, of_100
from riskmodel.like_cases import count_words
from training.advice.beforehand import TOO_SURE_C
from training.advice.model import Advice, Beforehand, Path, Spread
from training.sample_size import (
    CAUTIOUS_NAGELKERKE,
    MOST_PARAMETERS,
    Carried,
    Required,
    children_to_judge_observed_expected,
)

DO_NOT_REFIT, REFIT = "do not refit", "refit"
STAMP = "for study, not for use"
NOT_STUDIED = f"not studied for more than {MOST_PARAMETERS} effects"
# Criteria that allow so many degrees of freedom, as `Carried` and `Required` name them.
ALLOWING = ("shrinkage", "optimism", "absolute_error")


def reason(path: Path, children: int, events: int, columns: int, held: Carried) -> str:
    """Why this path, for a surgeon. Counts are rounded down to multiples of 5, as in every bundle."""
    of_them = _sentence(f"{_counted(children)} children with {_counted(events)} events")
    if path is Path.CHECK_ONLY:
        return (
            f"{of_them} are too few to change any model: hold one that was made elsewhere against what happened here, "
            "and say how unsure that is."
        )
    if path is Path.REFIT:
        return f"{of_them} are enough to estimate the {columns} effects of this protocol from the data alone."
    can = f"{of_them} can carry about {held.allowed:.1f} freely estimated effects, and this protocol has {columns}"
    if path is Path.UPDATE:
        return f"{can}: start from what was held beforehand, and let your children move it as far as they can."
    return f"{can}: keep a model that was made elsewhere, and let your children correct how high it stands."


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _counted(count: int) -> str:
    return count_words(count - count % COUNT_STEP)


def verdict(advice: Advice) -> str:
    """The verdict in two or three words."""
    return REFIT if advice.refit else DO_NOT_REFIT


def lines(advice: Advice) -> Iterator[str]:
    """The advice for people, one fact a line."""
    held = advice.carried
    yield f"advice: {verdict(advice)}; {advice.path.value}"
    yield f"  {advice.reason}"
    yield f"  {advice.children} children of known course, censored as they are worth {advice.worth:.0f}"
    yield f"  effects to estimate: {advice.columns}; {_spent(advice)}"
    for words, carries, needs in _criteria(advice):
        needed = "" if needs is None else f"; {advice.columns} would need {needs:,} children"
        yield f"  {words}: {carries}{needed}"
    yield f"  overall risk known to within {100 * held.overall_risk_margin:.1f} points (5 are wanted)"
    yield f"  slope to expect on new children: {fixed(advice.shrinkage_free)} if fitted freely, {_shrunk(advice)}"
    yield from _check(advice.beforehand)


def _spent(advice: Advice) -> str:
    spent = advice.degrees_of_freedom
    return "the shrunk model has no finite fit" if spent is None else f"the shrunk model spends {spent:.1f} of them"


def _shrunk(advice: Advice) -> str:
    return f"{fixed(advice.shrinkage_shrunk)} with the priors"


def _criteria(advice: Advice) -> Iterator[tuple[str, str, int | None]]:
    """Criterion in words, free effects that it allows, children that the protocol's effects would need."""
    for name in ALLOWING:
        yield CRITERIA[name], f"{getattr(advice.carried, name):.1f}", getattr(advice.required, name, None)


def _check(held: Beforehand | None) -> Iterator[str]:
    if held is None:
        return
    yield f"  prior means alone: {_told(held.means)}"
    yield f"  priors as they were held: {_told(held.held)}{_flag(held.held)}"
    yield f"  priors as the fit uses them: {_told(held.used)}{_flag(held.used)}"


def _told(held: Spread) -> str:
    return f"c {fixed(held.c)}, 95% of risks {of_100(held.risk_low)} to {of_100(held.risk_high)}"


def _flag(held: Spread) -> str:
    return f" (too sure: median c above {TOO_SURE_C})" if held.c > TOO_SURE_C else ""


def document(advice: Advice) -> dict[str, Any]:
    """The advice as plain JSON; rounded, so that exact counts of children cannot be read back out of it."""
    held = advice.carried
    return {
        "verdict": verdict(advice),
        "path": advice.path.value,
        "reason": advice.reason,
        "stamp": None if advice.refit else STAMP,
        "assumes": f"Nagelkerke's R-squared of {CAUTIOUS_NAGELKERKE}, a cautious start",
        "effects": advice.columns,
        "degrees_of_freedom_spent": _rounded(advice.degrees_of_freedom, 1),
        "degrees_of_freedom_carried": {name: _rounded(getattr(held, name), 1) for name in ALLOWING},
        "overall_risk_margin": _rounded(held.overall_risk_margin, 3),
        "children_needed": _needed(advice.required),
        "children_needed_to_check_elsewhere": children_to_judge_observed_expected(round(advice.rate, 2)),
        "expected_slope": {
            "fitted_freely": _rounded(advice.shrinkage_free, 2),
            "with_priors": _rounded(advice.shrinkage_shrunk, 2),
        },
        "beforehand": advice.beforehand and _beforehand(advice.beforehand),
    }


def _needed(held: Required | None) -> dict[str, Any] | None:
    if held is None:
        return None
    return {name: NOT_STUDIED if count is None else count for name, count in asdict(held).items()}


def _beforehand(held: Beforehand) -> dict[str, Any]:
    return {
        "prior_means_alone": _spread(held.means),
        "priors_as_held": _spread(held.held),
        "priors_as_used": _spread(held.used),
        "base": "the cohort's rate" if held.base_from_cohort else "the priors'",
    }


def _spread(held: Spread) -> dict[str, Any]:
    return {
        "c": _rounded(held.c, 2),
        "c_low": _rounded(held.c_low, 2),
        "c_high": _rounded(held.c_high, 2),
        "risk_low": _rounded(held.risk_low, 3),
        "risk_high": _rounded(held.risk_high, 3),
        "risk_mean": _rounded(held.risk_mean, 3),
        "too_sure": held.c > TOO_SURE_C,
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
