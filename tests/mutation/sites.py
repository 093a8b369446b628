"""Small faults to plant in a module: where each would go, and the module with it in place.

One fault is one changed token of a computation: a comparison, an operator, a number, a branch. Messages, docstrings,
annotations and what only raises are left alone: a test that pins a message proves nothing about a number.
"""

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

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

# Fields of the node, and what they hold with the fault in place.
Change = Mapping[str, Any]


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
    tree = ast.parse(source)
    if site == NOTHING:
        return ast.unparse(tree)
    node, _ = list(_walk(tree))[site.place]
    for field, value in dict(_changes(node))[site.words].items():
        setattr(node, field, value)
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
        yield f"{_name(node.ops[0])} to {other.__name__}", {"ops": [other(), *node.ops[1:]]}
    elif isinstance(node, ast.BinOp) and type(node.op) in _COMBINED:
        operator = _COMBINED[type(node.op)]
        if not (isinstance(node.left, ast.Constant) and isinstance(node.left.value, str)):
            yield f"{_name(node.op)} to {operator.__name__}", {"op": operator()}
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub | ast.Invert):
        # Still an expression: not not x, or +x.
        twice = {"operand": ast.UnaryOp(ast.Not(), node.operand)}
        yield f"{_name(node.op)} dropped", twice if isinstance(node.op, ast.Not) else {"op": ast.UAdd()}
    elif isinstance(node, ast.BoolOp):
        logic = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield f"{_name(node.op)} to {logic.__name__}", {"op": logic()}
    elif isinstance(node, ast.IfExp):
        yield "branches swapped", {"body": node.orelse, "orelse": node.body}
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
        yield f"{node.value!r} to {_other(node.value)!r}", {"value": _other(node.value)}


def _name(node: ast.AST) -> str:
    return type(node).__name__


def _other(value: float) -> float:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    return 1.0 if value == 0.0 else 2.0 * value
