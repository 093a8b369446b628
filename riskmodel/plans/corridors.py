"""Measured paths for screws, one row each: the dictionary's table `corridors`."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from riskmodel import tables
from riskmodel.cases.cells import reader
from riskmodel.cases.identifiers import harmless
from riskmodel.cases.table import State
from riskmodel.dictionary.model import Dictionary, Role, Variable
from riskmodel.dictionary.names import suggestion
from riskmodel.dictionary.roles import holder
from riskmodel.errors import Finding, Severity, TableRefused
from riskmodel.plans.words import PASSED_KINDS, SIDES, Kind, Level, Side

TABLE = "corridors"
_NEEDED = ("corridor_site", "corridor_side", "corridor_level")
_KINDS = {
    "c1_lateral_mass": Kind.LATERAL_MASS_SCREW,
    "subaxial_lateral_mass": Kind.LATERAL_MASS_SCREW,
    "c1_arch": Kind.ARCH_SCREW,
    "c2_pars": Kind.PARS_SCREW,
    "c2_pedicle": Kind.PEDICLE_SCREW,
    "subaxial_pedicle": Kind.PEDICLE_SCREW,
    "thoracic_pedicle": Kind.PEDICLE_SCREW,
    "c2_lamina": Kind.LAMINA_SCREW,
    "c2_subfacetal": Kind.SUBFACETAL_SCREW,
    "c1_c2_transarticular": Kind.TRANSARTICULAR_SCREW,
    "o_c2_transarticular": Kind.OCCIPUT_TRANSARTICULAR_SCREW,
    "occipital_keel": Kind.MIDLINE_SCREW,
    "occipital_paramedian": Kind.PARAMEDIAN_SCREW,
    "condyle": Kind.CONDYLE_SCREW,
    "hook": Kind.HOOK,
    "wire_or_cable": Kind.WIRE,
}


@dataclass(frozen=True, slots=True)
class Corridor:
    """One measured path: width, height and length in mm, None where not measured.

    `no_bone`: the row says that there is none. `reduced`: whether it was measured in the reduced position.
    """

    kind: Kind
    level: Level
    side: Side
    width_mm: float | None = None
    height_mm: float | None = None
    length_mm: float | None = None
    no_bone: bool = False
    reduced: bool | None = None

    def is_for(self, kind: Kind, level: Level, side: Side) -> bool:
        """Whether this is the path of an anchor; a wire's serves a band, and both sides serve one in the midline."""
        kinds = PASSED_KINDS if self.kind is Kind.WIRE else (self.kind,)
        sides = (*SIDES, Side.MIDLINE) if side is Side.MIDLINE and self.kind is Kind.WIRE else (side,)
        return kind in kinds and level is self.level and self.side in sides


def read_corridors(
    path: Path, dictionary: Dictionary, *, case_id: str
) -> tuple[tuple[Corridor, ...], tuple[Finding, ...]]:
    """The corridors of one child from a table (CSV, xlsx), with every finding; rows of other children are passed over.

    A row that cannot be read is named and left out; the others stand.

    Raises
    ------
    TableRefused
        When the file is no table, or lacks the columns that say where a path lies.
    """
    (raw, *_) = tables.read(path)
    missing = [name for name in _NEEDED if name not in raw.header]
    if missing:
        found = f"no column {' or '.join(missing)}"
        accepted = f"the columns {', '.join(_NEEDED)}"
        raise TableRefused([Finding(raw.sheet, None, None, found, accepted, Severity.ERROR, "missing_column")])
    key = holder(dictionary, Role.KEY)
    rows = [dict(zip(raw.header, row, strict=True)) for row in raw.rows]
    own = [
        (number, row)
        for number, row in zip(raw.numbers, rows, strict=True)
        if key is None or tables.as_text(row.get(key.name, case_id)) == case_id
    ]
    return corridors_of(own, dictionary, sheet=raw.sheet, passed_over=() if key is None else (key.name,))


def corridors_of(
    rows: list[tuple[int, dict[str, tables.Cell]]],
    dictionary: Dictionary,
    *,
    sheet: str = TABLE,
    passed_over: tuple[str, ...] = (),
) -> tuple[tuple[Corridor, ...], tuple[Finding, ...]]:
    """Corridors from numbered rows of variable -> cell, with every finding."""
    known = {name: held for name, held in dictionary.variables.items() if held.table == TABLE}
    findings: list[Finding] = []
    for name in dict.fromkeys(name for _, row in rows for name in row):
        if name and name not in known and name not in passed_over:
            accepted = suggestion(name, known)
            findings.append(Finding(sheet, None, name, "an unknown column", accepted, Severity.ERROR, "unknown_column"))
    held: list[Corridor] = []
    for number, row in rows:
        corridor = _corridor(_Row(sheet, number, row, known, findings))
        if corridor is not None:
            held.append(corridor)
    return tuple(held), tuple(findings)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row being read."""

    sheet: str
    number: int
    cells: Mapping[str, tables.Cell]
    known: Mapping[str, Variable]
    findings: list[Finding]

    def fault(self, name: str | None, found: str, accepted: str, rule: str) -> None:
        self.findings.append(Finding(self.sheet, self.number, name, found, accepted, Severity.ERROR, rule))

    def read(self, name: str) -> tuple[float | None, State]:
        """Value and state of a cell; a fault is reported and counts as missing."""
        text = tables.as_text(self.cells.get(name))
        reading = reader(self.known[name])(text)
        if reading.rule is not None and not reading.doubtful:
            self.fault(name, harmless(text), reading.accepted, reading.rule)
            return None, State.MISSING
        return (reading.value, reading.state) if reading.state is State.PRESENT else (None, reading.state)

    def code(self, name: str) -> str | None:
        """The code of a level cell."""
        value, _ = self.read(name)
        return None if value is None else self.known[name].codes[int(value)]


def _corridor(row: _Row) -> Corridor | None:
    before = len(row.findings)
    site, side, level = (row.code(name) for name in _NEEDED)
    if site is None or side is None or level is None:
        if len(row.findings) == before:
            row.fault(None, "a path without site, side or level", "all three", "no_place")
        return None
    return _placed(row, _KINDS[site], Level(level), Side(side))


def _placed(row: _Row, kind: Kind, level: Level, side: Side) -> Corridor | None:
    if level not in kind.levels or side not in kind.sides:
        found = f"{kind.label} at {level.value} {side.value}"
        levels, sides = (", ".join(word.value for word in words) for words in (kind.levels, kind.sides))
        row.fault("corridor_level", found, f"level {levels}, side {sides}", "kind_place")
        return None
    width, state = row.read("corridor_mm")
    reduced, _ = row.read("corridor_reduced")
    return Corridor(
        kind=kind,
        level=level,
        side=side,
        width_mm=width,
        height_mm=row.read("corridor_height_mm")[0],
        length_mm=row.read("corridor_length_mm")[0],
        no_bone=state is State.NOT_APPLICABLE,
        reduced=None if reduced is None else bool(reduced),
    )
