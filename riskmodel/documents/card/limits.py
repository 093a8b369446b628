"""What a reader must know before believing a number: the card says it first."""

from collections.abc import Iterator

from riskmodel.bundle import Bundle, Use
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.words import of_100

# A predictor that more than this share of the cohort lacked is named.
OFTEN_MISSING = 0.2


def limits(bundle: Bundle) -> tuple[str, ...]:
    """The limits of this model, gravest first."""
    return tuple(_limits(bundle))


def _limits(bundle: Bundle) -> Iterator[str]:
    if bundle.demonstration:
        yield DEMONSTRATION
    if bundle.protocol.get("planned_from_operation_note"):
        yield (
            "What was planned was read from the operation note: the model knows the deed, not the plan, and may speak "
            "too well of plans that could not be carried out."
        )
    if not bundle.signal:
        yield (
            "The predictors told no more about left-out children than the rate did: the rate of the cohort is shown "
            "for every child, with no reasons."
        )
    if bundle.use is Use.STUDY:
        yield "For study, not for use: nobody may be advised by it."
    yield _checked(bundle)
    yield from _of_cohort(bundle)
    if "verdict" in bundle.advice:
        reason = bundle.advice.get("reason", "")
        yield f"What its cohort can carry: {bundle.advice['verdict']}. {reason}".strip()
    if bundle.use is Use.LOCAL and bundle.advice.get("stamp"):
        yield (
            f'It was released for local use after a check on local patients, although its cohort earned it the stamp "'
            f'{bundle.advice["stamp"]}": whoever released it answers for that.'
        )
    yield f"It gives no number after {bundle.review_by}, when it has to be reviewed."
    yield _simulated(bundle)


def _simulated(bundle: Bundle) -> str:
    held = bundle.performance.get("simulated")
    if held is None:
        return (
            "How often the intervals hold the true risk can be measured only where the truth is known, in simulated "
            "cohorts; it was not measured for a cohort like this one, nor on your patients."
        )
    return (
        f"The nearest simulated setting: {held['children']} children, {of_100(held['rate'])} with the event. There the "
        f"90% interval held the true risk of {held['coverage']:.0%} of children; it was not measured on your patients."
    )


def _checked(bundle: Bundle) -> str:
    if not bundle.local_checks:
        return "It has not been checked on any patients but those that it was made from."
    last = bundle.local_checks[-1]
    return f"It was last checked on other patients on {last.on} ({last.centre}); elsewhere it may be wrong."


def _of_cohort(bundle: Bundle) -> Iterator[str]:
    children, events = bundle.cohort.get("children"), bundle.cohort.get("events")
    if children is not None and events is not None:
        yield f"It was fitted to few children: {children}, of whom {events} had the event."
    shares = bundle.cohort.get("missing_share", {})
    often = [(name, share) for name, share in shares.items() if share >= OFTEN_MISSING]
    if often:
        labels = {name: variable.label for name, variable in bundle.dictionary.variables.items()}
        told = "; ".join(f"{labels.get(name, name)}, {share:.0%}" for name, share in often)
        yield f"These were missing in many children of the cohort: {told}."
