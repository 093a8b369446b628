"""Estimates for the page: the strip at its foot, and the whole account for its back."""

from collections.abc import Iterator, Sequence

from riskmodel.account import Contribution, speaking
from riskmodel.bundle import Bundle
from riskmodel.documents.card.columns import column_words
from riskmodel.documents.scored import Scored
from riskmodel.documents.surgeon.model import Account, AccountLine, Identity, Strip
from riskmodel.documents.words import ABSENT, fixed, of_100, outward, short, span
from riskmodel.terms import Product, Term

SHOWN_EACH_WAY = 3
# A contribution that rounds to 0.00 moves nothing that anybody could see.
SMALLEST = 0.005
# Gates that the page tells of elsewhere: in the band across the top, and in the line on calibration.
TOLD = ("demonstration", "local_check")


def strip(answer: Scored, differences: tuple[str, ...], torn: Sequence[str] = ()) -> Strip:
    """The estimate of one model in a few lines, with what it tells between plans.

    Parameters
    ----------
    torn
        Names of plans that contradict themselves.
    """
    held = answer.estimate
    lines = _worded(answer, speaking(held.contributions, answer.bundle.terms))
    moved = sorted(lines, key=lambda line: -abs(line.log_odds))
    raises = [line for line in moved if line.log_odds >= SMALLEST]
    lowers = [line for line in moved if line.log_odds <= -SMALLEST]
    shown = held.probability is not None
    bounds = None if held.low is None or held.high is None else outward(held.low, held.high)
    return Strip(
        outcome=answer.bundle.outcome.label,
        within=_within(answer),
        level=f"{held.level:.0%}",
        low=None if bounds is None else str(bounds[0]),
        likely=str(round(100 * held.probability)) if held.probability is not None else None,
        high=None if bounds is None else str(bounds[1]),
        rate=of_100(held.cohort_rate),
        like=tuple(f"{like.count}: {like.described}" for like in held.like_cases),
        raises=tuple(raises[:SHOWN_EACH_WAY]),
        lowers=tuple(lowers[:SHOWN_EACH_WAY]),
        missing=tuple(_missing(answer)) if shown else tuple(lacking.label for lacking in held.missing),
        differences=differences,
        calibration=calibration_line(answer),
        refused=tuple(gate.says for gate in held.gates if gate.blocks and not gate.passed),
        published="" if shown else _published(answer),
        cautions=tuple(_cautions(answer, torn)),
    )


def _cautions(answer: Scored, torn: Sequence[str]) -> Iterator[str]:
    for gate in answer.estimate.gates:
        if not (gate.blocks or gate.passed or gate.name in TOLD):
            yield gate.says
    if answer.rare:
        yield "fewer than 5 children of the cohort had this condition: it is scored as its group"
    if torn and answer.estimate.probability is not None:
        plural = "s" if len(torn) > 1 else ""
        yield f"plan{plural} {', '.join(torn)} as typed cannot be carried out: a number for such a plan says nothing"


def account(answer: Scored) -> Account | None:
    """The whole account; None when no number, or no reasons, are shown."""
    held = answer.estimate
    if held.log_odds is None or held.probability is None or not held.contributions:
        return None
    return Account(
        outcome=answer.bundle.outcome.label,
        base=held.base_log_odds,
        base_of_100=of_100(held.base_probability),
        lines=account_lines(answer),
        total=held.log_odds,
        total_of_100=of_100(held.probability),
    )


def identity(answer: Scored) -> Identity:
    """Which model it was."""
    held = answer.bundle
    return Identity(held.id, held.digest, held.released, held.review_by, held.use.value)


def account_lines(answer: Scored) -> tuple[AccountLine, ...]:
    """The contributions in words, in the order of the sum."""
    return _worded(answer, answer.estimate.contributions)


def _worded(answer: Scored, lines: Sequence[Contribution]) -> tuple[AccountLine, ...]:
    terms = {term.name: term for term in answer.bundle.terms}
    return tuple(_line(answer, line, terms[line.term]) for line in lines)


def _line(answer: Scored, line: Contribution, term: Term) -> AccountLine:
    share, label, value = line.same_sign_share, line.label, value_words(line)
    if isinstance(term.basis, Product):
        # A product says what it is a product of: "together" alone would leave the reader to guess.
        label, value = column_words(term, "", answer.bundle.dictionary), _HOLDS.get(str(line.value), "")
    return AccountLine(
        label=label,
        value=value,
        log_odds=line.log_odds,
        low=line.low,
        high=line.high,
        held=ABSENT if share is None else f"{share:.0%}",
    )


_HOLDS = {"no": "does not hold here"}


def value_words(line: Contribution) -> str:
    """What the case held, as people say it: a number with its unit."""
    if len(line.variables) > 1:
        return ""
    if line.value is None:
        return "not known"
    if isinstance(line.value, str):
        return line.value.replace("_", " ")
    return f"{short(line.value)} {line.unit}".strip()


def _within(answer: Scored) -> str:
    months = answer.bundle.outcome.horizon_months
    return "" if months is None else f"within {short(months)} months"


def _missing(answer: Scored) -> Iterator[str]:
    for lacking in answer.estimate.missing:
        now, then = lacking.of_100
        bought = f": range {now} in 100 wide now, about {then} if known" if lacking.narrows else ""
        yield f"{lacking.label}{bought}"


def _published(answer: Scored) -> str:
    held = answer.estimate.published
    return "elsewhere: not known" if held is None else f"elsewhere: {held.says} ({held.source})"


def calibration_line(answer: Scored) -> str:
    """How well the risks given agreed with what happened, corrected for optimism, and where that was measured."""
    told = [_measure(answer.bundle, name, words) for name, words in _CALIBRATION]
    own = "; ".join(part for part in told if part) or "not measured"
    return f"on its own cohort, corrected: {own}; {_elsewhere(answer)}"


_CALIBRATION = (("observed_expected", "observed / expected"), ("slope", "slope"), ("c", "c"))


def _measure(bundle: Bundle, name: str, words: str) -> str:
    best = bundle.corrected(name)
    if best is None:
        return ""
    entry = bundle.performance["measures"][name]
    low, high = entry.get("low"), entry.get("high")
    within = "" if low is None or high is None else f" ({fixed(low)} to {fixed(high)})"
    return f"{words} {fixed(best)}{within}"


def _elsewhere(answer: Scored) -> str:
    if not answer.bundle.local_checks:
        return "not yet checked on other patients"
    last = answer.bundle.local_checks[-1]
    ratio = "" if last.observed_expected is None else f", observed / expected {fixed(last.observed_expected)}"
    bounds = "" if last.low is None or last.high is None else f" ({span(round(last.low, 2), round(last.high, 2))})"
    return f"on other patients, {last.on} ({last.centre}){ratio}{bounds}"
