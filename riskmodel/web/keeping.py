"""Keeping an answer: what has to hold first, and the records that are then kept."""

from collections.abc import Iterator, Mapping
from datetime import date
from secrets import token_urlsafe

from riskmodel.cases.identifiers import in_key
from riskmodel.documents import answer as answers
from riskmodel.scoring import RiskEstimate, Scorer
from riskmodel.web.desk import Case
from riskmodel.web.kept import Event, Kept, Outcome
from riskmodel.web.kept.records import month_end
from riskmodel.web.models import Models

FEWEST_INITIALS, MOST_INITIALS = 2, 4
INITIALS = f"initials: {FEWEST_INITIALS} to {MOST_INITIALS} letters"
MONTH = "the month of the operation as YYYY-MM, not in the future, or nothing when it is not known or was not done"


def initials(text: str) -> str | None:
    """Initials in capitals; None when the text is none."""
    fits = text.isalpha() and FEWEST_INITIALS <= len(text) <= MOST_INITIALS
    return text.upper() if fits else None


def obstacles(case: Case, sent: Mapping[str, str]) -> Iterator[str]:
    """Everything that stands in the way of keeping the answers of a case."""
    if not case.assessment.estimates:
        yield "There is no answer to keep while values are missing or unusable."
    if case.unconfirmed:
        yield "Unusual values have to be confirmed first, on the child's page."
    if not case.case_id or in_key(case.case_id):
        yield "The child needs a key, a pseudonym, on the child's page."
    if initials(sent["initials"]) is None:
        yield f"Missing: your {INITIALS}."
    if sent["agreed"] != "yes":
        yield "Missing: the tick that this child's answers may be kept."


def records(models: Models, case: Case, by: str, on: date) -> tuple[Kept, ...]:
    """One record for each model's answer."""
    pairs = zip(models.scorers, case.assessment.estimates, strict=True)
    return tuple(_record(scorer, estimate, case, by, on) for scorer, estimate in pairs)


def _record(scorer: Scorer, estimate: RiskEstimate, case: Case, by: str, on: date) -> Kept:
    bundle = scorer.bundle
    return Kept(
        id=token_urlsafe(9),
        case_id=case.case_id,
        kept_by=by,
        kept_on=on,
        model=bundle.id,
        title=bundle.title,
        digest=bundle.digest,
        outcome=bundle.outcome.name,
        horizon_months=bundle.outcome.horizon_months,
        demonstration=bundle.demonstration,
        values=dict(case.values),
        answer=answers.result(estimate),
    )


def outcome(sent: Mapping[str, str], on: date) -> Outcome | tuple[str, ...]:
    """What became of a child, from a form; or everything that is wrong with the form."""
    by, operated, readable = initials(sent["initials"]), *_month(sent["operated"], on)
    events = {event.value: event for event in Event}
    counted = sent["event"] in (Event.YES.value, Event.NO.value)
    wrong = {
        f"Missing: your {INITIALS}.": by is None,
        f"Found {sent['operated'][:20]}; accepted: {MONTH}.": not readable,
        "Missing: whether it happened.": sent["event"] not in events,
        "The time is counted from the operation: its month is missing.": counted and not sent["operated"],
    }
    faults = tuple(words for words, holds in wrong.items() if holds)
    return faults if faults or by is None else Outcome(events[sent["event"]], operated, by, on)


def _month(text: str, on: date) -> tuple[date | None, bool]:
    """The last day of a month, None for nothing; and whether the text could be read as one that has begun."""
    try:
        end = month_end(text) if text else None
    except ValueError:
        return None, False
    begun = end is None or end.replace(day=1) <= on
    return (end, True) if begun else (None, False)
