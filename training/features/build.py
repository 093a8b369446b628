"""The terms that a protocol declares, each with the block that its priors share a scale with."""

from collections.abc import Iterator

import numpy as np

from riskmodel.cases.table import Column
from riskmodel.dictionary.model import Dictionary, Kind, Variable
from riskmodel.errors import FitRefused
from riskmodel.terms import FEWEST_KNOTS, LevelColumn, Levels, Linear, Part, Product, Spline, States, Term, spline
from training.cohort import Cohort
from training.features.bounds import bounds
from training.posterior import LEVEL, NUMBER
from training.protocol import Factor, Form, Interaction, Predictor, Protocol

NO_GROUP = "none"
# Harrell, Regression Modeling Strategies, 2nd ed., table 2.3: default quantiles of 4 knots.
KNOT_QUANTILES = (0.05, 0.35, 0.65, 0.95)


def terms(cohort: Cohort, protocol: Protocol) -> tuple[tuple[Term, ...], np.ndarray]:
    """All terms in the protocol's order, main effects before interactions, and the (C,) int8 blocks of the columns."""
    built = [pair for predictor in protocol.predictors for pair in _main(cohort, predictor)]
    chosen = {predictor.variable: predictor for predictor in protocol.predictors}
    built += [_interaction(cohort.dictionary, interaction, chosen) for interaction in protocol.interactions]
    blocks = [block for term, block in built for _ in range(term.width)]
    return tuple(term for term, _ in built), np.array(blocks, dtype=np.int8)


def _main(cohort: Cohort, predictor: Predictor) -> Iterator[tuple[Term, int]]:
    variable = cohort.dictionary.variables[predictor.variable]
    if predictor.form is Form.LEVELS:
        yield Term(variable.name, (variable.name,), _levels(variable, predictor, cohort.dictionary)), LEVEL
    elif predictor.form is Form.YES_NO:
        yield Term(variable.name, (variable.name,), Linear()), LEVEL
    elif predictor.form is Form.SPLINE:
        yield Term(variable.name, (variable.name,), _spline(cohort, variable, predictor)), NUMBER
    else:
        yield Term(variable.name, (variable.name,), linear(variable, predictor)), NUMBER
    if predictor.states:
        yield Term(f"{variable.name}:states", (variable.name,), States(predictor.states)), LEVEL


def linear(variable: Variable, predictor: Predictor | None) -> Linear:
    """The linear (or log2) column of a number, in the dictionary's unit unless the predictor names another."""
    if predictor is None:
        return Linear(variable.centre, variable.scale)
    centre = variable.centre if predictor.centre is None else predictor.centre
    scale = predictor.scale if predictor.scale is not None else variable.scale
    if predictor.form is Form.LOG2:
        # A doubling is the unit; the dictionary's scale is one of the plain number.
        return Linear(centre if centre > 0 else 1.0, predictor.scale or 1.0, predictor.clip, log2=True)
    return Linear(centre, scale, predictor.clip)


def _levels(variable: Variable, predictor: Predictor, dictionary: Dictionary) -> Levels:
    reference = predictor.reference or variable.codes[0]
    if predictor.pooled_in is None:
        plain = [LevelColumn(code, (code,)) for code in variable.codes if code != reference]
        return Levels(variable.codes, tuple(plain))
    groups = dictionary.variables[predictor.pooled_in].codes
    members = {group: tuple(level.code for level in variable.levels if level.group == group) for group in groups}
    pooled = [LevelColumn(group, held) for group, held in members.items() if group != NO_GROUP and held]
    # A group of one level is that level: a deviation of its own would be the same column twice.
    alone = {held[0] for held in members.values() if len(held) == 1}
    own = [LevelColumn(code, (code,)) for code in variable.codes if code not in alone | {reference}]
    return Levels(variable.codes, tuple(pooled + own))


def _spline(cohort: Cohort, variable: Variable, predictor: Predictor) -> Spline:
    knots = predictor.knots or _own_knots(cohort, variable)
    low, high = predictor.clip or variable.soft or variable.hard or _steps(variable)
    basis = linear(variable, predictor)
    return spline(
        knots,
        # Where the population ended before a knot, the column that bends there would have no spread in it.
        np.linspace(min(low, knots[0]), max(high, knots[-1]), 201),
        centre=basis.centre,
        scale=basis.scale,
        clip=predictor.clip,
    )


def _steps(variable: Variable) -> tuple[float, float]:
    """Lowest and highest value of an ordinal; a unit either side of the centre for a number without any range."""
    if variable.codes:
        return 0.0, len(variable.codes) - 1.0
    return variable.centre - variable.scale, variable.centre + variable.scale


def _own_knots(cohort: Cohort, variable: Variable) -> tuple[float, ...]:
    knots = quantile_knots(cohort.cases[variable.name], variable.resolution)
    if len(knots) < FEWEST_KNOTS:
        raise FitRefused(
            f"the spline of {variable.name} must stand on at least {FEWEST_KNOTS} distinct knots, but this cohort's "
            f'quantiles give {len(knots)}: declare its knots in the protocol, or form = "linear"'
        )
    return knots


def quantile_knots(held: Column, resolution: float) -> tuple[float, ...]:
    """Knots at quantiles of the cohort, rounded, the outer ones no further out than five children reach.

    None at all when fewer than five children have a value; fewer than four where quantiles fall together.
    """
    reach = bounds(held, resolution)
    if reach is None:
        return ()
    quantiles = np.quantile(held.values[held.present], KNOT_QUANTILES)
    rounded = np.clip(np.round(quantiles / resolution) * resolution, *reach)
    return tuple(np.unique(np.round(rounded, 9)).tolist())


def _interaction(dictionary: Dictionary, interaction: Interaction, chosen: dict[str, Predictor]) -> tuple[Term, int]:
    parts = tuple(_part(dictionary.variables[factor.variable], factor, chosen) for factor in interaction.of)
    name = " x ".join(factor_name(factor) for factor in interaction.of)
    variables = tuple(dict.fromkeys(factor.variable for factor in interaction.of))
    numbers = any(isinstance(part.basis, Linear) and dictionary.variables[part.variable].kind.numeric for part in parts)
    return Term(name, variables, Product(parts)), NUMBER if numbers else LEVEL


def factor_name(factor: Factor) -> str:
    """The factor as a protocol writes it."""
    word = factor.variable if factor.level is None else f"{factor.variable}={factor.level}"
    return f"not {word}" if factor.negated else word


def _part(variable: Variable, factor: Factor, chosen: dict[str, Predictor]) -> Part:
    if factor.level is not None:
        basis: Linear | Levels = Levels(variable.codes, (LevelColumn(factor.level, (factor.level,)),))
    elif variable.kind is Kind.YES_NO:
        basis = Linear()
    else:
        basis = linear(variable, chosen.get(variable.name))
    return Part(variable.name, basis, factor.negated)
