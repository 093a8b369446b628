"""Children and rows of further tables as records of the cohort."""

from collections.abc import Iterable, Mapping

from riskmodel.dictionary.model import Role
from riskmodel.dictionary.roles import holder
from training.registry.reading.held import Held
from training.registry.tidying.children import Child, Children, known_child, take
from training.registry.tidying.notes import Place
from training.registry.tidying.rows import Entry, Row
from training.registry.tidying.tables import Record
from training.registry.tidying.times import told
from training.registry.tidying.work import Work


def child_records(
    children: Children, names: Mapping[str, str], always: Mapping[str, Mapping[str, str]], work: Work
) -> tuple[Record, ...]:
    """One record per child, under the key that it has in the cohort; `always`: by sheet, what its children all have."""
    for child in children.values():
        for variable, code in always.get(child.place.sheet, {}).items():
            child.values.setdefault(variable, Entry(Held(variable, code, "always"), _nowhere(child.place, variable)))
        _note_key(child, names[child.key], work)
    return tuple(_record(child, names[key], child, work) for key, child in children.items())


def further_records(
    rows: Iterable[Row], children: Children, names: Mapping[str, str], work: Work
) -> tuple[Record, ...]:
    """One record per row of a further table, its dates counted from the operation of its child."""
    held = []
    for row in rows:
        child = known_child(row, children, work.notes)
        if child is not None:
            own = Child(row.key, row.place)
            take(own, row.entries, work.notes)
            held.append(_record(own, names[row.key], child, work))
    return tuple(held)


def _record(own: Child, name: str, child: Child, work: Work) -> Record:
    """What `own` holds, with months counted from the operation of `child`."""
    columns = {work.known[target].variable.name: entry.place.column for target, entry in own.values.items()}
    return Record(name, told(own, child.day(work.operation), work), own.place, columns)


def _nowhere(place: Place, variable: str) -> Place:
    """The child's row, in a column that the registry does not have."""
    return Place(place.sheet, place.row, variable, "")


def _note_key(child: Child, name: str, work: Work) -> None:
    key = holder(work.dictionary, Role.KEY)
    if name != child.key and key is not None:
        work.notes.change(Place(child.place.sheet, child.place.row, key.name), name, "new key")
