"""From rows of events to what happened first to each child."""

from collections.abc import Iterable, Iterator

import numpy as np

from riskmodel.dictionary.model import Dictionary, FoundBy, OutcomeDefinition
from riskmodel.errors import Severity
from training.cohort.rows.further import Long
from training.cohort.rows.happened import Happened

KIND, MONTHS, PLANNED = "event_kind", "event_months", "event_planned"
NEEDED = (KIND, MONTHS)


def first_of(rows: Long, name: str, kinds: Iterable[str], dictionary: Dictionary, count: int) -> Happened:
    """The first event of any of the kinds, for each of `count` children; an event without a time cannot be placed."""
    codes = dictionary.variables[KIND].codes
    wanted = [codes.index(kind) for kind in kinds if kind in codes]
    months, places = np.full(count, np.nan), np.zeros(count, dtype=np.intp)
    of = np.flatnonzero(np.isin(rows[KIND].values, wanted) & rows[MONTHS].present)
    for row in of[np.argsort(-rows[MONTHS].values[of], kind="stable")].tolist():  # the earliest is written last
        child = rows.child[row]
        months[child], places[child] = rows[MONTHS].values[row], rows.sheet.numbers[row] or 0
    return Happened(name, rows.sheet.name, months, places, np.zeros(count, dtype=np.bool_))


def look_at_events(rows: Long, dictionary: Dictionary) -> None:
    """Report events without kind or time, and returns to theatre that count as unplanned but are said to be planned."""
    if KIND not in rows.columns or MONTHS not in rows.columns:
        accepted = f"columns {KIND} and {MONTHS}; without them the table is not compared with the children's"
        rows.sheet.column(None, "no kind or no time of events", accepted, "needed_column", Severity.WARNING)
        return
    for row in np.flatnonzero(~rows[KIND].present | ~rows[MONTHS].present).tolist():
        name = MONTHS if rows[KIND].present[row] else KIND
        rows.sheet.cell(row, name, "nothing", "kind and time of each event", "time_missing")
    codes, unplanned = dictionary.variables[KIND].codes, tuple(_unplanned(dictionary.outcomes.values()))
    wanted = [codes.index(kind) for kind in unplanned if kind in codes]
    for row in np.flatnonzero(np.isin(rows[KIND].values, wanted) & (rows[PLANNED].values == 1)).tolist():
        found = f"{codes[int(rows[KIND].values[row])]}, which is unplanned, with yes"
        rows.sheet.cell(row, PLANNED, found, "no, or the kind of a planned event", "planned_event")


def _unplanned(outcomes: Iterable[OutcomeDefinition]) -> Iterator[str]:
    """Events of an outcome of the theatre that never counts a planned event."""
    for outcome in outcomes:
        if outcome.found_by is FoundBy.THEATRE and outcome.never_counts:
            yield from outcome.first_of
