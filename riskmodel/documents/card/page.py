"""The card in reading order: limits, what, for whom, from whom, how, how well, then the small print."""

from collections.abc import Callable, Iterator

from riskmodel.documents.blocks import Block, Bullets, Facts, Figure, Figures, Page, Paragraph, Section, Table
from riskmodel.documents.card.curves import calibration_words, effect_words, moves
from riskmodel.documents.card.model import CardSummary, Coefficient, Listing, MeasureLine, Performance
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.words import ABSENT, fixed, human, of_100, short, signed, span
from riskmodel.drawing import Effect, calibration_curve, effect_curve

SHORT_DIGEST = 12
UNBROKEN = "\N{NO-BREAK SPACE}"


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
    yield "What this cohort can carry", tuple(_advice(card))
    yield "When a number is shown", (gates(card),)
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
        # The text says it already, with how large and how late.
        ("first of", "" if held.text else "; ".join(held.first_of)),
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
    for like in held.like_cases:
        cells = tuple((*cell.levels, cell.count) for cell in like.cells)
        title = f"Like cases known at the horizon, by {' and '.join(like.of)}; kinds not listed: fewer than 5"
        yield Table(title, (*like.of, "children"), cells, (len(like.of),))


def _cohort(card: CardSummary) -> Iterator[Block]:
    held = card.cohort
    if held.facts:
        yield Facts(held.facts)
    if held.left_out:
        yield Table("Left out, and why", ("reason", "children"), held.left_out, (1,))
    if held.missing:
        yield Table("Missing, from rounded counts", ("predictor", "share"), held.missing, (1,))


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
    if sources := tuple(_sources(card)):
        yield Table("Where the beliefs before came from", ("source", "columns"), sources)


def _sources(card: CardSummary) -> Iterator[tuple[str, str]]:
    """Each source with the columns that it speaks of, term by term in the order of the sum."""
    held: dict[str, dict[str, list[str]]] = {}
    for line in card.coefficients:
        if line.prior_source:
            held.setdefault(line.prior_source, {}).setdefault(line.label, []).append(line.column)
    for source, terms in held.items():
        yield source, " · ".join(f"{label}: {'; '.join(columns)}" for label, columns in terms.items())


def _effect(held: Effect) -> Figure:
    words = effect_words(held)
    return Figure(effect_curve(held, words).svg, f"What it adds: {held.label}", words)


def _coefficient(line: Coefficient, *, told: bool) -> tuple[str, ...]:
    prior: tuple[str, ...] = ()
    if told:
        spread = "learned" if line.prior_sd is None else fixed(line.prior_sd)
        prior = (ABSENT if line.prior_mean is None else f"{signed(line.prior_mean)}{UNBROKEN}({spread})",)
    label = f"{line.label} ({line.unit})" if line.unit else line.label
    interval = _interval(line.low, line.high, signed)
    return (label, line.column, fixed(line.mean), *prior, signed(line.coefficient, 3), interval)


def _interval(low: float | None, high: float | None, write: Callable[[float], str] = fixed) -> str:
    """An interval on one line, however narrow the column; a dash where there is none."""
    return ABSENT if low is None or high is None else f"{write(low)}{UNBROKEN}to{UNBROKEN}{write(high)}"


def _performance(card: CardSummary) -> Iterator[Block]:
    held = card.performance
    if held.measures:
        yield from _measures(held)
    if held.calibration is not None:
        words = calibration_words(held.calibration)
        caption = "What happened, against the risk given to each child with the child itself left out"
        yield Figures((Figure(calibration_curve(held.calibration, words).svg, caption, words),))
    for listing in held.listings:
        yield _table(listing)
    if held.facts:
        yield Facts(held.facts)


def _table(held: Listing) -> Table:
    return Table(held.title, held.head, held.rows, held.numbers)


def _measures(held: Performance) -> Iterator[Block]:
    """Measures in the ways in which they are told, what those and the measures mean, and why numbers are missing."""
    table = measures(held)
    yield table
    told = ((heading, meaning) for _, heading, meaning in held.columns)
    meanings = (*told, *((line.label, line.meaning) for line in held.measures))
    if kept := tuple((name, meaning) for name, meaning in meanings if meaning):
        yield Table("What the columns and the measures mean", ("what", "meaning"), kept)
    dashed = [line for line, row in zip(held.measures, table.rows, strict=True) if ABSENT in row]
    for reason in dict.fromkeys(line.reason for line in dashed if line.reason):
        names = ", ".join(line.label for line in dashed if line.reason == reason)
        yield Paragraph(f"Where a dash stands ({names}): {reason}.")


def measures(held: Performance) -> Table:
    """Every measure, in the ways in which some number is told."""
    ranged = any(line.low is not None for line in held.measures)
    head = ("measure", *(heading for _, heading, _ in held.columns), *(("interval",) if ranged else ()))
    rows = tuple((line.label, *_numbers(line, held, ranged=ranged)) for line in held.measures)
    corrected = len(held.columns) > 1
    caption = "On the cohort itself, and corrected for having been fitted to it" if corrected else "Measures"
    return Table(caption, head, rows, tuple(range(1, len(head))))


def _numbers(line: MeasureLine, held: Performance, *, ranged: bool) -> tuple[str, ...]:
    values = tuple(fixed(getattr(line, name), 3) for name, _, _ in held.columns)
    return (*values, _interval(line.low, line.high)) if ranged else values


def _advice(card: CardSummary) -> Iterator[Block]:
    if card.advice.facts:
        yield Facts(card.advice.facts)
    yield from (_table(held) for held in card.advice.listings)


def gates(card: CardSummary) -> Table:
    """What has to hold before a number is shown, and what is only said beside it."""
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
            _interval(check.low, check.high),
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
