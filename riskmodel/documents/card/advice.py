"""What the cohort was judged able to carry, as the card tells it."""

from collections.abc import Mapping
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.documents.card.model import Advice, Listing
from riskmodel.documents.card.pairs import pairs, points, value_words
from riskmodel.documents.words import fixed, of_100

# Criteria for the size of a cohort.
CRITERIA = {
    "shrinkage": "shrinkage of no more than a tenth",
    "optimism": "optimism of R-squared within 0.05",
    "overall_risk": "overall risk known to within 5 points",
    "absolute_error": "risks right to 5 points on average",
}
SIZE = "What the cohort can carry, and how many children all effects would need"
# What is held before any outcome is seen, step by step.
BEFOREHAND = {
    "prior_means_alone": "prior means alone",
    "priors_as_held": "priors as they were held",
    "priors_as_used": "priors as the fit uses them",
}
IMPLIED = "What the priors imply before any outcome is seen"
PLACED = ("degrees_of_freedom_carried", "children_needed", "beforehand")
# The other parts in reading order; unknown ones follow under the name that they have.
WORDS = {
    "verdict": "verdict",
    "path": "path",
    "reason": "reason",
    "stamp": "stamp",
    "assumes": "assumes",
    "effects": "effects to estimate",
    "degrees_of_freedom_spent": "of these, spent by the shrunk model",
    "overall_risk_margin": "overall risk known to within",
    "expected_slope": "slope to expect on new children",
    "children_needed_to_check_elsewhere": "children that a check elsewhere needs",
}


def advice(bundle: Bundle) -> Advice:
    """The verdict and its reason first, then the numbers behind it."""
    held = bundle.advice
    facts = [(words, _words(name, held[name])) for name, words in WORDS.items() if held.get(name) is not None]
    rest = {name: part for name, part in held.items() if name not in WORDS and name not in PLACED}
    listings = (_size(held), _implied(held.get("beforehand") or {}))
    return Advice((*facts, *pairs(rest)), tuple(each for each in listings if each.rows))


def _words(name: str, value: Any) -> str:
    if name == "expected_slope":
        freely, shrunk = (fixed(value.get(key)) for key in ("fitted_freely", "with_priors"))
        return f"{freely} if fitted freely, {shrunk} with the priors"
    if name == "overall_risk_margin":
        return points(value)
    return fixed(value, 1) if isinstance(value, float) else value_words(value)


def _size(held: Mapping[str, Any]) -> Listing:
    carried, needed = held.get("degrees_of_freedom_carried") or {}, held.get("children_needed") or {}
    rows = tuple(
        (words, fixed(carried.get(name), 1), _count(needed.get(name)))
        for name, words in CRITERIA.items()
        if name in carried or name in needed
    )
    return Listing(SIZE, ("criterion", "effects that it allows", "children needed"), rows, (1, 2))


def _count(value: object) -> str:
    return f"{value:,}" if isinstance(value, int) else str(value or "")


def _implied(held: Mapping[str, Any]) -> Listing:
    rows = tuple(_spread(words, held[name]) for name, words in BEFOREHAND.items() if name in held)
    head = ("of the priors", "c", "90% range of c", "95% of risks", "mean risk", "too sure")
    base = f"; the base is {held['base']}" if "base" in held else ""
    return Listing(f"{IMPLIED}{base}", head, rows, (1, 2, 3, 4, 5))


def _spread(words: str, held: Mapping[str, Any]) -> tuple[str, ...]:
    return (
        words,
        fixed(held["c"]),
        f"{fixed(held['c_low'])} to {fixed(held['c_high'])}",
        f"{of_100(held['risk_low'])} to {of_100(held['risk_high'])}",
        of_100(held["risk_mean"]),
        value_words(held["too_sure"]),
    )
