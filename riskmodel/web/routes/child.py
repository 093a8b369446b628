"""The child's page: the form, and beside it the answers as they stand."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import ClassVar

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from riskmodel.cases import case_file_text
from riskmodel.errors import Finding
from riskmodel.web import form
from riskmodel.web.desk import Case
from riskmodel.web.fields import FieldGroup, Messages, fault_words, field_groups, messages
from riskmodel.web.form import Sent
from riskmodel.web.pages import Drawn, Page, markup, respond
from riskmodel.web.state import State, case_of, held_case, state_of
from riskmodel.web.told import Told, tell_all


@dataclass(frozen=True, slots=True)
class Answers(Drawn):
    """The answers beside the form.

    `earlier`: answers for values that stood there before, given while those of now bear none. `faults`: what makes
    the values unusable, with the field's name. `unconfirmed`: labels of unusual values that wait to be confirmed.
    `cautions`: what to bear in mind with every number, each sentence once.
    """

    template: ClassVar[str] = "answers.html.jinja"

    answers: tuple[Told, ...]
    earlier: tuple[Told, ...]
    faults: tuple[str, ...]
    unconfirmed: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def spoken(self) -> str:
        """The answers in a sentence or two, for a screen reader."""
        if self.faults:
            return f"No answer: {'; '.join(self.faults)}"
        return "; ".join(told.line for told in self.answers)


@dataclass(frozen=True, slots=True)
class ChildPage(Page):
    """The form with the answers; `strange` names values of the case that no field asks for."""

    template: ClassVar[str] = "child.html.jinja"

    address: str
    case_id: str
    key_messages: Messages
    groups: tuple[FieldGroup, ...]
    notices: tuple[str, ...]
    strange: tuple[str, ...]
    answers: Answers


async def show(request: Request) -> Response:
    """The child's page; notices are shown once."""
    address, case = case_of(request)
    state = state_of(request)
    if case.notices:
        state.desk.put(address, replace(case, notices=()))
    return respond(_page(state, address, case))


async def change(request: Request) -> Response:
    """Take the whole form, and whatever button was pressed; the page is then shown anew."""
    address, case = case_of(request)
    state = state_of(request)
    sent = form.sent(await form.read(request), state.models.dictionary)
    case = _pressed(state, _updated(state, case, sent), sent)
    state.desk.put(address, case)
    return RedirectResponse(f"/case/{address}/child", HTTPStatus.SEE_OTHER)


async def answer(request: Request) -> Response:
    """Take the whole form; give back what changes on the page, at once.

    What measuring would buy takes longer: the page asks for it when no further field is left for a while.
    """
    address, case = held_case(request)
    state = state_of(request)
    sent = form.sent(await form.read(request), state.models.dictionary)
    case = _updated(state, case, sent, measuring=False)
    state.desk.put(address, case)
    answers = _answers(state, case)
    asked = (messages(name, case) for name in (form.KEY, *sent.values))
    told = {held.name: markup(held) for held in asked if held.faults or held.question}
    more = not case.assessment.measured
    return JSONResponse({"answers": markup(answers), "messages": told, "spoken": answers.spoken, "more": more})


async def measured(request: Request) -> Response:
    """The answers once more, with what measuring would buy."""
    _, case = case_of(request)
    return JSONResponse({"answers": markup(_answers(state_of(request), case))})


async def save(request: Request) -> Response:
    """The case as a file; its name says nothing of the child."""
    _, case = case_of(request)
    headers = {"content-disposition": 'attachment; filename="case.toml"'}
    return Response(case_file_text(case.case_id, case.values), media_type="application/toml", headers=headers)


def _updated(state: State, case: Case, sent: Sent, *, measuring: bool = True) -> Case:
    """The case with what the form showed; what it did not show stays."""
    values = {**case.values, **sent.values}
    changed = state.desk.changed(case, sent.case_id, values, on=state.clock(), measuring=measuring)
    shown = {(name, text) for name, text in case.confirmed if name not in sent.values}
    confirmed = {(name, changed.values[name]) for name in sent.confirmed if name in changed.values}
    return replace(changed, confirmed=frozenset(shown | confirmed))


def _pressed(state: State, case: Case, sent: Sent) -> Case:
    """What the buttons do: open a group of fields, close it, or leave out what no field asks for."""
    numbers = {group.number for group in state.groups}
    if (number := _number(sent.pressed.get("open"))) in numbers:
        return replace(case, opened=case.opened | {number})
    if (number := _number(sent.pressed.get("close"))) in numbers:
        return replace(case, opened=case.opened - {number})
    if "leave_out" in sent.pressed:
        left = {name: text for name, text in case.values.items() if name not in _strange(state, case)}
        return state.desk.changed(case, case.case_id, left, on=state.clock())
    return case


def _number(text: str | None) -> int:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 5 else -1


def _strange(state: State, case: Case) -> tuple[str, ...]:
    asked = {name for group in state.groups for name in group.names}
    return tuple(name for name in case.values if name not in asked)


def _page(state: State, address: str, case: Case) -> ChildPage:
    return ChildPage(
        frame=state.frame("Child", here="Child", address=address),
        address=address,
        case_id=case.case_id,
        key_messages=messages(form.KEY, case),
        groups=field_groups(state.groups, state.models.dictionary.variables, case),
        notices=case.notices,
        strange=_strange(state, case),
        answers=_answers(state, case),
    )


def _answers(state: State, case: Case) -> Answers:
    known = state.models.dictionary.variables
    answers = tell_all(state.models, case.assessment.estimates, case.assessment.lacking)
    return Answers(
        answers=answers,
        earlier=tell_all(state.models, case.earlier),
        faults=tuple(_named(finding, state) for finding in case.assessment.faults),
        unconfirmed=tuple(known[name].label for name in case.unconfirmed if name in known),
        cautions=tuple(_cautions(answers)),
    )


def _cautions(answers: tuple[Told, ...]) -> Iterator[str]:
    """Cautions of all numbers; where they are the same for all models they are said once, without the model."""
    told = [(gate, answer) for answer in answers for gate in answer.gates if gate.caution]
    for gate in dict.fromkeys(gate for gate, _ in told):
        models = [answer.title for held, answer in told if held == gate]
        whose = "" if len(models) == len(answers) else f" ({'; '.join(models)})"
        yield f"{gate.name}{whose}: {gate.says}."


def _named(finding: Finding, state: State) -> str:
    variable = state.models.dictionary.variables.get(finding.column or "")
    label = variable.label if variable else finding.column
    return f"{label}: {fault_words(finding)}" if label else fault_words(finding)


ROUTES = (
    Route("/case/{address}/child", show, methods=["GET"]),
    Route("/case/{address}/child", change, methods=["POST"]),
    Route("/case/{address}/answer", answer, methods=["POST"]),
    Route("/case/{address}/answer", measured, methods=["GET"]),
    Route("/case/{address}/case.toml", save, methods=["GET"]),
)
