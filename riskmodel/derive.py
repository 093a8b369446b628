"""Columns made from other columns by one of a few declared operations (`[[derive]]` in a protocol).

A value is there only if every source has one. Otherwise the result is missing if any source is; else it takes the
word of the source that says least: not_tested before not_measurable before not_applicable. A source that the table
does not have is missing. A column that already has the derived name is replaced.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.cells import in_range
from riskmodel.cases.columns import report
from riskmodel.cases.sheet import Sheet, rows_where
from riskmodel.cases.table import CaseTable, Column, Floats, State, column
from riskmodel.dictionary.coding import YES_NO_WORDS, codes_of, labels_of
from riskmodel.dictionary.document import assembled
from riskmodel.dictionary.model import Dictionary, Kind, Variable
from riskmodel.dictionary.names import NAME, NAME_ACCEPTED, suggestion
from riskmodel.errors import Finding, Severity

# Rank of each State: present, missing, not measurable, not applicable, not tested.
_SAYS_LESS = np.array([0, 4, 2, 1, 3])
_BY_RANK = np.argsort(_SAYS_LESS)
_MOST_SOURCES = 20
_Fault = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Derivation:
    """A derived variable: `name` = `operation` applied to the variables `of`, in that order.

    `level` is used by `level_difference` and `equals` only: the code that is compared with.
    """

    name: str
    operation: str
    of: tuple[str, ...]
    level: str | None = None


@dataclass(frozen=True, slots=True)
class _Operation:
    """How to compute from the sources' values (and the level's place), how many it takes, and of which kinds."""

    compute: Callable[[Sequence[Floats], int | None], Floats]
    gives: Kind
    words: str
    sources: tuple[int, int] = (2, 2)
    takes: tuple[Kind, ...] = (Kind.NUMBER, Kind.INTEGER, Kind.ORDINAL)
    level: bool = False
    one_unit: bool = True


def apply(cases: CaseTable, derivations: Iterable[Derivation], dictionary: Dictionary) -> CaseTable:
    """The cases with every derived column, made in the order given: a later one may use an earlier one.

    `dictionary` knows the sources; nothing is checked here (see `problems`).

    Raises
    ------
    KeyError
        When the dictionary has no such source, or there is no such operation.
    ValueError
        When a source has no such level.
    """
    derivations = tuple(derivations)
    return _applied(cases, derivations, {**dictionary.variables, **describe(derivations, dictionary)})


def _applied(cases: CaseTable, derivations: Iterable[Derivation], variables: Mapping[str, Variable]) -> CaseTable:
    for derivation in derivations:
        held = [cases.columns.get(name) or column(np.full(len(cases), np.nan)) for name in derivation.of]
        cases = cases.with_columns({derivation.name: _derived(derivation, held, variables)})
    return cases


def contradictions(
    cases: CaseTable,
    derivations: Iterable[Derivation],
    dictionary: Dictionary,
    sheet: str,
    numbers: Sequence[int | None],
) -> tuple[Finding, ...]:
    """Derived values that cannot be true or are doubtful, and those that the table itself tells otherwise.

    `cases` as they were read, before `apply`; `numbers` (n,) are the rows of the sheet.

    Raises
    ------
    KeyError, ValueError
        As `apply`.
    """
    derivations = tuple(derivations)
    held, described = Sheet(sheet, numbers), describe(derivations, dictionary)
    made = _applied(cases, derivations, {**dictionary.variables, **described})
    for derivation, variable in zip(derivations, described.values(), strict=True):
        values, given = made[derivation.name].values, cases.columns.get(derivation.name)
        source = f"from {', '.join(derivation.of)}"
        for row in rows_where(made[derivation.name].present):
            report(in_range(float(values[row]), variable), row, variable.name, f"{values[row]:g}, {source}", held)
        if given is not None:
            apart = ~np.isclose(given.values, values) & given.present & made[derivation.name].present
            for row in rows_where(apart):
                found = f"{_word(variable, given.values[row])}, but {_word(variable, values[row])} {source}"
                held.cell(row, variable.name, found, "the one that follows, or nothing", "derived_disagrees")
    return held.sorted()


def describe(derivations: Iterable[Derivation], dictionary: Dictionary) -> Mapping[str, Variable]:
    """The derived variables by name.

    Where the dictionary has a variable of that name its words, ranges and units are taken; else they follow from the
    sources. Either way it is first known when the last of its sources is.

    Raises
    ------
    KeyError, ValueError
        As `apply`.
    """
    known = dict(dictionary.variables)
    made: dict[str, Variable] = {}
    for derivation in derivations:
        sources = [known[name] for name in derivation.of]
        own = dictionary.variables.get(derivation.name) or _described(derivation, sources)
        moment = max((own.moment, *(source.moment for source in sources)), key=lambda held: held.order)
        known[own.name] = made[own.name] = replace(own, moment=moment)
    return MappingProxyType(made)


def extended(dictionary: Dictionary, derivations: Iterable[Derivation]) -> Dictionary:
    """The dictionary with the derived variables in it, and a digest of its own.

    Raises
    ------
    KeyError, ValueError
        As `apply`.
    """
    variables = {**dictionary.variables, **describe(derivations, dictionary)}
    parts = (variables.values(), dictionary.events.values(), dictionary.outcomes.values())
    return assembled(dictionary.name, dictionary.version, *parts)


def problems(derivations: Iterable[Derivation], dictionary: Dictionary, sheet: str = "") -> tuple[Finding, ...]:
    """Everything wrong with the derivations, each an error about `derive[n]` of the protocol `sheet`."""
    held: list[Finding] = []
    sound: list[Derivation] = []
    for number, derivation in enumerate(derivations, start=1):
        known = {**dictionary.variables, **describe(sound, dictionary)}
        faults = list(_faults(derivation, known, {other.name for other in sound}))
        held += [
            Finding(sheet, None, f"derive[{number}].{key}", found, accepted, Severity.ERROR, f"derive_{key}")
            for key, found, accepted in faults
        ]
        if not faults:
            sound.append(derivation)
    return tuple(held)


def _faults(derivation: Derivation, known: Mapping[str, Variable], made: set[str]) -> Iterator[_Fault]:
    """Key, what was found, and what is accepted, for everything wrong with one derivation."""
    if not NAME.fullmatch(derivation.name):
        yield "name", derivation.name or "nothing", NAME_ACCEPTED
    if derivation.name in made:
        yield "name", f"{derivation.name} for the second time", "each name once"
    operation = OPERATIONS.get(derivation.operation)
    if operation is None:
        yield "operation", derivation.operation or "nothing", suggestion(derivation.operation, OPERATIONS)
        return
    unknown = [name for name in derivation.of if name not in known]
    for name in unknown:
        yield "of", f"the unknown variable {name}", suggestion(name, known)
    if not unknown:
        sources = [known[name] for name in derivation.of]
        yield from _source_faults(derivation, operation, sources)
        yield from _level_faults(derivation, operation, sources)
        yield from _own_faults(operation, known.get(derivation.name))


def _source_faults(derivation: Derivation, operation: _Operation, sources: list[Variable]) -> Iterator[_Fault]:
    fewest, most = operation.sources
    if not fewest <= len(sources) <= most:
        span = f"{fewest}" if fewest == most else f"{fewest} to {most}"
        yield "of", f"{len(sources)} variables", f"{span} for {derivation.operation}"
    for source in sources:
        if source.kind not in operation.takes:
            kinds = " or ".join(kind.value for kind in operation.takes)
            yield "of", f"{source.name}, a {source.kind.value}", f"{kinds} for {derivation.operation}"
    units = {source.unit for source in sources}
    if operation.one_unit and len(units) > 1:
        yield "of", f"variables in {', '.join(sorted(unit or 'no unit' for unit in units))}", "variables in one unit"
    if operation.level and len({source.codes for source in sources}) > 1:
        yield "of", "variables with different levels", "variables with the same levels in the same order"


def _level_faults(derivation: Derivation, operation: _Operation, sources: list[Variable]) -> Iterator[_Fault]:
    level = derivation.level
    if not operation.level:
        if level is not None:
            yield "level", level, f"no level with {derivation.operation}"
        return
    if (level is None) == (len(sources) == 1):
        yield "level", level or "nothing", f"{derivation.operation} of one variable with a level, or of two without"
    elif level is not None and level not in codes_of(sources[0]):
        yield "level", f"the unknown level {level}", suggestion(level, codes_of(sources[0]))


def _own_faults(operation: _Operation, own: Variable | None) -> Iterator[_Fault]:
    """The dictionary may describe a derived variable, but not as something else."""
    if own is not None and own.kind is not operation.gives and not (own.kind.numeric and operation.gives.numeric):
        found = f"{own.name}, which the dictionary has as {own.kind.value}"
        yield "name", found, f"another name, or the kind {operation.gives.value}"


def _derived(derivation: Derivation, held: list[Column], variables: Mapping[str, Variable]) -> Column:
    ranks: NDArray[np.intp] = np.max([_SAYS_LESS[source.states] for source in held], axis=0)
    states = _BY_RANK[ranks].astype(np.int8)
    first = variables[derivation.of[0]]
    place = None if derivation.level is None else codes_of(first).index(derivation.level)
    operation = _INCLUDES if first.kind is Kind.FLAGS and place is not None else OPERATIONS[derivation.operation]
    with np.errstate(divide="ignore", invalid="ignore"):
        values = operation.compute([source.values for source in held], place)
    states[(states == State.PRESENT) & ~np.isfinite(values)] = State.NOT_MEASURABLE  # a ratio to 0
    return column(values, states)


def _described(derivation: Derivation, sources: list[Variable]) -> Variable:
    operation, first = OPERATIONS[derivation.operation], sources[0]
    second = sources[-1].label
    if derivation.level is not None:
        second = labels_of(first)[codes_of(first).index(derivation.level)]
    words = operation.words.format(a=first.label, b=second, all="; ".join(source.label for source in sources))
    keeps_scale = operation.gives is Kind.NUMBER and operation.one_unit
    keeps_centre = derivation.operation in ("min", "max", "mean")
    return Variable(
        name=derivation.name,
        label=words,
        kind=operation.gives,
        moment=first.moment,
        unit=first.unit if keeps_scale else "",
        resolution=max(source.resolution for source in sources) if operation.one_unit else 0.01,
        centre=first.centre if keeps_centre else 0.0,
        scale=first.scale if keeps_scale else 1.0,
        states=tuple(dict.fromkeys(word for source in sources for word in source.states)),
        table=first.table,
    )


def _word(variable: Variable, value: float) -> str:
    return YES_NO_WORDS[int(value)] if variable.kind is Kind.YES_NO else f"{value:g}"


def _bits(values: Floats) -> NDArray[np.int64]:
    return np.nan_to_num(values).astype(np.int64)


_ANY_NUMBER = (1, _MOST_SOURCES)
_WITH_LEVELS = (Kind.LEVEL, Kind.ORDINAL)
_INCLUDES = _Operation(  # what `equals` means for flags
    lambda of, place: (_bits(of[0]) >> (place or 0) & 1).astype(np.float64), Kind.YES_NO, "{a}: {b}"
)

OPERATIONS: Mapping[str, _Operation] = MappingProxyType(
    {
        "min": _Operation(lambda of, _: np.min(of, axis=0), Kind.NUMBER, "Least of: {all}", _ANY_NUMBER),
        "max": _Operation(lambda of, _: np.max(of, axis=0), Kind.NUMBER, "Greatest of: {all}", _ANY_NUMBER),
        "mean": _Operation(lambda of, _: np.mean(of, axis=0), Kind.NUMBER, "Mean of: {all}", _ANY_NUMBER),
        "abs_difference": _Operation(
            lambda of, _: np.abs(of[0] - of[1]), Kind.NUMBER, "Difference, either way: {a}; {b}"
        ),
        "difference": _Operation(lambda of, _: of[0] - of[1], Kind.NUMBER, "{a}, less {b}"),
        "ratio": _Operation(lambda of, _: of[0] / of[1], Kind.NUMBER, "{a}, divided by {b}", one_unit=False),
        "count": _Operation(
            lambda of, _: np.bitwise_count(_bits(of[0])).astype(np.float64),
            Kind.INTEGER,
            "Number of: {a}",
            (1, 1),
            (Kind.FLAGS,),
        ),
        "equals": _Operation(
            lambda of, place: (of[0] == place).astype(np.float64) if place is not None else (of[0] == of[1]) * 1.0,
            Kind.YES_NO,
            "{a}: {b}",
            (1, 2),
            (*_WITH_LEVELS, Kind.YES_NO, Kind.FLAGS),
            level=True,
        ),
        "level_difference": _Operation(
            lambda of, place: of[0] - (of[1] if place is None else place),
            Kind.INTEGER,
            "Levels from {b} to {a}",
            (1, 2),
            _WITH_LEVELS,
            level=True,
        ),
    }
)
