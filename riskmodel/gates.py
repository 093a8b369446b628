"""When a number may be shown: each gate says of each case whether it passed, and why in a sentence.

A gate that blocks takes the number away and leaves everything else on the page; a gate that does not is a caution.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from riskmodel import eligibility
from riskmodel.bundle import Bundle, Use
from riskmodel.cases.table import CaseTable, Column
from riskmodel.like_cases import FEWER, UNCOUNTED, Like, count_words

BLOCKING = ("eligible", "range", "like_cases", "moment", "expiry")


@dataclass(frozen=True, slots=True)
class Gate:
    """One gate's verdict on one case."""

    name: str
    passed: bool
    blocks: bool
    says: str


@dataclass(frozen=True, slots=True)
class Verdicts:
    """One gate over n cases: `passed` (n,), and the sentence for case i."""

    name: str
    passed: NDArray[np.bool_]
    says: Callable[[int], str]

    @property
    def blocks(self) -> bool:
        """Whether failing it takes the number away."""
        return self.name in BLOCKING

    def of(self, case: int) -> Gate:
        """The verdict on one case."""
        return Gate(self.name, bool(self.passed[case]), self.blocks, self.says(case))


def verdicts(bundle: Bundle, cases: CaseTable, likes: tuple[Like, ...], *, on: date) -> tuple[Verdicts, ...]:
    """All gates in their fixed order over n cases; `cases` holds the derived variables too, `likes` is of them."""
    return (
        _eligible(bundle, cases),
        _range(bundle, cases),
        _like_cases(bundle, likes, len(cases)),
        _moment(bundle, cases),
        *_of_bundle(bundle, len(cases), on),
    )


def _eligible(bundle: Bundle, cases: CaseTable) -> Verdicts:
    passed, unknown = eligibility.meets(cases, bundle.gates.only, bundle.dictionary)

    def says(case: int) -> str:
        if passed[case]:
            return "this child is of the kind that the model was made for"
        asked = eligibility.words(bundle.gates.only, bundle.dictionary)
        if unknown[case]:
            return f"it is not known whether this child is of the kind that the model was made for: {asked}"
        return f"the model was made for other children only: {asked}"

    return Verdicts("eligible", passed & ~unknown, says)


def _range(bundle: Bundle, cases: CaseTable) -> Verdicts:
    outside = {name: _outside(bundle, cases[name], name) for name in (*bundle.ranges.numbers, *bundle.ranges.levels)}

    def says(case: int) -> str:
        held = [_asked(bundle, name) for name, out in outside.items() if out[case]]
        return f"outside what the cohort had: {'; '.join(held)}" if held else "within what the cohort had"

    anywhere = np.any(list(outside.values()), axis=0) if outside else np.zeros(len(cases), dtype=bool)
    return Verdicts("range", ~anywhere, says)


def _outside(bundle: Bundle, held: Column, name: str) -> NDArray[np.bool_]:
    if name in bundle.ranges.numbers:
        low, high = bundle.ranges.numbers[name]
        out: NDArray[np.bool_] = held.present & ~((held.values >= low) & (held.values <= high))
        return out
    codes = bundle.dictionary.variables[name].codes
    seen = np.array([codes.index(code) for code in bundle.ranges.levels[name]])
    unseen: NDArray[np.bool_] = held.present & ~(held.values[:, None] == seen).any(axis=1)
    return unseen


def _asked(bundle: Bundle, name: str) -> str:
    variable = bundle.dictionary.variables[name]
    if name in bundle.ranges.numbers:
        low, high = bundle.ranges.numbers[name]
        unit = f" {variable.unit}" if variable.unit else ""
        return f"{variable.label} (the cohort had {low:g} to {high:g}{unit})"
    return f"{variable.label} ({FEWER} children in the cohort had this)"


def _like_cases(bundle: Bundle, likes: tuple[Like, ...], count: int) -> Verdicts:
    if not likes:
        return Verdicts("like_cases", np.ones(count, dtype=bool), lambda _: "the protocol asks for none")
    first, needed = likes[0], bundle.gates.like_cases_at_least

    def says(case: int) -> str:
        described, children = first.of(case)
        if children == UNCOUNTED:
            return f"like cases cannot be counted: {described}"
        return f"{count_words(children)} children like this one ({described}); {needed} are needed"

    return Verdicts("like_cases", first.counts >= needed, says)


def _moment(bundle: Bundle, cases: CaseTable) -> Verdicts:
    later = [name for name in bundle.gates.known_later if name in cases]
    known = {name: cases[name].present for name in later}
    moment = bundle.gates.moment.value

    def says(case: int) -> str:
        told = [name for name, present in known.items() if present[case]]
        if told:
            return (
                f"the estimate is for the moment '{moment}'; the case holds what is known only later: {', '.join(told)}"
            )
        return f"nothing in the case is from after the moment '{moment}'"

    told = np.any(list(known.values()), axis=0) if known else np.zeros(len(cases), dtype=bool)
    return Verdicts("moment", ~told, says)


def _of_bundle(bundle: Bundle, count: int, on: date) -> Iterator[Verdicts]:
    """Gates that are the same for every case."""
    whole = {
        "expiry": _expiry(bundle, on),
        "signal": (bundle.signal, _SIGNAL[bundle.signal]),
        "local_check": (bool(bundle.local_checks), _local(bundle)),
        "use": (bundle.use is Use.LOCAL, _USE[bundle.use]),
        "demonstration": (not bundle.demonstration, _DEMONSTRATION[bundle.demonstration]),
    }
    for name, (passed, words) in whole.items():
        yield Verdicts(name, np.full(count, passed), _always(words))


def _always(words: str) -> Callable[[int], str]:
    return lambda _: words


def _expiry(bundle: Bundle, on: date) -> tuple[bool, str]:
    if on < bundle.released:
        return False, f"the model was released on {bundle.released}, after the date given, {on}: check the clock"
    if on > bundle.review_by:
        return False, f"the model was to be reviewed by {bundle.review_by} and gives no number after that"
    return True, f"to be reviewed by {bundle.review_by}"


_SIGNAL = {
    True: "the predictors told more about left-out children than the rate did",
    False: "the predictors told no more about left-out children than the rate did: the rate of the cohort is shown, "
    "with no reasons",
}
_USE = {
    Use.STUDY: "for study, not for use: the cohort was too small or too little checked to advise anybody by it",
    Use.LOCAL: "released for local use after a check on local patients",
}
_DEMONSTRATION = {
    True: "made from invented data, to show how the software works: not for any real child",
    False: "made from patients' data",
}


def _local(bundle: Bundle) -> str:
    if not bundle.local_checks:
        return "not yet checked on local patients"
    last = bundle.local_checks[-1]
    return f"last checked on local patients on {last.on} ({last.centre})"
