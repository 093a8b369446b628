"""Pages: one frozen context each, rendered through the template of its name.

A context declares everything that its template may use; a test holds the two against each other.
"""

from dataclasses import dataclass, fields
from functools import cache
from typing import ClassVar

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.responses import HTMLResponse

from riskmodel.web.assets import assets
from riskmodel.web.door import RequestRefused


@dataclass(frozen=True, slots=True)
class Link:
    """One entry of the navigation."""

    label: str
    address: str
    here: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """What every page has around it.

    `title` never holds a patient's value: titles end up in histories and window lists. `band` runs across the top
    when a model comes from invented data; `cautions` stand along the bottom, the first two of them open.
    """

    title: str
    links: tuple[Link, ...] = ()
    band: str | None = None
    cautions: tuple[str, ...] = ()


class Drawn:
    """Whatever has a template of its own: a page, or a part of one. A template sees the fields and nothing else."""

    __slots__ = ()

    template: ClassVar[str]


@dataclass(frozen=True, slots=True)
class Page(Drawn):
    """The root of every page's context."""

    frame: Frame


@dataclass(frozen=True, slots=True)
class RefusedPage(Page):
    """A request that did not reach a page, or a page that could not be made."""

    template: ClassVar[str] = "refused.html.jinja"

    says: str


@cache
def environment() -> Environment:
    """Our templates; whatever is put into them is escaped, unless our own drawing made it."""
    held = Environment(
        loader=PackageLoader("riskmodel.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    held.filters["svg"] = Markup
    held.filters["part"] = _part
    held.globals["assets"] = {name.replace(".", "_"): asset.address for name, asset in assets().items()}
    return held


def markup(drawn: Drawn) -> str:
    """A page or a part as HTML; only the fields of its context reach the template."""
    held = {field.name: getattr(drawn, field.name) for field in fields(drawn)}  # type: ignore[arg-type]
    return environment().get_template(drawn.template).render(held)


def _part(drawn: Drawn) -> Markup:
    return Markup(markup(drawn))  # noqa: S704 - made by a template that escapes whatever it is given


def respond(page: Page, status: int = 200) -> HTMLResponse:
    """A page as the answer to a request."""
    return HTMLResponse(markup(page), status)


def refused(held: RequestRefused) -> HTMLResponse:
    """The page of a refusal."""
    return respond(RefusedPage(Frame(held.title), held.says), held.status)
