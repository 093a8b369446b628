"""Kept answers: list, filter, export, and observed against expected by half-year."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import Enum
from http import HTTPStatus
from typing import ClassVar

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from riskmodel.documents.words import fixed
from riskmodel.monitoring import Period
from riskmodel.web import form, keeping
from riskmodel.web.kept import KeptChild, NotKept
from riskmodel.web.kept.export import to_csv
from riskmodel.web.kept.watch import Watched, watched
from riskmodel.web.pages import Page, respond
from riskmodel.web.routes import estimate
from riskmodel.web.state import case_of, state_of
from riskmodel.web.told import between

# Rows of one page; more are found by filtering, and all are exported.
MOST_ROWS = 200


class Which(Enum):
    """Which kept answers are listed."""

    ALL = "all"
    OPEN = "nothing noted since"
    DUE = "horizon passed, outcome not known"


@dataclass(frozen=True, slots=True)
class Entry:
    """One kept answer in a row of the list."""

    id: str
    case_id: str
    kept: str
    title: str
    range: str
    since: str


@dataclass(frozen=True, slots=True)
class HalfYear:
    """One half-year of one model, in words."""

    name: str
    children: str
    not_known: str
    observed: str
    expected: str
    ratio: str
    limits: str
    verdict: str


@dataclass(frozen=True, slots=True)
class ModelWatch:
    """One model's half-years."""

    title: str
    identity: str
    half_years: tuple[HalfYear, ...]


@dataclass(frozen=True, slots=True)
class KeptPage(Page):
    """`asked`: the part of a key that is looked for; `which` and its choices; `found` of `total` are meant.

    `entries` are the last kept of these.
    """

    template: ClassVar[str] = "kept.html.jinja"

    entries: tuple[Entry, ...]
    found: int
    total: int
    asked: str
    which: Which
    choices: tuple[Which, ...]
    watch: tuple[ModelWatch, ...]
    fault: str


async def show(request: Request) -> Response:
    """Everything that is kept."""
    return _listed(request, "", Which.ALL)


async def filtered(request: Request) -> Response:
    """What is asked for; the key that is looked for is sent as a form, so that it stands in no address."""
    sent = await form.read(request)
    named = form.text(sent, "which")
    which = next((held for held in Which if held.value == named), Which.ALL)
    return _listed(request, form.text(sent, "key"), which)


async def export(request: Request) -> Response:
    """Everything that is kept, as CSV."""
    try:
        text = to_csv(state_of(request).kept.all())
    except NotKept:
        return _listed(request, "", Which.ALL)
    headers = {"content-disposition": 'attachment; filename="kept.csv"'}
    return Response(text, media_type="text/csv", headers=headers)


async def keep(request: Request) -> Response:
    """Keep the answers of a case, if nothing stands in the way; confirmed only when they are on the disk."""
    address, case = case_of(request)
    state, sent = state_of(request), await form.read(request)
    texts = {name: form.text(sent, name) for name in ("initials", "agreed")}
    faults = tuple(keeping.obstacles(case, texts))
    if not faults:
        by = keeping.initials(texts["initials"]) or ""
        try:
            state.kept.keep(keeping.records(state.models, case, by, state.clock()))
            return RedirectResponse("/kept", HTTPStatus.SEE_OTHER)
        except NotKept as error:
            faults = (f"Nothing was kept: {error}.",)
    return respond(estimate.page(state, address, case, not_kept=faults), HTTPStatus.UNPROCESSABLE_ENTITY)


def _listed(request: Request, asked: str, which: Which) -> Response:
    state, fault = state_of(request), ""
    held: tuple[KeptChild, ...] = ()
    try:
        held = state.kept.all()
    except NotKept as error:
        fault = f"{error}."
    on = state.clock()
    wanted = [child for child in held if _wanted(child, asked, which, on)]
    page = KeptPage(
        frame=state.frame("Kept answers", here="Kept answers"),
        entries=tuple(map(_entry, wanted[:MOST_ROWS])),
        found=len(wanted),
        total=len(held),
        asked=asked,
        which=which,
        choices=tuple(Which),
        watch=tuple(_watch(watched(held, on))),
        fault=fault,
    )
    return respond(page)


def _wanted(child: KeptChild, asked: str, which: Which, on: date) -> bool:
    if asked.casefold() not in child.kept.case_id.casefold():
        return False
    return {Which.ALL: True, Which.OPEN: child.since is None, Which.DUE: child.due(on)}[which]


def _entry(child: KeptChild) -> Entry:
    kept, interval = child.kept, child.kept.answer["interval"]
    return Entry(
        id=kept.id,
        case_id=kept.case_id,
        kept=f"{kept.kept_on}, {kept.kept_by}",
        title=kept.title,
        range=between(interval["low"], interval["high"]) if interval else "no number",
        since=since_words(child),
    )


def since_words(child: KeptChild) -> str:
    """What became of a child, in a few words."""
    if child.since is None:
        return "nothing noted"
    operated = f", operated {child.since.operated:%Y-%m}" if child.since.operated else ""
    return f"happened: {child.since.event.value}{operated}"


def _watch(held: Iterable[Watched]) -> Iterator[ModelWatch]:
    for model in held:
        identity = f"{model.model}, digest {model.digest[:12]}"
        yield ModelWatch(model.title, identity, tuple(map(_half_year, model.periods)))


def _half_year(period: Period) -> HalfYear:
    return HalfYear(
        name=period.name,
        children=str(period.children),
        not_known=str(period.not_known),
        observed=str(period.observed),
        expected=fixed(period.expected, 1),
        ratio=fixed(period.ratio),
        limits=f"{period.inner.low} to {period.inner.high}",
        verdict=period.verdict.value,
    )


ROUTES = (
    Route("/kept", show, methods=["GET"]),
    Route("/kept", filtered, methods=["POST"]),
    Route("/kept.csv", export, methods=["GET"]),
    Route("/case/{address}/keep", keep, methods=["POST"]),
)
