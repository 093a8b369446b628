"""What was recorded of one child, as the planning rules ask for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from riskmodel.cases.casefile import check_mapping
from riskmodel.cases.table import STATE_WORDS, CaseTable, State
from riskmodel.dictionary.coding import codes_of, labels_of
from riskmodel.dictionary.model import Dictionary, Kind, Variable
from riskmodel.errors import Finding
from riskmodel.plans.corridors import Corridor
from riskmodel.plans.telling import told


@dataclass(frozen=True, slots=True)
class Child:
    """One child: a table of one row, what its variables are, and the measured corridors.

    Asking for a variable that the dictionary does not have is a fault of the program (KeyError); one that the case does
    not hold is missing.
    """

    case_id: str
    case: CaseTable
    variables: Mapping[str, Variable]
    corridors: tuple[Corridor, ...] = ()

    def state(self, name: str) -> State:
        """Whether a value is there, or why not."""
        self.variables[name]
        return State(int(self.case[name].states[0])) if name in self.case else State.MISSING

    def number(self, name: str) -> float | None:
        """The value in the variable's unit; None unless it is there."""
        return float(self.case[name].values[0]) if self.state(name) is State.PRESENT else None

    def code(self, name: str) -> str | None:
        """The code of a level, or "yes" or "no"; None unless it is there."""
        value = self.number(name)
        return None if value is None else codes_of(self.variables[name])[int(value)]

    def flags(self, name: str) -> frozenset[str] | None:
        """The codes of a flags variable that are set; None unless it is there."""
        value = self.number(name)
        if value is None:
            return None
        return frozenset(code for bit, code in enumerate(self.variables[name].codes) if int(value) >> bit & 1)

    def words(self, name: str) -> str:
        """The value as people read it, with its unit; "not known", "not tested", ... where there is none."""
        state = self.state(name)
        if state is not State.PRESENT:
            return "not known" if state is State.MISSING else _WORDS[state]
        variable, value = self.variables[name], float(self.case[name].values[0])
        if variable.kind is Kind.FLAGS:
            held = self.flags(name) or frozenset()
            return ", ".join(level.label for level in variable.levels if level.code in held) or "none"
        labels = labels_of(variable)
        return labels[int(value)] if labels else f"{told(value)} {variable.unit}".strip()


_WORDS = {state: word.replace("_", " ") for word, state in STATE_WORDS.items()}


def child_of(
    values: Mapping[str, object],
    dictionary: Dictionary,
    *,
    case_id: str,
    corridors: tuple[Corridor, ...] = (),
    sheet: str = "case",
) -> tuple[Child, tuple[Finding, ...]]:
    """A child from variable -> value, as a case file writes them, with every finding.

    A value that cannot be true or cannot be read is named and then counts as missing; the others stand.
    """
    table, findings = check_mapping(values, dictionary, case_id=case_id, sheet=sheet)
    return Child(case_id, table, dictionary.variables, corridors), findings


def corridors_beside(case: Path) -> Path | None:
    """The file of measured corridors that lies beside a case file (NAME.corridors.csv), or None."""
    path = case.with_name(f"{case.stem}.corridors.csv")
    return path if path.is_file() else None
