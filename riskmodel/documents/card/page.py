"""The card in reading order: limits, what, for whom, from whom, how, how well, then the small print."""

from collections.abc import Iterator

from riskmodel.documents.blocks import Block, Bullets, Facts, Figure, Figures, Page, Paragraph, Section, Table
from riskmodel.documents.card.curves import calibration_words, effect_words, moves
from riskmodel.documents.card.model import CardSummary, Coefficient, MeasureLine
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.words import ABSENT, fixed, human, of_100, short, signed, span
from riskmodel.drawing import Effect, calibration_curve, effect_curve

SHORT_DIGEST = 12


def page(card: CardSummary) -> Page:
    """The blocks of the card."""
    identity = card.identity
    return Page(
        title=identity.title,
        subtitle=f"Model card of {identity.id}, released {identity.released}, {identity.use}",
        band=DEMONSTRATION if identity.demonstration else None,
        foot=f"{identity.id} · digest {identity.digest[:SHORT_DIGEST]} · to be reviewed by {identity.review_by}",
        sections=tuple(Section(title, tuple(blocks)) for title, blocks in _sections(card) if blocks),
    )


def _sections(card: CardSummary) -> Iterator[tuple[str, tuple[Block, ...]]]:
    yield "Limits", (Bullets(card.limits),)
    yield "What it predicts", tuple(_predicted(card))
    yield "For whom", tuple(_population(card))
    yield "The cohort", tuple(_cohort(card))
    yield "The sum", tuple(_sum(card))
    yield "How well it did", tuple(_performance(card))
    yield "What this cohort can carry", (Facts(card.advice),) if card.advice else ()
    yield "When a number is shown", (_gates(card),)
    yield "Checks on other patients", (_checks(card),)
    yield "Updates", tuple(_updates(card))
    yield "Cautions", (Bullets(card.cautions),)
    yield "Identity", (_identity(card),)
    yield "Reporting draft", tuple(_reporting(card))


def _predicted(card: CardSummary) -> Iterator[Block]:
    held = card.predicted
    within = "" if held.horizon_months is None else f" within {short(held.horizon_months)} months of the operation"
    yield Paragraph(f"{held.label}{within}. It happened to {of_100(held.rate)} children of the cohort.", strong=True)
    if held.text:
        yield Paragraph(f"Counted as: {held.text}.")
    rows = [
        ("first of", "; ".join(held.first_of)),
        ("ends the chance of it", "; ".join(held.competes)),
        ("never counts", "; ".join(held.never_counts)),
        ("followed to", held.seen_until or ""),
        ("seen early counts as seen", _window(card)),
    ]
    if told := tuple((name, text) for name, text in rows if text):
        yield Facts(told)
    if held.made_of:
        yield Table("What the events of the cohort were", ("first event", "children"), held.made_of, (1,))


def _window(card: CardSummary) -> str:
    months = card.predicted.visit_window_months
    return f"the last visit may lie up to {short(months)} months before the horizon" if months else ""


def _population(card: CardSummary) -> Iterator[Block]:
    held = card.population
    yield Facts((("eligible", held.eligible or "every child"), ("known by the moment", held.moment)))
    if held.numbers:
        rows = tuple((line.label, span(line.low, line.high, line.unit)) for line in held.numbers)
        yield Table("Ranges of the cohort; outside them no number is given", ("measurement", "range"), rows)
    if held.levels:
        rows = tuple((line.label, "; ".join(line.levels)) for line in held.levels)
        title = "Levels that at least five children had, or that are scored as their group; no number for others"
        yield Table(title, ("what", "levels"), rows)
    for cells in held.like_cases:
        rows = tuple((cell.described, cell.count) for cell in cells)
        yield Table("Like cases known at the horizon; kinds not listed: fewer than 5", ("kind", "children"), rows, (1,))


def _cohort(card: CardSummary) -> Iterator[Block]:
    held = card.cohort
    if held.facts:
        yield Facts(held.facts)
    if held.left_out:
        yield Table("Left out, and why", ("reason", "children"), held.left_out, (1,))
    if held.missing:
        yield Table("Missing, to the nearest twentieth", ("predictor", "share"), held.missing, (1,))


def _sum(card: CardSummary) -> Iterator[Block]:
    yield Paragraph(
        "log-odds = intercept + the sum of column × coefficient; the risk is 1 / (1 + exp(−log-odds)). "
        f"The intercept is {fixed(card.intercept, 4)}. With every column at its mean the log-odds are "
        f"{fixed(card.base_log_odds, 4)}, a risk of {of_100(card.base_probability)}."
    )
    told = any(line.prior_mean is not None for line in card.coefficients)
    head = ("term", "column", "mean", *(("before: mean (SD)",) if told else ()), "coefficient", "90% interval")
    rows = tuple(_coefficient(line, told=told) for line in card.coefficients)
    numbers = tuple(range(2, len(head)))
    yield Table("Coefficients, in log-odds for one step of the column", head, rows, numbers)
    yield Paragraph(
        "A level or state that fewer than 5 children of the cohort had has no number learned from them: it keeps what "
        "was believed before, and leans on its group."
    )
    drawn = tuple(_effect(held) for held in card.effects if moves(held))
    if drawn:
        yield Figures(drawn)
    sources = {f"{line.label}, {line.column}": line.prior_source for line in card.coefficients if line.prior_source}
    if sources:
        yield Table("Where the beliefs before came from", ("column", "source"), tuple(sources.items()))


