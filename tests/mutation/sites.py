"""Small faults to plant in a module: where each would go, and the module with it in place.

One fault is one changed token of a computation: a comparison, an operator, a number, a branch. Messages, docstrings,
annotations and what only raises are left alone: a test that pins a message proves nothing about a number.
"""

import ast
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from typing import Final

_COMPARED: Final[dict[type[ast.cmpop], type[ast.cmpop]]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
_COMBINED: Final[dict[type[ast.operator], type[ast.operator]]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
}

Change = Callable[[ast.AST], None]


@dataclass(frozen=True, slots=True)
class Site:
    """One fault: the `place`-th node of the tree in walking order, the line, and what is done there in words."""

    place: int
    line: int
    words: str


NOTHING: Final = Site(-1, 0, "nothing")


def sites(source: str) -> tuple[Site, ...]:
    """Every fault that the module has room for, in the order of its nodes."""
    nodes = list(_walk(ast.parse(source)))
    return tuple(
        Site(place, getattr(node, "lineno", 0), words)
        for place, (node, counts) in enumerate(nodes)
        if counts
        for words, _ in _changes(node)
    )


def planted(source: str, site: Site) -> str:
    """The module with the fault in it."""
    tree = deepcopy(ast.parse(source))
    if site == NOTHING:
        return ast.unparse(tree)
    node, _ = list(_walk(tree))[site.place]
    change = next(change for words, change in _changes(node) if words == site.words)
    change(node)
    return ast.unparse(ast.fix_missing_locations(tree))


def _walk(node: ast.AST, *, counts: bool = True) -> Iterator[tuple[ast.AST, bool]]:
    """Every node below, and whether it is part of a computation."""
    for name, value in ast.iter_fields(node):
        inside = counts and not _apart(node, name)
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield child, inside
                yield from _walk(child, counts=inside)


def _apart(node: ast.AST, field: str) -> bool:
    """Types, messages and what only raises."""
    if isinstance(node, ast.Raise | ast.Assert | ast.JoinedStr | ast.Import | ast.ImportFrom):
        return True
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"cast", "TypeVar"}:
        return True
    return field in {"annotation", "returns", "type_params", "decorator_list", "bases"}


def _changes(node: ast.AST) -> Iterator[tuple[str, Change]]:
    if isinstance(node, ast.Compare) and type(node.ops[0]) in _COMPARED:
        other = _COMPARED[type(node.ops[0])]
        yield f"{_name(node.ops[0])} to {other.__name__}", _comparing(other)
    elif isinstance(node, ast.BinOp) and type(node.op) in _COMBINED:
        operator = _COMBINED[type(node.op)]
        if not (isinstance(node.left, ast.Constant) and isinstance(node.left.value, str)):
            yield f"{_name(node.op)} to {operator.__name__}", _combining(operator)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub | ast.Invert):
        yield f"{_name(node.op)} dropped", _dropping
    elif isinstance(node, ast.BoolOp):
        logic = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield f"{_name(node.op)} to {logic.__name__}", _joining(logic)
    elif isinstance(node, ast.IfExp):
        yield "branches swapped", _swapping
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
        yield f"{node.value!r} to {_other(node.value)!r}", _replacing(_other(node.value))


def _name(node: ast.AST) -> str:
    return type(node).__name__


def _other(value: float) -> float:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    return 1.0 if value == 0.0 else 2.0 * value


def _comparing(other: type[ast.cmpop]) -> Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.Compare)
        node.ops[0] = other()

    return change


def _combining(other: type[ast.operator]) -> Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.BinOp)
        node.op = other()

    return change


def _joining(other: type[ast.boolop]) -> Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.BoolOp)
        node.op = other()

    return change


def _replacing(other: float) -> Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.Constant)
        node.value = other

    return change


def _dropping(node: ast.AST) -> None:
    """+x in place of -x, ~x or (for `not x`) bool(x): one operator fewer, and still an expression."""
    assert isinstance(node, ast.UnaryOp)
    node.op = ast.UAdd() if not isinstance(node.op, ast.Not) else node.op
    if isinstance(node.op, ast.Not):
        node.operand = ast.UnaryOp(ast.Not(), node.operand)


def _swapping(node: ast.AST) -> None:
    assert isinstance(node, ast.IfExp)
    node.body, node.orelse = node.orelse, node.body
