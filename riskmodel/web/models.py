"""The models that the app was started with, and the one dictionary that its form is drawn from."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from riskmodel import dictionary as dictionaries
from riskmodel import scoring
from riskmodel.bundle import Bundle
from riskmodel.dictionary.model import Dictionary, Moment, Role, Variable
from riskmodel.documents.cautions import DEMONSTRATION, GENERAL
from riskmodel.errors import BundleError, DictionaryRefused
from riskmodel.scoring import Scorer


@dataclass(frozen=True, slots=True)
class Models:
    """Scorers in the order given, and a dictionary that knows every variable of each of them.

    `needed`: the variables that the first answer asks for, in the dictionary's order.
    """

    scorers: tuple[Scorer, ...]
    dictionary: Dictionary
    needed: tuple[str, ...]

    @property
    def demonstration(self) -> bool:
        """Whether any of the models comes from invented data."""
        return any(scorer.bundle.demonstration for scorer in self.scorers)

    @property
    def band(self) -> str | None:
        """What runs across the top of every page."""
        return DEMONSTRATION if self.demonstration else None

    @property
    def cautions(self) -> tuple[str, ...]:
        """What stands along the bottom of every page."""
        held = (caution for scorer in self.scorers for caution in scorer.bundle.cautions)
        return tuple(dict.fromkeys((*GENERAL, *held)))

    @property
    def moment(self) -> Moment:
        """The latest moment that any of the models is asked at."""
        return max((scorer.bundle.gates.moment for scorer in self.scorers), key=lambda moment: moment.order)


def load(paths: Sequence[Path]) -> Models:
    """Read bundles that are to be asked side by side.

    Raises
    ------
    BundleError
        When one is no unaltered bundle, when one is given twice, or when two hold different variables under one name.
    """
    return together(scoring.load(path) for path in paths)


def together(scorers: Iterable[Scorer]) -> Models:
    """Scorers as the models of one app.

    Raises
    ------
    BundleError
        When one is given twice, or two hold different variables under one name.
    """
    held = tuple(scorers)
    digests = [scorer.bundle.digest for scorer in held]
    for scorer in held:
        if digests.count(scorer.bundle.digest) > 1:
            raise BundleError(f"the models must differ from each other; {scorer.bundle.id} was given twice")
    dictionary = _joined([scorer.bundle for scorer in held])
    return Models(held, dictionary, _needed(held, dictionary))


def _joined(bundles: Sequence[Bundle]) -> Dictionary:
    """The shipped dictionary that the bundles name, if they agree with it, else no more than their own variables."""
    own: dict[str, Variable] = {}
    for bundle in bundles:
        for name, variable in bundle.dictionary.variables.items():
            first = own.setdefault(name, variable)
            if _meaning(first) != _meaning(variable):
                raise BundleError(f"two models mean different things by {name}: they cannot share one form")
    base = _shipped(bundles[0].dictionary)
    if base is None or any(_meaning(base.variables.get(name)) != _meaning(own[name]) for name in own):
        return replace(bundles[0].dictionary, variables=MappingProxyType(own))
    return base


def _meaning(variable: Variable | None) -> tuple[object, ...]:
    """What decides how a cell is read."""
    if variable is None:
        return ()
    return variable.kind, variable.unit, variable.codes, variable.states, variable.hard, variable.grouped_by


def _shipped(dictionary: Dictionary) -> Dictionary | None:
    try:
        return dictionaries.read(dictionary.name)
    except DictionaryRefused:
        return None


def _needed(scorers: Sequence[Scorer], dictionary: Dictionary) -> tuple[str, ...]:
    """What the terms read and what eligibility and like cases ask, less whatever follows from something else."""
    asked: set[str] = set()
    for scorer in scorers:
        bundle = scorer.bundle
        derived = {derivation.name for derivation in bundle.derive}
        named = [*(held.variable for held in bundle.gates.only), *(name for held in bundle.support for name in held.of)]
        asked |= {*scorer.model.recipe.sources, *(name for name in named if name not in derived)}
    groups = {dictionary.variables[name].grouped_by for name in asked}
    return tuple(
        name
        for name, variable in dictionary.variables.items()
        if name in asked and name not in groups and variable.role is Role.PREDICTOR
    )
