"""Which columns a protocol cannot do without, and the deed in place of a plan where the protocol allows it."""

from collections.abc import Collection, Iterator

from riskmodel.cases import CaseTable
from riskmodel.dictionary.expand import time_of
from training.protocol import Protocol


def needed(protocol: Protocol, header: Collection[str]) -> tuple[str, ...]:
    """Names of the variables that the cohort must have a column for, each once.

    Derived variables are replaced by what they are made of, a group is left out where the level that it follows from
    is needed too; a plan that the header lacks is replaced by its deed, if the protocol says that deeds stand in for
    plans and the header has it.
    """
    made = {derivation.name: derivation.of for derivation in protocol.derive}
    names = [source for name in _spoken_of(protocol) for source in _sources(name, made)]
    groups = {protocol.dictionary.variables[name].grouped_by for name in names}
    return tuple(dict.fromkeys(_as_found(name, protocol, header) for name in names if name not in groups))


def _spoken_of(protocol: Protocol) -> Iterator[str]:
    places = protocol.cohort
    yield from (name for name in (places.key, places.centre, places.year) if name is not None)
    yield from (requirement.variable for requirement in places.only)
    yield from (predictor.variable for predictor in protocol.predictors)
    yield from (factor.variable for interaction in protocol.interactions for factor in interaction.of)
    yield from protocol.report.subgroups
    yield from (name for names in protocol.gates.like_cases for name in names)
    yield from _outcome_columns(protocol)


def _outcome_columns(protocol: Protocol) -> Iterator[str]:
    rules = protocol.outcome
    if rules.column is not None:
        yield rules.column
    elif rules.name is not None:
        yield rules.name
        yield time_of(protocol.dictionary.outcomes[rules.name].seen_until)


def _sources(name: str, made: dict[str, tuple[str, ...]]) -> Iterator[str]:
    if name not in made:
        yield name
        return
    for source in made[name]:
        yield from _sources(source, made)


def _as_found(name: str, protocol: Protocol, header: Collection[str]) -> str:
    deed = protocol.dictionary.variables[name].deed
    stands_in = protocol.planned_from_operation_note and name not in header and deed is not None and deed in header
    return deed if stands_in and deed is not None else name


def as_planned(cases: CaseTable, protocol: Protocol) -> CaseTable:
    """The cases with deeds standing in for plans that the cohort does not have, if the protocol says so."""
    if not protocol.planned_from_operation_note:
        return cases
    plans = {
        name: cases[variable.deed]
        for name, variable in protocol.dictionary.variables.items()
        if variable.deed is not None and variable.deed in cases and name not in cases
    }
    return cases.with_columns(plans)
