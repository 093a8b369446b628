"""What so many children can tell of a model, and what they cannot, in plain sentences."""

from collections.abc import Iterator

from riskmodel.documents.words import fixed
from training.metrics import FEWEST_EVENTS, Ranged
from training.sample_size import children_to_judge_observed_expected
from training.updating.children import Children
from training.updating.performance import Performance

# Floors from memory of Collins, Ogundimu & Altman, Statistics in Medicine 2016;35:214 (100 events and non-events), and
# of Van Calster et al., Journal of Clinical Epidemiology 2016;74:167 (200 of each for a flexible curve).
FEWEST_FOR_SLOPE, FEWEST_FOR_CURVE = 100, 200
WANTED_MARGIN = 0.2  # of log(observed / expected): about a fifth either way (own choice)


def tells(children: Children, held: Performance) -> tuple[str, ...]:
    """The sentences, what weighs most first."""
    return tuple(_tells(children, held))


def _tells(children: Children, held: Performance) -> Iterator[str]:
    outcome = children.outcome
    fewer = min(outcome.events, outcome.non_events)
    yield (
        f"{outcome.events} events and {outcome.non_events} known non-events among {len(children)} children: "
        f"{_what_for(fewer)}"
    )
    yield from _on_average(held.measures["observed_expected"])
    yield from _ranking(held.measures["c"])
    yield from _slope(held.measures["slope"], fewer)
    if fewer < FEWEST_FOR_CURVE:
        yield (
            f"The shape of the calibration curve needs about {FEWEST_FOR_CURVE} events and as many non-events: with "
            "fewer it bends with single children."
        )
    yield _needed(outcome.events / max(outcome.events + outcome.non_events, 1))
    yield "That these children do not speak against the model is no proof that it is right for the next ones."


def _what_for(fewer: int) -> str:
    if fewer < FEWEST_EVENTS:
        return "too few to say more than whether the model is grossly wrong on average."
    if fewer < FEWEST_FOR_SLOPE:
        return "enough to look at the average, too few to judge single estimates."
    return "enough to judge the average and, roughly, whether estimates are too extreme."


def _on_average(ratio: Ranged) -> Iterator[str]:
    if ratio.value is None or ratio.low is None or ratio.high is None:
        yield f"On average: nothing can be said ({ratio.reason})."
        return
    span = (
        f"observed over expected is {fixed(ratio.value)}, and anything from {fixed(ratio.low)} to {fixed(ratio.high)}"
    )
    if ratio.low > 1.0:
        yield f"More happened than the model expected: {span} fits these children. It needs recalibration here."
    elif ratio.high < 1.0:
        yield f"Less happened than the model expected: {span} fits these children. It needs recalibration here."
    else:
        yield f"On average the model may be right here: {span} fits these children."


def _ranking(c: Ranged) -> Iterator[str]:
    if c.value is None or c.low is None or c.high is None:
        yield f"Whether it ranks children rightly cannot be said ({c.reason})."
    elif c.low <= 0.5:
        yield f"Whether it ranks children better than chance cannot be told: c {fixed(c.low)} to {fixed(c.high)}."
    else:
        yield f"It ranks children better than chance: c {fixed(c.low)} to {fixed(c.high)}."


def _slope(slope: Ranged, fewer: int) -> Iterator[str]:
    if slope.value is None or slope.low is None or slope.high is None:
        yield f"Whether its estimates are too extreme cannot be said ({slope.reason})."
        return
    span = f"slope {fixed(slope.value)} ({fixed(slope.low)} to {fixed(slope.high)})"
    if slope.high < 1.0 or slope.low > 1.0:
        yield f"Its estimates are too {'extreme' if slope.high < 1.0 else 'alike'} for these children: {span}."
    elif fewer < FEWEST_FOR_SLOPE:
        yield (
            f"Whether its estimates are too extreme cannot be judged under {FEWEST_FOR_SLOPE} events and as many "
            f"non-events: {span}."
        )
    else:
        yield f"Its estimates may be as extreme as they should be: {span}."


def _needed(rate: float) -> str:
    count = children_to_judge_observed_expected(min(max(rate, 0.01), 0.99), WANTED_MARGIN)
    return (
        f"To know observed over expected to within a fifth either way would take about {count:,} children with the "
        "same rate."
    )
