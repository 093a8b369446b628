"""The whole answer of each model: range first, then the gates in words, the account, what is missing."""

from dataclasses import dataclass
from typing import ClassVar

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from riskmodel.bundle import Bundle
from riskmodel.web.account import Ruled, ruled
from riskmodel.web.desk import Case
from riskmodel.web.pages import Page, respond
from riskmodel.web.state import State, case_of, state_of
from riskmodel.web.told import Told, tell_all


@dataclass(frozen=True, slots=True)
class Whole:
    """One model's answer with its account (None when no number is shown), and which model it was."""

    told: Told
    account: Ruled | None
    identity: str


@dataclass(frozen=True, slots=True)
class EstimatePage(Page):
    """`unconfirmed`: labels of unusual values that wait to be confirmed; `faults`: how many values are unusable.

    `not_kept`: why the answers were not kept, after somebody asked for it.
    """

    template: ClassVar[str] = "estimate.html.jinja"

    address: str
    case_id: str
    answers: tuple[Whole, ...]
    unconfirmed: tuple[str, ...]
    faults: int
    not_kept: tuple[str, ...]


async def show(request: Request) -> Response:
    """The estimates of a case."""
    address, case = case_of(request)
    return respond(page(state_of(request), address, case))


def page(state: State, address: str, case: Case, *, not_kept: tuple[str, ...] = ()) -> EstimatePage:
    """The page as the case stands."""
    known = state.models.dictionary.variables
    bundles = [scorer.bundle for scorer in state.models.scorers]
    estimates = case.assessment.estimates
    told = tell_all(state.models, estimates, case.assessment.lacking)
    return EstimatePage(
        frame=state.frame("Estimate", here="Estimate", address=address),
        address=address,
        case_id=case.case_id,
        answers=tuple(
            Whole(words, ruled(bundle, answer), _identity(bundle))
            for bundle, answer, words in zip(bundles, estimates, told, strict=False)
        ),
        unconfirmed=tuple(known[name].label for name in case.unconfirmed if name in known),
        faults=len(case.assessment.faults),
        not_kept=not_kept,
    )


def _identity(bundle: Bundle) -> str:
    return f"{bundle.id}, {bundle.use.value}, digest {bundle.digest[:12]}, to be reviewed by {bundle.review_by}"


ROUTES = (Route("/case/{address}/estimate", show, methods=["GET"]),)