def _effect(held: Effect) -> Figure:
    words = effect_words(held)
    return Figure(effect_curve(held, words).svg, f"What it adds: {held.label}", words)


def _coefficient(line: Coefficient, *, told: bool) -> tuple[str, ...]:
    prior: tuple[str, ...] = ()
    if told:
        spread = ABSENT if line.prior_sd is None else fixed(line.prior_sd)
        prior = (ABSENT if line.prior_mean is None else f"{signed(line.prior_mean)} ({spread})",)
    label = f"{line.label} ({line.unit})" if line.unit else line.label
    interval = f"{signed(line.low)} to {signed(line.high)}"
    return (label, line.column, fixed(line.mean), *prior, signed(line.coefficient, 3), interval)


def _performance(card: CardSummary) -> Iterator[Block]:
    held = card.performance
    if held.measures:
        head = ("measure", "apparent", "corrected (Harrell)", "corrected (.632+)", "interval")
        rows = tuple(_measure(line) for line in held.measures)
        yield Table("On the cohort itself, and corrected for having been fitted to it", head, rows, (1, 2, 3, 4))
        meanings = tuple((line.label, line.meaning) for line in held.measures if line.meaning)
        if meanings:
            yield Table("What the measures mean", ("measure", "meaning"), meanings)
        yield from _reasons(held.measures)
    if held.calibration is not None:
        words = calibration_words(held.calibration)
        caption = "What happened, against the risk given to each child with the child itself left out"
        yield Figures((Figure(calibration_curve(held.calibration, words).svg, caption, words),))
    for listing in held.listings:
        yield Table(listing.title, listing.head, listing.rows, tuple(range(1, len(listing.head))))
    if held.facts:
        yield Facts(held.facts)


def _measure(line: MeasureLine) -> tuple[str, ...]:
    interval = ABSENT if line.low is None or line.high is None else f"{fixed(line.low)} to {fixed(line.high)}"
    numbers = (fixed(line.apparent, 3), fixed(line.harrell, 3), fixed(line.point632plus, 3))
    return (line.label, *numbers, interval)


def _reasons(measures: tuple[MeasureLine, ...]) -> Iterator[Block]:
    """Why numbers are missing, each reason once."""
    reasons = dict.fromkeys(line.reason for line in measures if line.reason)
    for reason in reasons:
        told = ", ".join(line.label for line in measures if line.reason == reason)
        yield Paragraph(f"Where a dash stands ({told}): {reason}.")


def _gates(card: CardSummary) -> Block:
    rows = tuple((human(line.name), "no number" if line.blocks else "said beside it", line.says) for line in card.gates)
    return Table("Gates", ("gate", "if it fails", "what it asks"), rows)


def _checks(card: CardSummary) -> Block:
    if not card.checks:
        return Paragraph("None yet. Before use, check it on your own patients.")
    head = ("on", "where", "children", "events", "observed / expected", "interval", "c")
    rows = tuple(
        (
            check.on.isoformat(),
            check.centre,
            check.children,
            check.events,
            fixed(check.observed_expected),
            ABSENT if check.low is None or check.high is None else f"{fixed(check.low)} to {fixed(check.high)}",
            fixed(check.c),
        )
        for check in card.checks
    )
    return Table("Checks, oldest first", head, rows, (2, 3, 4, 5, 6))


def _updates(card: CardSummary) -> Iterator[Block]:
    for held in card.updates:
        yield Paragraph(
            f"{held.on}: {held.method}, {held.chosen}, from the model {held.parent[:SHORT_DIGEST]}.", strong=True
        )
        facts = (("children", held.children), ("events", held.events), ("intervals", held.interval))
        yield Facts((*facts, ("what is whose", held.facts)))
        if held.moved or held.tests:
            yield Bullets((*held.moved, *held.tests))


def _identity(card: CardSummary) -> Block:
    held = card.identity
    chain = [(f"parent {i}", digest) for i, digest in enumerate(held.parents, start=1)]
    made = ", ".join(f"{name} {version}" for name, version in sorted(held.made_with.items()))
    return Facts(
        (
            ("model", held.id),
            ("digest", held.digest),
            *(chain or [("parents", "none: fitted from the cohort")]),
            ("released", held.released.isoformat()),
            ("to be reviewed by", held.review_by.isoformat()),
            ("use", held.use),
            ("dictionary", held.dictionary),
            ("made with", made),
        )
    )


def _reporting(card: CardSummary) -> Iterator[Block]:
    blank = [item.number for item in card.reporting if not item.text]
    yield Paragraph(f"After TRIPOD+AI, in our own words. To be written by people: items {', '.join(blank)}.")
    rows = tuple((item.number, item.topic, item.text or "to be written") for item in card.reporting)
    yield Table("Items, and what the model itself can say", ("item", "topic", "draft"), rows)
