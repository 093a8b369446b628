"""The answer as a CDS Hooks response: one card that informs, without suggestions or actions.

Fields: CDS Hooks 2.0, from memory. `summary` is under 140 characters, `detail` GitHub-flavoured Markdown.
"""

from collections.abc import Iterator
from datetime import date
from typing import Any

from riskmodel.account import speaking
from riskmodel.documents.exchange.checks import LONGEST_SUMMARY, hook_problems
from riskmodel.documents.exchange.fhir import notes, run_id
from riskmodel.documents.markdown import text
from riskmodel.documents.scored import Scored
from riskmodel.documents.words import of_100, outward, short, signed
from riskmodel.errors import DocumentRefused

OVERRIDES = {
    "anatomy-not-in-model": "the anatomy that matters here is not in the model",
    "not-like-the-cohort": "this child is not like those of the cohort",
    "values-out-of-date": "the values typed are out of date",
}
SYSTEM = "urn:riskmodel:override-reasons"
_ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"


def hook_response(answer: Scored, *, on: date) -> dict[str, Any]:
    """The response as plain JSON.

    Raises
    ------
    DocumentRefused
        When what was built breaks a rule of `checks.hook_problems`: a fault of ours.
    """
    card = {
        "uuid": run_id(answer, on),
        "summary": summary(answer),
        "detail": "\n".join(_detail(answer)),
        "indicator": "info",
        "source": {"label": f"riskmodel, {answer.bundle.id}"},
        "overrideReasons": [
            {"code": code, "system": SYSTEM, "display": display} for code, display in OVERRIDES.items()
        ],
    }
    made = {"cards": [card]}
    if faults := hook_problems(made):
        raise DocumentRefused("the card breaks its own rules: " + "; ".join(faults))
    return made


def summary(answer: Scored) -> str:
    """The answer in one line under 140 characters: range first, then the point; a long outcome is cut."""
    held = answer.estimate
    mark = "INVENTED DATA. " if answer.bundle.demonstration else ""
    if held.low is None or held.high is None or held.probability is None:
        told = "No number for this child; the reasons are below"
    else:
        low, high = outward(held.low, held.high)
        told = f"{low} to {high} in 100, best guess {round(100 * held.probability)}"
    label = " ".join(answer.bundle.outcome.label.split())
    room = LONGEST_SUMMARY - len(f"{mark}{told}: ")
    return f"{mark}{told}: {label if len(label) <= room else label[: room - 1] + _ELLIPSIS}"


def _detail(answer: Scored) -> Iterator[str]:
    held = answer.estimate
    within = answer.bundle.outcome.horizon_months
    time = "" if within is None else f" within {short(within)} months"
    yield f"**{text(answer.bundle.outcome.label)}**{time}. In the cohort: {of_100(held.cohort_rate)}."
    if held.contributions:
        yield from ("", "| what | value | log-odds |", "| --- | --- | ---: |")
        for line in sorted(speaking(held.contributions, answer.bundle.terms), key=lambda line: -abs(line.log_odds)):
            value = "" if line.value is None else f"{line.value:g}" if isinstance(line.value, float) else line.value
            yield f"| {text(line.label)} | {text(value)} | {signed(line.log_odds)} |"
    yield from ("", *(f"- {text(note)}" for note in notes(answer)))
