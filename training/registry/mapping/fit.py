"""Where a map and the registry at hand do not fit: sheets and columns that only one of them has."""

from collections.abc import Iterable

from riskmodel.dictionary.names import nearest
from riskmodel.errors import Finding, Severity
from training.registry.cells import plain
from training.registry.mapping.model import RegistryMap, SheetRule
from training.registry.sheets import Registry, Sheet, headers

_FEW = 0.5
_LISTED = 5
_COPIES = ("copy", "old", "new", "final", "of")


def check_fit(held: RegistryMap, registry: Registry) -> tuple[Finding, ...]:
    """Sheets and columns that only one of the two has, and sheets that look alike.

    A map of which fewer than half the columns are there was made for another file: that is one finding.
    """
    named = {(rule.name, column.header) for rule in held.sheets for column in rule.columns}
    there = {(rule.name, name) for rule in held.sheets for name in _headers(rule, registry)}
    if named and len(named & there) < _FEW * len(named):
        found = f"{len(named & there)} of the map's {len(named)} columns in this file"
        accepted = f"the map that was made for this file, with {_listed('its sheets', registry.sheets)}"
        return (_fault(held.name, None, found, accepted, "other_file"),)
    findings = [finding for rule in held.sheets for finding in _sheet(rule, held, registry)]
    return (*findings, *_forgotten(held, registry))


def data_rows(sheet: Sheet, rule: SheetRule) -> range:
    """Numbers of the rows under the header that may hold data."""
    return range(max(rule.header_rows) + 1, min(len(sheet.rows), rule.last_row or len(sheet.rows)) + 1)


def _headers(rule: SheetRule, registry: Registry) -> tuple[str, ...]:
    sheet = registry.sheets.get(rule.name)
    return () if sheet is None else headers(sheet, rule.header_rows)


def _sheet(rule: SheetRule, held: RegistryMap, registry: Registry) -> list[Finding]:
    """What is wrong with one sheet of the map."""
    sheet = registry.sheets.get(rule.name)
    if sheet is None:
        found = f"no sheet {rule.name} in the registry"
        return [_fault(held.name, None, found, _listed("one of its sheets", registry.sheets), "absent_sheet")]
    if rule.becomes is None:
        return []
    if sheet.empty:
        return [_fault(sheet.name, None, "an empty sheet", "leave_out = true in the map", "empty_sheet")]
    if not data_rows(sheet, rule):
        return [_fault(sheet.name, None, "no row under the header", "rows of data", "no_rows")]
    return [*_absent(rule, sheet, held), *_unmapped(rule, sheet)]


def _absent(rule: SheetRule, sheet: Sheet, held: RegistryMap) -> list[Finding]:
    there = headers(sheet, rule.header_rows)
    wanted = [column.header for column in rule.columns]
    wanted += [*rule.fill_merged, *([rule.later.column] if rule.later and rule.later.column else [])]
    return [
        _fault(
            held.name, f"{rule.name}, column {name}", "no such column in the registry", _close(name, there), "absent"
        )
        for name in dict.fromkeys(wanted)
        if name not in there
    ]


def _unmapped(rule: SheetRule, sheet: Sheet) -> list[Finding]:
    """Columns of the registry that the map passes over; those without a name and without a value do not count."""
    named = {column.header for column in rule.columns} | {rule.later.column if rule.later else None}
    accepted = 'a table for it in the map: to = "...", or not_carried = "..."'
    return [
        _fault(sheet.name, name, "a column of which the map says nothing", accepted, "unmapped_column")
        for place, name in enumerate(headers(sheet, rule.header_rows), start=1)
        if name not in named and (not name.startswith("(column") or _filled(sheet, rule, place))
    ]


def _filled(sheet: Sheet, rule: SheetRule, place: int) -> bool:
    return any(sheet.cell(row, place) is not None for row in data_rows(sheet, rule))


def _forgotten(held: RegistryMap, registry: Registry) -> list[Finding]:
    """Sheets of the registry that the map does not name; it is said when one looks like a sheet that it does name."""
    named = [rule.name for rule in held.sheets]
    accepted = 'a [[sheet]] for it in the map: becomes = "...", or leave_out = true'
    findings = []
    for name, sheet in registry.sheets.items():
        if name in named or sheet.empty:
            continue
        twin = next((other for other in named if alike(name, other)), None)
        found = f"a sheet that looks like another copy of {twin}" if twin else "a sheet of which the map says nothing"
        findings.append(_fault(name, None, found, accepted, "two_alike" if twin else "unmapped_sheet"))
    return findings


def alike(first: str, second: str) -> bool:
    """Whether two sheets have the same name but for case, blanks, signs, and a number or "copy" at the end.

    >>> alike("Registry", "registry (2)"), alike("Registry 2019", "Registry 2020")
    (True, False)
    """
    return _stem(first) == _stem(second)


def _stem(name: str) -> str:
    words = plain(name).replace("(", " ").replace(")", " ").replace("_", " ").replace("-", " ").split()
    while len(words) > 1 and (words[-1] in _COPIES or (words[-1].isdigit() and len(words[-1]) < 3)):
        words.pop()
    return " ".join(word for word in words if word not in _COPIES)


def _close(name: str, there: Iterable[str]) -> str:
    close = nearest(name, there)
    return f"{close} (the nearest name), or the map without this column" if close else "the map without this column"


def _listed(what: str, names: Iterable[str]) -> str:
    held = list(names)
    return f"{what}: {', '.join(held[:_LISTED])}{', ...' if len(held) > _LISTED else ''}"


def _fault(sheet: str, column: str | None, found: str, accepted: str, rule: str) -> Finding:
    return Finding(sheet, None, column, found, accepted, Severity.ERROR, rule)
