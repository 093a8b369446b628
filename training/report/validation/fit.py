"""Sections about the fit itself: cohort, advice, performance, steadiness, candidates."""

from collections.abc import Iterator, Mapping
from string import ascii_lowercase

import numpy as np

from riskmodel.documents.blocks import Block, Bullets, Facts, Paragraph, Table
from riskmodel.documents.card.performance import MEASURES
from riskmodel.documents.words import fixed, human, of_100
from training.advice import Advice, lines
from training.fitting import Comparison, Rival, Trained
from training.metrics import Measure
from training.outcome import follow_up
from training.replay import Corrected, ReplayResult
from training.report.validation.cells import difference
from training.report.validation.curves import calibration, decision, distribution, moved, replayed
from training.report.validation.picture import side_by_side
from training.validation.curves import Curves

PARTS = ("apparent", "harrell", "point632plus", "low", "high")
HEAD = ("apparent", "corrected (Harrell)", "corrected (.632+)", "low", "high", "why none")


def cohort(trained: Trained) -> Iterator[Block]:
    """Who is in, what became of them, and who was left out."""
    outcome, months = trained.outcome, follow_up(trained.cohort.course)
    yield Facts(
        (
            ("children", str(len(trained.cohort))),
            ("with the event by the horizon", str(outcome.events)),
            ("known to be without it", str(outcome.non_events)),
            ("last seen free before the horizon", str(outcome.censored_before)),
            ("outcome not stated", str(outcome.unstated)),
            ("median follow-up, months", "not known" if months is None else f"{months:.0f}"),
            ("rate", of_100(trained.bundle.cohort_rate)),
            ("censoring weights from", outcome.censoring.value),
        )
    )
    if trained.cohort.flow:
        rows = tuple((reason, str(count)) for reason, count in trained.cohort.flow)
        yield Table("Left out, and why", ("reason", "children"), rows, (1,))
    if trained.cohort.made_of:
        rows = tuple((human(name), str(count)) for name, count in trained.cohort.made_of.items())
        yield Table("First events", ("event", "children"), rows, (1,))


def advice(held: Advice) -> Iterator[Block]:
    """The advice, line by line."""
    yield Bullets(tuple(line.strip() for line in lines(held)))


def performance(trained: Trained, curves: Curves) -> Iterator[Block]:
    """Every measure, corrected both ways, and the pictures."""
    replays = trained.replays
    notes = _notes(replays)
    rows = tuple(
        (MEASURES.get(name, human(name)), *_numbers(held), ", ".join(notes[why] for why in _reasons(held)))
        for name, held in replays.measures.items()
    )
    yield Table("Performance, as it appears and corrected for optimism", ("measure", *HEAD), rows, (1, 2, 3, 4, 5))
    if notes:
        yield Bullets(tuple(f"{letter}: {why}" for why, letter in notes.items()))
    yield Paragraph(_leads(trained))
    figures = [distribution(curves.distribution)]
    if curves.decision.reason is None:
        figures.insert(0, decision(curves.decision))
    if curves.calibration.reason is None:
        figures.insert(0, calibration(curves.calibration))
    else:
        yield Paragraph(f"No calibration curve: {curves.calibration.reason}.")
    yield side_by_side(*figures)


def _leads(trained: Trained) -> str:
    """Which correction to read, and the slope by the mean as well."""
    held = trained.bundle.performance
    first = "the .632+ column" if held["leads"] == "point632plus" else "Harrell's column"
    slope, left_out = held["measures"]["slope"], held["measures"]["slope_left_out"]
    said = f"Read {first} first where it has a number, Harrell's elsewhere. "
    said += (
        f"The slope is corrected by the median over replays; by their mean it is {fixed(slope['harrell_by_mean'])}. "
    )
    if left_out["apparent"] is None:
        return said + f"There is no slope of estimates made without the child: {left_out['reason']}."
    told = fixed(left_out["apparent"])
    return said + f"The slope of estimates made without the child is {told}: believe that one first."


def _numbers(held: Corrected) -> tuple[str, ...]:
    return tuple(fixed(getattr(held, part).value, 3) for part in PARTS)


def _reasons(held: Corrected) -> tuple[str, ...]:
    """Why numbers are missing, each reason once."""
    parts: list[Measure] = [getattr(held, part) for part in PARTS]
    return tuple(dict.fromkeys(part.reason for part in parts if part.reason is not None))


def _notes(replays: ReplayResult) -> dict[str, str]:
    """A letter for every reason why a number is missing."""
    reasons = dict.fromkeys(why for held in replays.measures.values() for why in _reasons(held))
    return dict(zip(reasons, ascii_lowercase, strict=False))


def steadiness(replays: ReplayResult, curves: Curves) -> Iterator[Block]:
    """What the replays were, and how far they move each child."""
    failed = "; ".join(f"{count}: {why}" for why, count in replays.failed.items()) or "none"
    chosen = "; ".join(f"{human(name)} {count}" for name, count in sorted(replays.chosen.items()))
    yield Facts(
        (
            ("replays", str(replays.times)),
            ("replays that gave nothing", failed),
            ("model of the replays", chosen),
            ("replays that came out as the rate", f"{replays.shrunk_to_rate:.0%}"),
            ("a child's risk moves by, on average", f"{100 * replays.mean_instability:.1f} points"),
            ("the tenth of children that moves most, by at least", _most(replays)),
        )
    )
    yield side_by_side(replayed(curves.instability), moved(curves.instability))


def _most(replays: ReplayResult) -> str:
    return f"{100 * float(np.quantile(replays.per_child_instability, 0.9)):.1f} points"


def candidates(trained: Trained) -> Iterator[Block]:
    """Everything that was compared, on the same replays, and what the shipped model loses against each."""
    held: Comparison = trained.comparison
    if len(held.replayed) + len(held.refused) < 2:
        return
    rows = tuple(_candidate(each) for each in held.replayed)
    yield Table(
        "All candidates; the shipped one first",
        ("candidate", "replays", "c (.632+)", "Brier (.632+)", "log loss (.632+)", "slope", "risk moves by, points"),
        rows,
        (1, 2, 3, 4, 5, 6),
    )
    gaps = tuple(_rival(each) for each in held.rivals)
    yield Table(
        "On children left out of the same replays, with 95% intervals",
        ("shipped model against", "log loss lost", "Brier lost", "c gained"),
        gaps,
    )
    yield Paragraph(
        "Lost: what the shipped model loses on average for each child; below 0 it gains. The gap to the boosted trees "
        "is the price of a model that can be read by eye."
    )
    if held.refused:
        rows = tuple((human(each.name), each.reason) for each in held.refused)
        yield Table("Not fitted", ("candidate", "why"), rows)


def _candidate(held: ReplayResult) -> tuple[str, ...]:
    measures = held.measures
    return (
        human(held.name),
        str(held.times),
        *(fixed(measures[name].point632plus.value, 3) for name in ("c", "brier", "log_loss")),
        fixed(measures["slope"].harrell.value, 2),
        f"{100 * held.mean_instability:.1f}",
    )


def _rival(held: Rival) -> tuple[str, ...]:
    return (human(held.name), difference(held.log_loss), difference(held.brier), difference(held.c))


def meanings(held: Mapping[str, str]) -> Iterator[Block]:
    """What each measure and each correction is, by name."""
    yield Facts(tuple((MEASURES.get(name, human(name)), words) for name, words in held.items()))
