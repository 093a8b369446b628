"""One child: as a mapping of values, or as a case file (TOML)."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from pathlib import Path
from types import MappingProxyType
from typing import TypeGuard

from riskmodel.cases.door import check
from riskmodel.cases.header import Elsewhere
from riskmodel.cases.table import CaseTable
from riskmodel.dictionary.fields import Fields, shown
from riskmodel.dictionary.model import Dictionary, Role
from riskmodel.dictionary.roles import holder
from riskmodel.errors import CasesRefused, Finding, Severity, refuse_errors
from riskmodel.tables import Cell, RawTable

FORMAT = 1
# What a case without a key is called.
NO_KEY = "case"
_LARGEST_BYTES = 2**20
_UNKNOWN_IS_WRONG = Elsewhere(unknown=Severity.ERROR)


@dataclass(frozen=True, slots=True)
class CaseFile:
    """A case file as read: the key, and the values as written."""

    case_id: str
    values: Mapping[str, object]


def read_case_file(path: str | Path) -> CaseFile:
    """Read a case file: `format = 1`, `case_id`, and `[values]` with `name = value`.

    Raises
    ------
    CasesRefused
        When it cannot be read, or holds other keys.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            content = file.read(_LARGEST_BYTES + 1)
    except OSError as error:
        found = f"a file that cannot be opened ({error.strerror})"
        raise CasesRefused([_fault(path.name, found, "io")]) from None
    return parse_case_file(content, path.name)


def parse_case_file(content: bytes, sheet: str = "case") -> CaseFile:
    """Read the bytes of a case file; `sheet` is what findings call it.

    Raises
    ------
    CasesRefused
        When it is no TOML of at most 1 MiB, or holds other keys.
    """
    findings: list[Finding] = []
    fields = Fields(_parsed(content, sheet), sheet, "", findings)
    fields.format(FORMAT)
    case_id = fields.text("case_id", None)
    values = fields.raw("values")
    if not isinstance(values, dict):
        fields.fault("values", shown(values), "a table [values] with name = value", "missing_key")
    fields.finish()
    refuse_errors(findings, CasesRefused)
    return CaseFile(case_id, MappingProxyType(dict(values)))


def from_case_file(path: str | Path, dictionary: Dictionary) -> CaseTable:
    """The case of a file as a checked table of one row.

    Raises
    ------
    CasesRefused
        With everything that cannot be read or cannot be true; an unknown name is an error here.
    """
    held = read_case_file(path)
    return from_mapping(held.values, dictionary, case_id=held.case_id, sheet=Path(path).name)


def from_mapping(
    values: Mapping[str, object],
    dictionary: Dictionary,
    *,
    case_id: str = "",
    sheet: str = "case",
) -> CaseTable:
    """One child, given as variable -> value, as a checked table of one row.

    Numbers may be numbers or text, yes/no may be true and false, the empty words stand as text; an absent variable,
    None and an empty text are missing. What is only doubtful passes: `check_mapping` returns that too.

    Parameters
    ----------
    case_id : the key, where `values` does not hold the dictionary's key variable
    sheet : what findings call the case

    Raises
    ------
    CasesRefused
        With everything that cannot be true or cannot be read; an unknown name is an error here.
    """
    cases, findings = check_mapping(values, dictionary, case_id=case_id, sheet=sheet)
    refuse_errors(findings, CasesRefused)
    return cases


def check_mapping(
    values: Mapping[str, object],
    dictionary: Dictionary,
    *,
    case_id: str = "",
    elsewhere: Elsewhere = _UNKNOWN_IS_WRONG,
    sheet: str = "case",
) -> tuple[CaseTable, tuple[Finding, ...]]:
    """As `from_mapping`, with all findings, doubts among them, and no error raised.

    `elsewhere`: names that the dictionary does not have but that are no mistakes; else any unknown name is an error.
    """
    key = holder(dictionary, Role.KEY)
    held: dict[str, object] = dict(values)
    if key is not None:
        held.setdefault(key.name, case_id or NO_KEY)
    strange = [name for name, value in held.items() if not _is_cell(value)]
    cells = tuple(value if _is_cell(value) else None for value in held.values())
    raw = RawTable(sheet, tuple(held), (cells,), 0, (1,))
    cases, findings = check(raw, dictionary, elsewhere=elsewhere)
    if key is None:
        cases = CaseTable((case_id or NO_KEY,), cases.columns)
    told = (*(_strange(sheet, name, held[name]) for name in strange), *findings)
    return cases, tuple(replace(finding, row=None) for finding in told)


def _parsed(content: bytes, sheet: str) -> dict[str, object]:
    if len(content) > _LARGEST_BYTES:
        raise CasesRefused([_fault(sheet, "a larger file", "too_large")])
    try:
        return tomllib.loads(content.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        where = "not a UTF-8 text" if isinstance(error, UnicodeDecodeError) else str(error)
        raise CasesRefused([_fault(sheet, f"no TOML: {where}", "not_toml")]) from None


def _fault(sheet: str, found: str, rule: str) -> Finding:
    return Finding(sheet, None, None, found, "a TOML file of at most 1 MiB", Severity.ERROR, rule)


def _is_cell(value: object) -> TypeGuard[Cell]:
    return value is None or isinstance(value, str | int | float | bool | date | datetime | time)


def _strange(sheet: str, name: str, value: object) -> Finding:
    found = f"a {type(value).__name__}"
    return Finding(sheet, None, name, found, "a number, a text, true, false or a date", Severity.ERROR, "not_a_cell")
