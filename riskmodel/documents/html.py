"""Pages as HTML: one self-contained file, own style in a <style> element, no script, nothing fetched."""

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from riskmodel.documents.blocks import Page
from riskmodel.documents.words import signed


@cache
def environment() -> Environment:
    """Templates of this package; everything put into them is escaped unless our own code says that it is markup."""
    held = Environment(
        loader=PackageLoader("riskmodel.documents", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    held.filters["drawn"] = Markup
    held.filters["signed"] = signed
    held.filters["as_css"] = as_css
    return held


def as_css(text: str) -> Markup:
    r"""A text as a string of CSS, everything but letters, digits and spaces by its number.

    Source: CSS Syntax Module Level 3, 4.3.7 (an escape ends with a space).

    >>> print(as_css('a "b"'))
    "a \22 b\22 "
    """
    written = "".join(sign if sign.isalnum() or sign == " " else f"\\{ord(sign):x} " for sign in text)
    return Markup(f'"{written}"')  # noqa: S704  what could be markup is written by its number


def render(template: str, **values: object) -> str:
    """A template of this package with its values."""
    return environment().get_template(template).render(**values)


def to_html(page: Page) -> str:
    """A page of blocks as HTML."""
    return render("page.html.jinja", page=page)
