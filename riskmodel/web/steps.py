"""The order in which the form asks: what the models need, then the child, then the seven steps of the conference."""

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources

from riskmodel.dictionary.model import Kind, Moment, Role, Variable
from riskmodel.web.models import Models

FIRST = "For a first answer"
LAST = "Anything else"
# Long tables (one row per screw, per corridor, per event) have no place on a form of one child.
TABLES = ("children", "sides", "anatomy", "construct")
# Texts may point at somebody; dates are not needed for an answer.
UNASKED_KINDS = (Kind.TEXT, Kind.DATE)


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that are asked together; `number` tells groups apart, `step` is that of the conference, if it is one."""

    number: int
    title: str
    names: tuple[str, ...]
    step: int | None = None


@dataclass(frozen=True, slots=True)
class _Listed:
    """A group as the file of steps lists it."""

    title: str
    names: tuple[str, ...]
    step: int | None


@cache
def _listed() -> tuple[tuple[_Listed, ...], frozenset[str]]:
    """Groups of the file, and the variables that follow from others."""
    held = tomllib.loads((resources.files("riskmodel.web") / "steps.toml").read_text(encoding="utf-8"))
    groups = (_Listed(group["title"], tuple(group["variables"]), group.get("step")) for group in held["group"])
    return tuple(groups), frozenset(held["follows"])


def groups(models: Models) -> tuple[Group, ...]:
    """Every group of the form: the needed variables first, each variable once, empty groups left out."""
    listed, follows = _listed()
    known = models.dictionary.variables
    wanted = dict.fromkeys(name for name in _askable(known.values(), models.moment) if name not in follows)
    parts = [_Listed(FIRST, models.needed, None), *listed]
    parts.append(_Listed(LAST, tuple(wanted), None))
    return tuple(_once(parts, {*wanted, *models.needed}))


def _askable(variables: Iterable[Variable], moment: Moment) -> Iterator[str]:
    for variable in variables:
        asked = variable.role is Role.PREDICTOR and variable.kind not in UNASKED_KINDS and variable.table in TABLES
        if asked and not variable.moment.later_than(moment):
            yield variable.name


def _once(parts: Iterable[_Listed], wanted: set[str]) -> Iterator[Group]:
    taken: set[str] = set()
    for part in parts:
        names = tuple(name for name in part.names if name in wanted and name not in taken)
        taken.update(names)
        if names:
            yield Group(number=len(taken) - len(names), title=part.title, names=names, step=part.step)
