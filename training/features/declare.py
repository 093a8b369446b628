"""What is decided once, on the original cohort and without the outcome, and kept in every replay."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import STATE_WORDS, Floats
from riskmodel.dictionary.coding import codes_of
from riskmodel.dictionary.model import Kind, Variable
from riskmodel.missing import Block, Holds, Moments, balanced_normals, coordinates, words
from riskmodel.model import Recipe
from riskmodel.terms import Term
from training import moments
from training.cohort import Cohort
from training.features.build import terms
from training.outcome import at_horizon
from training.posterior import ColumnPriors
from training.priors import column_priors
from training.protocol import Predictor, Protocol

# A column that fewer children carry is learned from priors only: a number learned from one or two children could be
# turned back into their rows.
FEWEST_CARRIERS = 5
# What is completed as one of several codes, never as an amount.
CODED = (Kind.LEVEL, Kind.YES_NO, Kind.FLAGS)


@dataclass(frozen=True, slots=True)
class Declared:
    """Terms, derivations and blocks of coordinates (all in `recipe`, whose moments are those of the whole cohort).

    `priors` of the C columns; `learned` (C,): enough children of known outcome carry the column; `has_holes`: some
    child lacks something, so that moments matter for the cohort's own columns.
    """

    recipe: Recipe
    priors: ColumnPriors
    learned: NDArray[np.bool_]
    has_holes: bool

    @property
    def start(self) -> moments.Gaussian:
        """Where the moments of a replay start from."""
        return moments.Gaussian(self.recipe.moments.mean, self.recipe.moments.covariance)


def declare(cohort: Cohort, protocol: Protocol, *, fewest: int = FEWEST_CARRIERS) -> Declared:
    """Decide terms, priors, coordinates and carried columns from the original cohort.

    The outcome takes no part, but for whether it is known: a coefficient is learned from children of known outcome,
    and these are the carriers that count.

    Parameters
    ----------
    fewest
        A column (or coordinate) that fewer children carry gets no number learned from data. Anything under 5 is for
        the test that shows why.
    """
    built, block = terms(cohort, protocol)
    empty = Moments((), np.empty(0), np.empty((0, 0)), np.empty((0, 0)), np.empty((0, 0)))
    unfilled = Recipe(built, protocol.derive, cohort.dictionary, empty)
    blocks = tuple(_blocks(cohort, protocol, unfilled.sources, fewest))
    held = coordinates(cohort.cases, blocks)
    gaussian = moments.learn(held, np.ones(len(cohort)))
    filled = Moments(
        blocks, gaussian.mean, gaussian.covariance, np.empty((0, len(blocks))), balanced_normals(len(blocks))
    )
    recipe = Recipe(built, protocol.derive, cohort.dictionary, filled)
    told = cohort.take(at_horizon(cohort, protocol).known)
    carried = carriers(told, protocol, built) >= fewest
    priors = column_priors(protocol, cohort.dictionary, built, block)
    return Declared(recipe, priors, carried, bool(recipe.holes(cohort.cases).any()))


def carriers(cohort: Cohort, protocol: Protocol, built: tuple[Term, ...]) -> NDArray[np.intp]:
    """(C,) how many children differ from the commonest value of each column, among those measured for its term."""
    spoken = {predictor.variable: words(predictor.states) for predictor in protocol.predictors}
    counts: list[int] = []
    for term in built:
        held = [(cohort.cases[name], spoken.get(name, words(()))) for name in term.variables]
        known = np.all([column.present | np.isin(column.states, states) for column, states in held], axis=0)
        measured = np.round(term.columns(cohort.cases.take(known)), 9)
        counts += [len(column) - _commonest(column) for column in measured.T]
    return np.array(counts, dtype=np.intp)


def _commonest(values: Floats) -> int:
    return int(np.unique(values, return_counts=True)[1].max(initial=0))


def _blocks(cohort: Cohort, protocol: Protocol, sources: tuple[str, ...], fewest: int) -> Iterator[Block]:
    chosen = {predictor.variable: predictor for predictor in protocol.predictors}
    for name in sources:
        variable = cohort.dictionary.variables[name]
        if variable.kind in CODED:
            yield _level_block(cohort, variable, fewest)
        else:
            yield from _number_blocks(cohort, variable, chosen.get(name), fewest)


def stored_codes(variable: Variable) -> tuple[str, ...]:
    """Codes of a level, yes/no or flags in the order of the stored values; of flags each combination, as its mask.

    A mask is no amount: halfway between two of them lies none.
    """
    if variable.kind is Kind.FLAGS:
        return tuple(str(mask) for mask in range(2 ** len(variable.codes)))
    return codes_of(variable)


def _level_block(cohort: Cohort, variable: Variable, fewest: int) -> Block:
    codes = stored_codes(variable)
    held = cohort.cases[variable.name]
    counts = np.bincount(held.values[held.present].astype(np.intp), minlength=len(codes))
    rest = int(counts.argmax())
    names = tuple(code for i, code in enumerate(codes) if i != rest and counts[i] >= fewest)
    return Block(variable.name, Holds.LEVEL, names, codes[rest], codes)


def _number_blocks(cohort: Cohort, variable: Variable, predictor: Predictor | None, fewest: int) -> Iterator[Block]:
    if predictor is not None and predictor.states:
        held = cohort.cases[variable.name]
        names = tuple(w for w in predictor.states if np.count_nonzero(held.states == STATE_WORDS[w]) >= fewest)
        yield Block(variable.name, Holds.STATE, names, codes=predictor.states)
    yield Block(variable.name, Holds.NUMBER, centre=variable.centre, scale=variable.scale, bounds=variable.hard)
