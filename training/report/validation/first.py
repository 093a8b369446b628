"""What a reader has to know before any table: a dozen lines at most."""

from collections.abc import Iterator

from riskmodel.bundle import Bundle
from riskmodel.documents.words import fixed
from training.advice import verdict
from training.fitting import Trained
from training.report.validation.cells import between, difference
from training.validation import Validation


def first(trained: Trained, found: Validation, bundle: Bundle) -> Iterator[str]:
    """The findings that decide how far to believe the model, gravest first."""
    advice = trained.advice
    yield f"Advice on a cohort of this size: {verdict(advice)}; path: {advice.path.value}. {advice.reason}"
    if not advice.refit:
        yield "It was fitted all the same, as asked: for study, not for use."
    if not bundle.signal:
        yield "The predictors told no more about left-out children than the rate did: every child is shown the rate."
    yield _corrected(trained)
    yield from _chosen(trained)
    yield _elsewhere(found)
    yield (
        f"From one replay to another a child's risk moves by {100 * trained.replays.mean_instability:.1f} points on "
        "average."
    )
    yield from _hangs(found)
    yield from _price(trained)


def _corrected(trained: Trained) -> str:
    c = trained.replays.measures["c"]
    leads = "the second" if trained.bundle.performance["leads"] == "point632plus" else "the first"
    return (
        f"c is {fixed(c.apparent.value)} as it appears, {fixed(c.harrell.value)} corrected by Harrell's way and "
        f"{fixed(c.point632plus.value)} by .632+, of which {leads} leads with so many events for each column; the "
        f"calibration slope to expect is {fixed(trained.bundle.corrected('slope'))}."
    )


def _chosen(trained: Trained) -> Iterator[str]:
    """A rule that chooses anew may choose otherwise: then the corrected numbers are those of a mixture."""
    chosen, name = trained.replays.chosen, trained.fitted.name
    others = sum(count for other, count in chosen.items() if other != name)
    if others:
        yield (
            f"In {others} of {sum(chosen.values())} replays the rule chose another candidate than {name}: the "
            "corrected numbers are those of the rule, not of the model that it chose here."
        )


def _elsewhere(found: Validation) -> str:
    pooled = found.centres.pooled.get("c")
    if pooled is None or pooled.value is None:
        reason = found.centres.reason if pooled is None else pooled.reason
        return f"How it does in another centre is not known: {reason}."
    told = between(pooled.value, pooled.low, pooled.high)
    return (
        f"In centres that it had not seen c was {told} on average; in one more centre it may lie between "
        f"{fixed(pooled.new_low)} and {fixed(pooled.new_high)}."
    )


def _hangs(found: Validation) -> Iterator[str]:
    against = [held for held in found.beliefs if held.in_conflict]
    if against:
        names = "; ".join(f"{held.label}: {held.words}" for held in against)
        yield f"Prior and data contradict each other in: {names}."
    spread = found.specifications.spread_mean
    if spread is not None:
        yield f"Between specifications set beforehand a child's risk differs by {100 * spread:.1f} points on average."


def _price(trained: Trained) -> Iterator[str]:
    for rival in trained.comparison.rivals:
        if rival.is_box:
            yield (
                f"Against {rival.name.replace('_', ' ')} the glass box costs {difference(rival.log_loss)} of log loss "
                "for each left-out child (below 0: it costs nothing)."
            )
