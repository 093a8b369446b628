"""Plans as a plans file: what `plans_of` reads back as the same plans."""

from collections.abc import Iterator, Mapping
from typing import Any

from riskmodel.cases.saving import quoted
from riskmodel.plans.files import FORMAT


def plans_text(document: Mapping[str, Any]) -> str:
    """The text of a plans file from a document as a plans file is parsed."""
    return "\n".join(_lines(document)) + "\n"


def _lines(document: Mapping[str, Any]) -> Iterator[str]:
    yield f"format = {FORMAT}"
    for plan in document.get("plan", ()):
        yield ""
        yield "[[plan]]"
        yield from (f"{key} = {_value(value)}" for key, value in plan.items() if key != "anchor")
        for anchor in plan.get("anchor", ()):
            yield ""
            yield "[[plan.anchor]]"
            yield from (f"{key} = {_value(value)}" for key, value in anchor.items())
    decided = {key: line for key, line in document.get("decided", {}).items() if line}
    if decided:
        yield ""
        yield "[decided]"
        yield from (f"{key} = {_value(line)}" for key, line in decided.items())


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_value(part)}" for key, part in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_value, value)) + "]"
    return quoted(str(value))
