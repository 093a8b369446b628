"""Limits of anatomy: editable numbers, each with its source and how sure it is."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from riskmodel.dictionary.entries import CONFIDENCE
from riskmodel.dictionary.fields import Fields, any_of, shown
from riskmodel.dictionary.names import suggestion
from riskmodel.errors import Finding, PlanRefused, refuse_errors
from riskmodel.plans.files import SHIPPED, opened

_LARGEST = 1000.0


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: its value and unit, what it says, where it comes from, how sure it is (H, M, L).

    `local`: it comes from the department's own file.
    """

    name: str
    value: float
    unit: str
    text: str
    source: str
    confidence: str
    local: bool = False


@dataclass(frozen=True, slots=True)
class Limits:
    """All limits by name."""

    by_name: Mapping[str, Limit]

    def __getitem__(self, name: str) -> Limit:
        return self.by_name[name]

    def value(self, name: str) -> float:
        """The number of a limit."""
        return self.by_name[name].value

    @property
    def local(self) -> tuple[Limit, ...]:
        """Limits that the department changed."""
        return tuple(limit for limit in self.by_name.values() if limit.local)


@cache
def shipped_limits() -> Limits:
    """The limits that come with the package."""
    findings: list[Finding] = []
    fields = opened(SHIPPED / "limits.toml", findings)
    held = {name: _shipped(name, table) for name, table in fields.named_tables("limit").items()}
    fields.finish()
    refuse_errors(findings, PlanRefused)
    return Limits(MappingProxyType(held))


def read_limits(path: Path | None = None) -> Limits:
    """The shipped limits, with those that a department's own file changes.

    The file holds `format = 1` and `[limit.NAME]` tables with `value`, `source` and, if wanted, `text` and
    `confidence`; what it leaves out stays as shipped.

    Raises
    ------
    PlanRefused
        With every finding: unknown names (with the nearest known one), values that are no number from 0 to 1000,
        limits without a source.
    """
    shipped = shipped_limits()
    if path is None:
        return shipped
    findings: list[Finding] = []
    fields = opened(path, findings)
    changed = [_changed(name, table, shipped) for name, table in fields.named_tables("limit").items()]
    fields.finish()
    refuse_errors(findings, PlanRefused)
    return Limits(MappingProxyType({**shipped.by_name, **{limit.name: limit for limit in changed if limit}}))


def _shipped(name: str, table: Fields) -> Limit:
    unit = table.text("unit", None)
    held = Limit(
        name, _value(table), unit, table.text("text", None), table.text("source", None), _confidence(table, None)
    )
    table.finish()
    return held


def _changed(name: str, table: Fields, shipped: Limits) -> Limit | None:
    was = shipped.by_name.get(name)
    if was is None:
        table.fault(None, f"the unknown limit {name}", suggestion(name, shipped.by_name), "unknown_limit")
        return None
    source, text = table.text("source", None), table.text("text", was.text)
    held = Limit(name, _value(table), was.unit, text, source, _confidence(table, "L"), local=True)
    table.finish()
    return held


def _value(table: Fields) -> float:
    value = table.optional_number("value")
    if value is None or not 0 <= value <= _LARGEST:
        table.fault("value", shown(table.raw("value")), f"a number from 0 to {_LARGEST:g}", "bad_value")
        return 0.0
    return value


def _confidence(table: Fields, default: str | None) -> str:
    held = table.text("confidence", default)
    if held and held not in CONFIDENCE:
        table.fault("confidence", held, any_of(CONFIDENCE), "unknown_word")
    return held
