"""The answers of one bundle as plain text, range first (`riskmodel score`)."""

from collections.abc import Iterator, Sequence

from riskmodel.account import Contribution, speaking
from riskmodel.bundle import Bundle
from riskmodel.documents.words import human, of_100, outward, short, signed
from riskmodel.scoring import RiskEstimate


def lines(bundle: Bundle, answers: Sequence[RiskEstimate]) -> Iterator[str]:
    """All answers, then the cautions; the first caution stands above the answers as well."""
    yield bundle.cautions[0]
    yield f"{bundle.title} ({bundle.id}, {bundle.use.value}, digest {bundle.digest[:12]})"
    for answer in answers:
        yield ""
        yield from _answer(bundle, answer)
    yield ""
    yield from (f"- {caution}" for caution in bundle.cautions)


def _answer(bundle: Bundle, answer: RiskEstimate) -> Iterator[str]:
    yield f"{answer.case_id}: {headline(answer)}"
    yield from (f"  {gate.name}: {gate.says}" for gate in answer.gates if not gate.passed)
    yield from (f"  {like.count} children like this one: {like.described}" for like in answer.like_cases)
    if answer.contributions:
        yield f"  base {signed(answer.base_log_odds)} log-odds ({of_100(answer.base_probability)})"
        told = speaking(answer.contributions, bundle.terms)
        yield from (f"  {_line(held)}" for held in told if abs(held.log_odds) >= 0.005)
        if len(told) < len(answer.contributions):
            quiet = sum(held.log_odds for held in answer.contributions) - sum(held.log_odds for held in told)
            yield f"  {signed(quiet)}  what does not hold in this child, against the cohort's mean"
    for lacking in answer.missing:
        now, then = lacking.of_100
        bought = f"; the range is {now} in 100 wide, with it known about {then}" if lacking.narrows else ""
        yield f"  not known: {lacking.label}{bought}"


def headline(answer: RiskEstimate) -> str:
    """The estimate, range first; or that there is none, and what was published."""
    if answer.probability is None or answer.low is None or answer.high is None:
        return f"no number is shown; {_published(answer)}"
    low, high = outward(answer.low, answer.high)
    best = round(100 * answer.probability)
    rate = of_100(answer.cohort_rate)
    return f"between {low} and {high} in 100 ({answer.level:.0%} range), best estimate {best}; in the cohort {rate}"


def _published(answer: RiskEstimate) -> str:
    if answer.published is None:
        return "published range: not known"
    return f"published: {answer.published.says} ({answer.published.source})"


def _line(held: Contribution) -> str:
    value = held.value if held.value is not None else "not known"
    shown = f"{short(value)} {held.unit}".strip() if isinstance(value, float) else human(value)
    sign = "" if held.same_sign_share is None else f", same sign in {held.same_sign_share:.0%} of replays"
    return f"{signed(held.log_odds)} ({signed(held.low)} to {signed(held.high)}{sign})  {held.label}: {shown}"
