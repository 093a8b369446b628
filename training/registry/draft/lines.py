"""A draft as lines of TOML, each with the reason to check it."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field

from training.registry.mapping.marks import CHECK

Value = str | int | bool | Sequence[str] | Sequence[int]


@dataclass(frozen=True, slots=True)
class Line:
    """`key = value`, with what there is to check about it; a line without a reason is certain."""

    key: str
    value: Value
    check: str | None = None

    def text(self) -> str:
        """The line as TOML."""
        written = f"{_key(self.key)} = {literal(self.value)}"
        return written if self.check is None else f"{written}  {CHECK}: {self.check}"


@dataclass
class ColumnDraft:
    """What the draft says about one column: remarks, lines, and the lines of its tables of words."""

    header: str
    remarks: list[str] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    codes: list[Line] = field(default_factory=list)
    empty: list[Line] = field(default_factory=list)
    assigned: list[str] = field(default_factory=list)

    def say(self, key: str, value: Value, check: str | None = None) -> None:
        """Add a line."""
        self.lines.append(Line(key, value, check))

    def assign(self, key: str, variable: str, code: str, check: str) -> None:
        """Add a line that gives a variable a code."""
        self.assigned.append(f"{key} = {{ {variable} = {literal(code)} }}  {CHECK}: {check}")

    def text(self) -> list[str]:
        """The column's tables as TOML."""
        place = f"[sheet.column.{literal(self.header)}"
        out = [f"{place}]", *(f"# {remark}" for remark in self.remarks), *(line.text() for line in self.lines)]
        out += self.assigned
        for name, lines in (("codes", self.codes), ("empty", self.empty)):
            if lines:
                out += [f"{place}.{name}]", *(line.text() for line in lines)]
        return out


def literal(value: Value) -> str:
    """A value as TOML writes it; JSON's texts, lists and numbers are TOML's."""
    return json.dumps(value if isinstance(value, str | int) else list(value), ensure_ascii=False).replace("\x7f", "")


def _key(key: str) -> str:
    bare = key.replace("_", "").replace("-", "")
    return key if bare.isascii() and bare.isalnum() else literal(key)
