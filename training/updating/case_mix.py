"""How the children of elsewhere differ from those that the model was made from, as far as its bundle tells of them.

A bundle holds no child, but the mean and covariance of what was measured. Children drawn from these stand in for the
cohort where a whole distribution is needed.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from riskmodel import cases as doors
from riskmodel.bundle import COUNT_STEP, Bundle
from riskmodel.cases.table import CaseTable, Column, Floats
from riskmodel.dictionary.model import Kind, Variable
from riskmodel.documents.words import human
from riskmodel.missing import Block, Holds, block_slices, words
from riskmodel.model import expit
from training.advice.beforehand import expected_c
from training.updating.children import Children

# A bundle tells the mean of a number to 3 decimals, and a share as a count rounded down to a multiple of 5.
SAME_MEAN, FEWEST_TO_COMPARE = 2e-3, 2


@dataclass(frozen=True, slots=True)
class MixLine:
    """One variable, or one level of it: in the development cohort, here, and how far apart.

    For a number `there` and `here` are means with `there_sd` and `here_sd`; for a level or a state they are shares in
    [0, 1], the SDs None. `difference` = (here - there) / SD there. `missing_there`, `missing_here`: shares; None where
    the bundle does not say. `here` is None where nobody has a value.
    """

    variable: str
    label: str
    level: str | None
    unit: str
    there: float
    there_sd: float | None
    here: float | None
    here_sd: float | None
    difference: float | None
    missing_there: float | None
    missing_here: float


@dataclass(frozen=True, slots=True)
class Spread:
    """The model's log-odds over a set of children: mean, SD, and the c that it would have if it were exactly right."""

    mean: float
    sd: float
    c_if_right: float


@dataclass(frozen=True, slots=True)
class CaseMix:
    """Variable by variable, the spread of the model's log-odds there and here, and shares.

    `there` rests on children drawn from the bundle's moments. `shown`: share of the children here that the model's
    gates would let have a number.
    """

    lines: tuple[MixLine, ...]
    there: Spread
    here: Spread
    shown: float


def case_mix(children: Children) -> CaseMix:
    """Compare the children with the development cohort; their outcomes take no part."""
    return CaseMix(
        lines=tuple(_lines(children)),
        there=_spread(_drawn_log_odds(children.bundle)),
        here=_spread(children.log_odds),
        shown=float(children.shown.mean()),
    )


def same_children(mix: CaseMix, children: int) -> bool:
    """Whether these are, to all appearance, the very children that the model was made from.

    Means and shares of what nobody lacks then agree as far as a bundle tells them; `children` is the rounded number
    that it tells.
    """
    complete = [line for line in mix.lines if line.missing_here == 0.0 and line.difference is not None]
    return len(complete) >= FEWEST_TO_COMPARE and all(_agrees(line, children) for line in complete)


def _agrees(line: MixLine, children: int) -> bool:
    if line.there_sd is not None:
        return abs(line.difference or 0.0) < SAME_MEAN
    return line.here is not None and abs(line.here - line.there) * children <= COUNT_STEP + 1.0


def _spread(log_odds: Floats) -> Spread:
    return Spread(float(log_odds.mean()), float(log_odds.std()), float(expected_c(expit(log_odds)[None])[0]))


def _drawn_log_odds(bundle: Bundle) -> Floats:
    """(K,) log-odds of children drawn from the moments: completions of a child of whom nothing is known."""
    recipe = bundle.model.recipe
    nobody = doors.with_missing(CaseTable(("",), {}), recipe.sources)
    return bundle.model.log_odds(recipe.drawn(nobody)[0])


def _lines(children: Children) -> Iterator[MixLine]:
    moments = children.bundle.moments
    spread = np.sqrt(np.diag(moments.covariance))
    for block, span in block_slices(moments.blocks):
        variable = children.cohort.dictionary.variables[block.variable]
        held = children.cohort.cases[block.variable]
        if block.holds is Holds.NUMBER:
            mean, sd = float(moments.mean[span][0]), float(spread[span][0])
            yield _number(children, variable, held, block.centre + block.scale * mean, block.scale * sd)
        else:
            yield from _shares(children, variable, held, block, moments.mean[span])


def _number(children: Children, variable: Variable, held: Column, mean: float, sd: float) -> MixLine:
    values = held.values[held.present]
    here = float(values.mean()) if len(values) else None
    return MixLine(
        variable=variable.name,
        label=variable.label,
        level=None,
        unit=variable.unit,
        there=mean,
        there_sd=sd,
        here=here,
        here_sd=float(values.std()) if len(values) else None,
        difference=None if here is None else (here - mean) / sd,
        missing_there=_missing_there(children, variable),
        missing_here=float(held.missing.mean()),
    )


def _shares(children: Children, variable: Variable, held: Column, block: Block, shares: Floats) -> Iterator[MixLine]:
    for name, share in zip(block.names, shares.tolist(), strict=True):
        here = _share_here(held, block, name)
        spread = np.sqrt(max(share * (1.0 - share), 1e-12))
        yield MixLine(
            variable=variable.name,
            label=variable.label,
            level=_level_label(variable, name),
            unit="",
            there=share,
            there_sd=None,
            here=here,
            here_sd=None,
            difference=None if here is None else float((here - share) / spread),
            missing_there=_missing_there(children, variable),
            missing_here=float(held.missing.mean()),
        )


def _share_here(held: Column, block: Block, name: str) -> float | None:
    if block.holds is Holds.STATE:
        spoken = held.present | np.isin(held.states, words(block.codes))
        marks = held.states == words([name])[0]
    else:
        spoken, marks = held.present, held.values == block.codes.index(name)
    return float(marks[spoken].mean()) if spoken.any() else None


def _level_label(variable: Variable, name: str) -> str:
    if variable.kind is Kind.YES_NO:
        return name
    if variable.kind is Kind.FLAGS:
        chosen = [level.label for place, level in enumerate(variable.levels) if int(name) >> place & 1]
        return " + ".join(chosen) or "none"
    return next((level.label for level in variable.levels if level.code == name), human(name))


def _missing_there(children: Children, variable: Variable) -> float | None:
    share = children.bundle.cohort.get("missing_share", {}).get(variable.name)
    return None if share is None else float(share)
