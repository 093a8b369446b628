"""What became of a cohort, as lines for people and as a document for programs."""

from collections.abc import Iterable, Iterator
from typing import Any

from riskmodel.documents.cautions import DEMONSTRATION, GENERAL, cautions
from riskmodel.errors import Finding
from training.cohort import Cohort
from training.outcome import OutcomeSummary
from training.protocol import Protocol

FORMAT = 1


def lines(cohort: Cohort, protocol: Protocol, summary: OutcomeSummary) -> Iterator[str]:
    """The summary, one fact a line."""
    if protocol.demonstration:
        yield DEMONSTRATION
    yield protocol.title
    yield f"outcome: {_outcome(protocol)}"
    yield f"{summary.children:6d} children"
    yield from (f"{count:8d} {words}" for count, words in _ends(protocol, summary))
    if summary.rate is not None:
        yield f"rate: {summary.rate:.1%}{_competing(summary)}{_windows(summary)}"
    if summary.follow_up_months is not None:
        yield f"follow-up: median {summary.follow_up_months:.1f} months (reverse Kaplan-Meier)"
    rates = [f"{name} {rate:.1%}" for name, rate in summary.rates.items() if rate is not None]
    if rates:
        yield "rate under each definition: " + ", ".join(rates)
    if cohort.made_of:
        yield "first events: " + ", ".join(f"{name} {count}" for name, count in cohort.made_of.items())
    yield from (f"left out: {count} children, {reason}" for reason, count in cohort.flow)
    yield from _readers(cohort)
    yield " ".join(GENERAL[:2])


def document(
    cohort: Cohort, protocol: Protocol, summary: OutcomeSummary, findings: Iterable[Finding]
) -> dict[str, Any]:
    """The same facts as JSON values."""
    return {
        "format": FORMAT,
        "protocol": protocol.name,
        "demonstration": protocol.demonstration,
        "cautions": list(cautions(demonstration=protocol.demonstration)),
        "outcome": {
            "name": protocol.outcome.name or protocol.outcome.column,
            "horizon_months": protocol.outcome.horizon_months,
            "visit_window_months": protocol.outcome.visit_window_months,
        },
        "children": summary.children,
        "events": summary.events,
        "competing": summary.competing,
        "free": summary.free,
        "in_visit_window": summary.in_window,
        "lost_before_horizon": summary.censored_before,
        "not_known": summary.unstated,
        "rate": summary.rate,
        "competing_rate": summary.competing_rate,
        "follow_up_months": summary.follow_up_months,
        "rates": dict(summary.rates),
        "rates_by_window": [{"months": months, "rate": rate} for months, rate in summary.rates_by_window.items()],
        "first_events": dict(cohort.made_of),
        "left_out": [{"reason": reason, "children": count} for reason, count in cohort.flow],
        "readers": [
            {"variable": name, "children": held.children, "sd": held.sd} for name, held in cohort.readers.items()
        ],
        "findings": [str(finding) for finding in findings],
    }


def _readers(cohort: Cohort) -> Iterator[str]:
    """How far two readers of one measurement lie apart."""
    for name, held in cohort.readers.items():
        unit = cohort.dictionary.variables[name].unit
        yield f"readers of {name}: {held.children} children read by two or more, SD of one reading {held.sd:.2g} {unit}"


def _outcome(protocol: Protocol) -> str:
    rules = protocol.outcome
    if rules.horizon_months is None:
        return f"{rules.column} = {rules.event_value}"
    return f"{rules.name} within {rules.horizon_months:g} months, visit window {rules.visit_window_months:g} months"


def _ends(protocol: Protocol, summary: OutcomeSummary) -> Iterator[tuple[int, str]]:
    horizon, window = protocol.outcome.horizon_months, protocol.outcome.visit_window_months
    yield summary.events, "with the event"
    if horizon is None:
        yield summary.free, "without it"
    else:
        yield summary.competing, "ended by something that competes with it"
        yield summary.free, f"free at {horizon:g} months"
        if window:
            yield summary.in_window, f"  of these last seen in the {window:g} months before, and counted as seen then"
        yield summary.censored_before, f"last seen free before {horizon:g} months"
    yield summary.unstated, "of whom the outcome is not known"


def _competing(summary: OutcomeSummary) -> str:
    return f" (ended by something that competes: {summary.competing_rate:.1%})" if summary.competing_rate else ""


def _windows(summary: OutcomeSummary) -> str:
    rates = [f"{months:g} months {rate:.1%}" for months, rate in summary.rates_by_window.items() if rate is not None]
    return f"; by visit window: {', '.join(rates)}" if rates else ""
