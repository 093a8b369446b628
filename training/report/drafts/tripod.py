"""A draft for each item of TRIPOD+AI: filled from the bundle of the run, or left for people to write."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from riskmodel.bundle import Bundle
from riskmodel.documents import card
from riskmodel.documents.blocks import Block, Bullets, Facts, Page, Paragraph, Section, Table
from riskmodel.documents.card.model import CardSummary
from riskmodel.documents.card.page import gates, measures
from riskmodel.documents.card.pairs import pairs
from riskmodel.documents.card.reporting import ITEMS
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.words import signed
from training.report.drafts.prompts import PROMPTS, SECTIONS

SUBTITLE = (
    "draft of a report by the 27 items of TRIPOD+AI (Collins et al., BMJ 2024;385:e078378), topics in our own words, "
    "numbers from memory: hold it against the original before it is sent anywhere"
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One item: its number, its topic, what the run says of it, and what is left to write (empty for nothing)."""

    number: str
    topic: str
    filled: tuple[Block, ...]
    to_write: str


def entries(bundle: Bundle) -> tuple[Entry, ...]:
    """All items in order; each is filled, or has something to write, or both."""
    summary = card.summarise(bundle)
    told = {item.number: item.text for item in summary.reporting if item.text}
    more = dict(_more(bundle, summary))
    return tuple(
        Entry(number, topic, (*_lead(told.get(number)), *more.get(number, ())), PROMPTS.get(number, ""))
        for number, topic in ITEMS.items()
    )


def _lead(text: str | None) -> tuple[Block, ...]:
    return () if text is None else (Paragraph(f"{text[:1].upper()}{text[1:].rstrip('.')}."),)


def page(bundle: Bundle) -> Page:
    """The draft as a page."""
    held = {entry.number: entry for entry in entries(bundle)}
    return Page(
        title=f"Reporting draft: {bundle.title}",
        subtitle=f"{bundle.id}, {SUBTITLE}",
        band=DEMONSTRATION if bundle.demonstration else None,
        foot=f"{bundle.id} · digest {bundle.digest[:12]}",
        sections=(
            Section("How to use this draft", (_use(held),)),
            *(Section(title, tuple(_section(held, numbers))) for title, numbers in SECTIONS.items()),
            Section("Cautions", (Bullets(bundle.cautions),)),
        ),
    )


def _use(held: Mapping[str, Entry]) -> Block:
    blank = [entry.number for entry in held.values() if not entry.filled]
    partly = [entry.number for entry in held.values() if entry.filled and entry.to_write]
    return Facts(
        (
            ("filled from the run", f"{len(held) - len(blank)} of {len(held)} parts"),
            ("filled, and something for you to add", ", ".join(partly)),
            ("for you to write", ", ".join(blank)),
        )
    )


def _section(held: Mapping[str, Entry], numbers: tuple[str, ...]) -> Iterator[Block]:
    for number in numbers:
        entry = held[number]
        yield Paragraph(f"{number}. {entry.topic}", strong=True)
        yield from entry.filled
        if entry.to_write:
            yield Paragraph(f"For you to write: {entry.to_write}")


def _more(bundle: Bundle, summary: CardSummary) -> Iterator[tuple[str, tuple[Block, ...]]]:
    """What the card's one line leaves out."""
    yield from _methods(bundle, summary)
    yield from _results(bundle, summary)


def _methods(bundle: Bundle, summary: CardSummary) -> Iterator[tuple[str, tuple[Block, ...]]]:
    rules = bundle.protocol
    yield "7", (Paragraph("Every value was checked against the dictionary: kind, unit, range, order of times."),)
    yield "8a", (Facts(_outcome(summary)),)
    yield "9a", (_predictors(rules),)
    if bundle.advice:
        # The tables behind it are on the card.
        yield "10", (Facts(summary.advice.facts),)
    yield "11", (Facts(tuple(summary.cohort.missing)),)
    yield "12d", (Paragraph(_centres(rules)),)
    yield "12f", (_updates(summary),)
    yield "14", (Paragraph(f"Judged apart: {_subgroups(rules)}. No column stands for a group to make it fair."),)
    yield "16", (_checks(summary),)


def _centres(rules: Mapping[str, Any]) -> str:
    spread = rules.get("fit", {}).get("centre_sd")
    if spread is None:
        return "Centres take no part in the fit; the sum is for any of them."
    return f"Centres may differ in level, with an SD of {spread} in log-odds; the sum is for one like the average."


def _outcome(summary: CardSummary) -> tuple[tuple[str, str], ...]:
    held = summary.predicted
    rows = {
        "first of": "; ".join(held.first_of),
        "ends the chance of it": "; ".join(held.competes),
        "never counts": "; ".join(held.never_counts),
        "followed to": held.seen_until or "",
    }
    return tuple((name, text) for name, text in rows.items() if text)


def _predictors(rules: Mapping[str, Any]) -> Block:
    rows = tuple((str(part["variable"]), str(part.get("form", "linear"))) for part in rules.get("predictor", ()))
    products = tuple((" x ".join(part["of"]), "interaction") for part in rules.get("interaction", ()))
    return Table(
        "Predictors, as the protocol names them before any data were seen", ("variable", "form"), rows + products
    )


def _subgroups(rules: Mapping[str, Any]) -> str:
    return ", ".join(rules.get("report", {}).get("subgroups", ())) or "no subgroup"


def _checks(summary: CardSummary) -> Block:
    if not summary.checks:
        return Paragraph(
            "Not yet checked on patients that it was not made from: there is no evaluation to compare with."
        )
    told = (f"{held.on}, {held.centre}: {held.children} children, {held.events} events" for held in summary.checks)
    return Bullets(tuple(told))


def _results(bundle: Bundle, summary: CardSummary) -> Iterator[tuple[str, tuple[Block, ...]]]:
    yield "20b", (Facts(summary.cohort.facts),)
    yield "20c", (_checks(summary),)
    yield "22", (_sum(summary),)
    yield "23a", (measures(summary.performance),)
    yield "23b", (Facts(_between(bundle)),)
    yield "24", (_updates(summary),)
    yield "26", (Bullets(summary.limits),)
    yield "27a", (gates(summary),)


def _sum(summary: CardSummary) -> Block:
    head = ("term", "column", "coefficient", "90% interval")
    rows = tuple(
        (line.label, line.column, signed(line.coefficient, 4), f"{signed(line.low)} to {signed(line.high)}")
        for line in summary.coefficients
    )
    return Table("Coefficients in log-odds; means and beliefs beforehand are on the card", head, rows, (2, 3))


def _between(bundle: Bundle) -> tuple[tuple[str, str], ...]:
    told = {name: bundle.performance[name] for name in ("centres", "new_centre") if name in bundle.performance}
    if not told:
        return (("between centres", "see the validation report, if there are several centres with enough events"),)
    plain = {name: part for name, part in told.items() if not isinstance(part, list | tuple)}
    records = {f"centre {part.get('centre')}": part for part in told.get("centres", ())}
    return pairs({**plain, **records})


def _updates(summary: CardSummary) -> Block:
    if not summary.updates:
        return Paragraph("No update was made.")
    return Bullets(
        tuple(f"{held.on}, {held.method}: {held.chosen}; {'; '.join(held.tests)}" for held in summary.updates)
    )
