"""The models: a list, and the card of each, from nothing but its bundle."""

from dataclasses import dataclass
from functools import lru_cache
from http import HTTPStatus
from typing import ClassVar

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from riskmodel.bundle import Bundle
from riskmodel.documents import blocks, card
from riskmodel.scoring import Scorer
from riskmodel.web.pages import Page, respond
from riskmodel.web.state import state_of


@dataclass(frozen=True, slots=True)
class Entry:
    """One model of the list."""

    number: int
    title: str
    identity: str


@dataclass(frozen=True, slots=True)
class ModelsPage(Page):
    """The models that the app was started with."""

    template: ClassVar[str] = "models.html.jinja"

    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class ModelPage(Page):
    """The card of one model."""

    template: ClassVar[str] = "model.html.jinja"

    number: int
    card: blocks.Page


async def listed(request: Request) -> Response:
    """The list of models."""
    state = state_of(request)
    bundles = [scorer.bundle for scorer in state.models.scorers]
    entries = tuple(Entry(i, bundle.title, _identity(bundle)) for i, bundle in enumerate(bundles))
    return respond(ModelsPage(state.frame("Models", here="Models"), entries))


async def show(request: Request) -> Response:
    """The card as a page of the app."""
    number, scorer = _chosen(request)
    frame = state_of(request).frame("Model card", here="Models")
    return respond(ModelPage(frame, number, card.page(_summary(scorer))))


async def download(request: Request) -> Response:
    """The card as a file: PDF, JSON, Markdown or HTML."""
    _, scorer = _chosen(request)
    make, media_type = _KINDS.get(request.path_params["kind"], (None, ""))
    if make is None:
        raise HTTPException(HTTPStatus.NOT_FOUND)
    name = f"{scorer.bundle.id}.card.{request.path_params['kind']}"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(make(_summary(scorer)), media_type=media_type, headers=headers)


@lru_cache(maxsize=16)
def _summary(scorer: Scorer) -> card.CardSummary:
    return card.summarise(scorer.bundle)


def _chosen(request: Request) -> tuple[int, Scorer]:
    number, scorers = request.path_params["number"], state_of(request).models.scorers
    if number >= len(scorers):
        raise HTTPException(HTTPStatus.NOT_FOUND)
    return number, scorers[number]


def _identity(bundle: Bundle) -> str:
    return f"{bundle.id}, released {bundle.released}, {bundle.use.value}, digest {bundle.digest[:12]}"


_KINDS = {
    "pdf": (card.to_pdf, "application/pdf"),
    "json": (card.to_json, "application/json"),
    "md": (card.to_markdown, "text/markdown"),
    "html": (card.to_html, "text/html"),
}
ROUTES = (
    Route("/models", listed, methods=["GET"]),
    Route("/models/{number:int}", show, methods=["GET"]),
    Route("/models/{number:int}/card.{kind}", download, methods=["GET"]),
)
