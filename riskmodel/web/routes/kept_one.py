"""One kept answer: what was typed, what was answered, what became of the child; and how it is taken out again."""

from dataclasses import dataclass
from http import HTTPStatus
from typing import ClassVar

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from riskmodel.cases.table import STATE_WORDS
from riskmodel.dictionary.model import Dictionary
from riskmodel.documents.words import human, of_100, short
from riskmodel.web import form, keeping
from riskmodel.web.kept import Event, Kept, NotKept, Outcome
from riskmodel.web.pages import Page, respond
from riskmodel.web.state import state_of
from riskmodel.web.told import between

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class KeptOnePage(Page):
    """`noted`: what was noted since, the last first; `faults`: why something could not be done."""

    template: ClassVar[str] = "kept_one.html.jinja"

    id: str
    case_id: str
    title: str
    within: str
    answer: Pairs
    values: Pairs
    noted: tuple[Outcome, ...]
    events: tuple[str, ...]
    faults: tuple[str, ...]


async def show(request: Request) -> Response:
    """One kept answer."""
    return respond(_page(request, *_found(request)))


async def note(request: Request) -> Response:
    """Note what became of the child."""
    kept, noted = _found(request)
    sent = await form.read(request)
    texts = {name: form.text(sent, name) for name in ("initials", "operated", "event")}
    held = keeping.outcome(texts, state_of(request).clock())
    if not isinstance(held, Outcome):
        return respond(_page(request, kept, noted, held), HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        state_of(request).kept.note(kept, held)
    except NotKept as error:
        return respond(_page(request, kept, noted, (f"Nothing was noted: {error}.",)), HTTPStatus.UNPROCESSABLE_ENTITY)
    return RedirectResponse(f"/kept/{kept.id}", HTTPStatus.SEE_OTHER)


async def take_out(request: Request) -> Response:
    """Forget the child: all of its answers, and what became of it."""
    kept, noted = _found(request)
    if form.text(await form.read(request), "sure") != "yes":
        faults = ("Nothing was taken out: the tick is missing.",)
        return respond(_page(request, kept, noted, faults), HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        state_of(request).kept.take_out(kept.case_id)
    except NotKept as error:
        faults = (f"Nothing was taken out: {error}.",)
        return respond(_page(request, kept, noted, faults), HTTPStatus.UNPROCESSABLE_ENTITY)
    return RedirectResponse("/kept", HTTPStatus.SEE_OTHER)


def _found(request: Request) -> tuple[Kept, tuple[Outcome, ...]]:
    try:
        held = state_of(request).kept.one(request.path_params["id"])
    except NotKept:
        held = None
    if held is None:
        raise HTTPException(HTTPStatus.NOT_FOUND)
    return held


def _page(request: Request, kept: Kept, noted: tuple[Outcome, ...], faults: tuple[str, ...] = ()) -> KeptOnePage:
    state = state_of(request)
    months = kept.horizon_months
    return KeptOnePage(
        frame=state.frame("Kept answer", here="Kept answers"),
        id=kept.id,
        case_id=kept.case_id,
        title=kept.title,
        within="" if months is None else f" within {short(months)} months of the operation",
        answer=_answer(kept),
        values=tuple(_value(state.models.dictionary, name, text) for name, text in kept.values.items()),
        noted=noted,
        events=tuple(event.value for event in Event),
        faults=faults,
    )


def _answer(kept: Kept) -> Pairs:
    interval, probability = kept.answer["interval"], kept.probability
    told = between(interval["low"], interval["high"]) if interval else "no number was shown"
    best = () if probability is None else (("Best estimate", of_100(probability)),)
    failed = [gate["says"] for gate in kept.answer["gates"] if not gate["passed"]]
    return (
        ("Range", told),
        *best,
        ("Cautions", "; ".join(failed) or "none"),
        ("Kept", f"{kept.kept_on}, {kept.kept_by}"),
        ("Model", f"{kept.model}, digest {kept.digest}"),
    )


def _value(dictionary: Dictionary, name: str, text: str) -> tuple[str, str]:
    """A typed value as a person reads it: labels for names and codes."""
    variable = dictionary.variables.get(name)
    if variable is None:
        return name, text
    labels = {level.code: level.label for level in variable.levels}
    words = human(text) if text in STATE_WORDS else "; ".join(labels.get(code, code) for code in text.split("+"))
    plain = text in STATE_WORDS or not variable.unit
    return variable.label, words if plain else f"{words} {variable.unit}"


ROUTES = (
    Route("/kept/{id}", show, methods=["GET"]),
    Route("/kept/{id}/since", note, methods=["POST"]),
    Route("/kept/{id}/take-out", take_out, methods=["POST"]),
)
