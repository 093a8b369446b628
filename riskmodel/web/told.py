"""An answer in words: range first, gates, like cases, what is missing and what measuring it would buy."""

from collections.abc import Iterator
from dataclasses import dataclass

from riskmodel.bundle import Bundle, Published
from riskmodel.documents.words import human, of_100, outward
from riskmodel.gates import Gate
from riskmodel.measuring import MissingValue
from riskmodel.scoring import RiskEstimate
from riskmodel.web.models import Models

GATE_NAMES = {"eligible": "Kind of child", "range": "Range of the cohort", "expiry": "Review date", "use": "Use"}


@dataclass(frozen=True, slots=True)
class GateLine:
    """One gate: its name, what it does to the number, its sentence; `caution` when it only warns, and does."""

    name: str
    verdict: str
    says: str
    passed: bool
    caution: bool


@dataclass(frozen=True, slots=True)
class Number:
    """A number that is shown: the range, the best estimate and the cohort's rate, in children of 100."""

    between: str
    best: str
    level: str


@dataclass(frozen=True, slots=True)
class Told:
    """The answer of one model in words; `number` is None when none is shown, and `instead` says what was published."""

    model: int
    title: str
    number: Number | None
    rate: str
    instead: str
    stops: tuple[GateLine, ...]
    gates: tuple[GateLine, ...]
    like_cases: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def line(self) -> str:
        """The answer in one line, as a screen reader announces it."""
        return f"{self.title}: {self.number.between}" if self.number else f"{self.title}: no number is shown"


def tell(bundle: Bundle, answer: RiskEstimate, model: int, lacking: tuple[str, ...]) -> Told:
    """Put an answer into words; `lacking` are labels of what is not known, where the answer does not say more."""
    gates = tuple(_gate(gate) for gate in answer.gates)
    return Told(
        model=model,
        title=bundle.title,
        number=_number(answer),
        rate=f"In the cohort: {of_100(answer.cohort_rate)}.",
        instead=_published(answer.published),
        stops=tuple(line for line, gate in zip(gates, answer.gates, strict=True) if gate.blocks and not gate.passed),
        gates=gates,
        like_cases=tuple(f"{held.count}: {held.described}" for held in answer.like_cases),
        missing=tuple(_missing(answer.missing)) if answer.shown and answer.missing else lacking,
    )


def _number(answer: RiskEstimate) -> Number | None:
    if answer.probability is None or answer.low is None or answer.high is None:
        return None
    return Number(between(answer.low, answer.high), of_100(answer.probability), f"{answer.level:.0%} range")


def between(low: float, high: float) -> str:
    """A range of probabilities in whole children of 100, rounded outward as on the sheets.

    >>> between(0.051, 0.16), between(0.001, 0.04), between(0.051, 0.052)
    ('between 5 and 16 in 100', 'up to 4 in 100', 'between 5 and 6 in 100')
    """
    first, last = outward(low, high)
    return f"between {first} and {last} in 100" if first else f"up to {last} in 100"


def _published(published: Published | None) -> str:
    if published is None:
        return "Published range: not known."
    return f"Published: {published.says} ({published.source})."


def _gate(gate: Gate) -> GateLine:
    verdict = "passed" if gate.passed else "no number" if gate.blocks else "caution"
    return GateLine(
        GATE_NAMES.get(gate.name, human(gate.name).capitalize()), verdict, gate.says, gate.passed, verdict == "caution"
    )


def _missing(held: tuple[MissingValue, ...]) -> Iterator[str]:
    for value in held:
        now, then = value.of_100
        buys = f"the range is {now} wide now, about {then} with it" if value.narrows else "the range would stay as wide"
        yield f"{value.label}: {buys}"


def tell_all(
    models: Models, estimates: tuple[RiskEstimate, ...], lacking: tuple[tuple[str, ...], ...] = ()
) -> tuple[Told, ...]:
    """The answers of all models in words; none when there are no answers."""
    labels = lacking or ((),) * len(estimates)
    held = zip(models.scorers, estimates, labels, strict=False)
    return tuple(tell(scorer.bundle, answer, i, names) for i, (scorer, answer, names) in enumerate(held))
