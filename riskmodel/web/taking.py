"""How a child comes in other than field by field: a case file, or a row pasted from the registry."""

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from riskmodel import cases as doors
from riskmodel.dictionary.model import Dictionary, Role
from riskmodel.dictionary.names import points_at_person
from riskmodel.dictionary.roles import holder
from riskmodel.errors import CasesRefused, Finding, Severity
from riskmodel.tables import as_text
from riskmodel.web.assess import Typed

_DELIMITERS = ("\t", ";", ",")
_LINE_ACCEPTED = "two lines copied from the registry: the line of column names, and one child's row"


@dataclass(frozen=True, slots=True)
class Taken:
    """What came in: the key, texts by variable, and what to tell about it."""

    case_id: str
    values: Typed
    notices: tuple[str, ...] = ()


def from_file(content: bytes, dictionary: Dictionary) -> Taken:
    """A case file.

    Raises
    ------
    CasesRefused
        When it is no case file, or a value is a list or a table.
    """
    held = doors.parse_case_file(content, "the file")
    _, findings = doors.check_mapping(held.values, dictionary)
    strange = [finding for finding in findings if finding.rule == "not_a_cell"]
    if strange:
        raise CasesRefused(strange)
    values = {name: as_text(value) for name, value in held.values.items()}  # type: ignore[arg-type]
    key = holder(dictionary, Role.KEY)
    own = values.pop(key.name, "") if key else ""
    return Taken(held.case_id or own, values)


def from_row(pasted: str, dictionary: Dictionary, asked: frozenset[str]) -> Taken:
    """Two pasted lines: names and values. Columns in `asked` are taken; the others are named and left out.

    Raises
    ------
    CasesRefused
        When there are not just two lines of as many cells, or a name stands there twice.
    """
    names, cells = _two_lines(pasted)
    typed = {name: cell for name, cell in zip(names, cells, strict=True) if name and cell}
    key = holder(dictionary, Role.KEY)
    case_id = typed.pop(key.name, "") if key else ""
    values = {name: cell for name, cell in typed.items() if name in asked}
    return Taken(case_id, values, tuple(_left_out(typed, values)))


def _two_lines(pasted: str) -> tuple[list[str], list[str]]:
    lines = [line for line in pasted.splitlines() if line.strip()]
    if len(lines) != 2:
        raise _refused(f"{len(lines)} lines")
    delimiter = max(_DELIMITERS, key=lines[0].count)
    names, cells = (
        [cell.strip() for cell in row] for row in csv.reader(io.StringIO("\n".join(lines)), delimiter=delimiter)
    )
    if len(names) != len(cells):
        raise _refused(f"{len(names)} names and {len(cells)} values")
    named = [name for name in names if name]
    if len(set(named)) < len(named):
        raise _refused("a name that stands there twice")
    return names, cells


def _refused(found: str) -> CasesRefused:
    return CasesRefused([Finding("the pasted row", None, None, found, _LINE_ACCEPTED, Severity.ERROR, "pasted")])


def _left_out(typed: Mapping[str, str], taken: Mapping[str, str]) -> Iterator[str]:
    left = [name for name in typed if name not in taken]
    person = [name for name in left if points_at_person(name)]
    if person:
        yield f"Not read, since by their names they point at a person: {', '.join(person)}. Copy without them."
    others = [name for name in left if name not in person]
    if others:
        yield f"Left out, since no field asks for them or they are known only later: {', '.join(others)}."
