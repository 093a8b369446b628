"""What a page's context declares is what its template uses, no more and no less."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from importlib import resources

import pytest
from jinja2 import nodes

from riskmodel.web import app
from riskmodel.web.assets import NAMES, assets
from riskmodel.web.pages import Drawn, Page, environment
from tests.riskmodel.web.client import client

TEMPLATES = resources.files("riskmodel.web") / "templates"
# Pieces that other templates extend or import: they have no context of their own.
SHARED = {"frame.html.jinja", "blocks.html.jinja"}


def drawn(root: type[Drawn] = Drawn) -> Iterator[type[Drawn]]:
    """Every context with a template; `app` has loaded every module that declares one."""
    assert app.ROUTES
    for held in root.__subclasses__():
        # A dataclass with slots replaces the class that it was made from, which stays listed.
        if "template" in vars(held) and is_dataclass(held) and "__slots__" in vars(held):
            yield held
        yield from drawn(held)


def used(template: str) -> set[str]:
    """Names that a template, and what it extends, takes from its context."""
    held = environment()
    source = (TEMPLATES / template).read_text(encoding="utf-8")
    tree = held.parse(source)
    parents = [node.template.value for node in tree.find_all(nodes.Extends) if isinstance(node.template, nodes.Const)]
    free = {name for name in _free(tree) if name not in held.globals}
    return free.union(*map(used, parents))


def _free(tree: nodes.Template) -> set[str]:
    """Names loaded anywhere that are set nowhere in the template."""
    names = list(tree.find_all(nodes.Name))
    loaded = {name.name for name in names if name.ctx == "load"}
    set_here = {name.name for name in names if name.ctx != "load"}
    macros = {macro.name for macro in tree.find_all(nodes.Macro)}
    imported = {held.target for held in tree.find_all(nodes.Import)}
    return loaded - set_here - macros - imported - {"loop"}


CONTEXTS = {held.template: held for held in drawn()}


def test_every_template_has_one_context() -> None:
    names = {held.name for held in TEMPLATES.iterdir() if held.name.endswith(".jinja")}
    assert names - SHARED == set(CONTEXTS)


@pytest.mark.parametrize("template", sorted(CONTEXTS))
def test_a_template_uses_what_its_context_declares(template: str) -> None:
    context = CONTEXTS[template]
    declared = {field.name for field in fields(context)}  # type: ignore[arg-type]
    assert used(template) == declared


def test_every_page_has_a_frame_with_cautions_and_says_that_data_are_invented() -> None:
    inside = client().let_in()
    at = inside.new_child({"age_years": "9"})
    for path in ("/", "/models", "/models/0", f"{at}/child", f"{at}/estimate"):
        words = inside.get(path).words
        assert "Made from invented data" in words, path
        assert "does not replace the judgement of the treating team, local protocols or licensed practice" in words
        assert "do not wait for a number" in words


def test_pages_are_those_with_a_frame() -> None:
    assert {held for held in CONTEXTS.values() if issubclass(held, Page)} >= {CONTEXTS["child.html.jinja"]}


def test_assets_are_kept_under_the_digest_of_their_content() -> None:
    inside = client()
    for name in NAMES:
        answer = inside.get(assets()[name].address)
        assert answer.status == 200
        assert "immutable" in answer.header("cache-control")
    assert inside.get("/static/0000/app.css").status == 404
