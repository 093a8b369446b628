"""What was not measured: the shipped way beside draws that know the outcome, and beside the complete children alone.

The shipped model completes what is missing from the other predictors, without the outcome, as it will have to when a
child is scored. The analysis that uses the outcome as well says what that costs; the complete children, what leaving
out would have done.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import Bundle
from riskmodel.cases.table import CaseTable, Floats, column
from riskmodel.errors import FitRefused, OutcomeRefused
from riskmodel.measuring import what_measuring_buys
from riskmodel.missing import Block, Holds, Moments, complete, coordinates
from riskmodel.model import expit
from training import moments
from training.candidates import Fitted
from training.features import Design
from training.metrics import Ranged, delong_interval
from training.outcome import check_enough
from training.rubin import Combined, combine, combine_c
from training.validation.refit import Examined
from training.validation.standing import standing

DRAWS = 20
# Children of whom the worth of measuring is worked out for each variable, spread evenly over those who lack it.
MOST_CHILDREN = 40
OUTCOME = "the outcome at the horizon"
NOTHING_MISSING = "nothing is missing"
STREAM = 2
# From the moments of the whole cohort a bootstrap sample's are near.
EM_STEPS = 8


@dataclass(frozen=True, slots=True)
class Coefficient:
    """One column under the three ways: log-odds and standard error (posterior SD); None where a way was refused.

    `lacking`: share of the children of whom the column's variables are not known; `information`: fraction of missing
    information under the draws.
    """

    term: str
    column: str
    lacking: float
    shipped: float
    shipped_error: float
    drawn: float | None
    drawn_error: float | None
    information: float | None
    complete: float | None
    complete_error: float | None


@dataclass(frozen=True, slots=True)
class Way:
    """One way of handling what is missing: children used, c of its left-out estimates, how far risks move by it."""

    name: str
    children: int
    c: Ranged
    moved: float | None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Worth:
    """What measuring a variable would buy the children who lack it: mean width of their 90% interval, now and then."""

    variable: str
    label: str
    children: int
    width_now: float
    width_if_measured: float


@dataclass(frozen=True, slots=True)
class MissingData:
    """Children with a hole, the ways compared, the coefficients under each, and what measuring would buy."""

    with_holes: int
    ways: tuple[Way, ...]
    coefficients: tuple[Coefficient, ...]
    worth: tuple[Worth, ...]
    reason: str | None = None


def sensitivity(held: Examined, bundle: Bundle) -> MissingData:
    """Compare the three ways; empty with a reason where nothing is missing or no column is learned."""
    holes = held.declared.recipe.holes(held.cohort.cases)
    if not holes.any() or held.fitted.posterior is None or held.fitted.posterior.modes.shape[1] == 1:
        return MissingData(int(holes.sum()), (), (), (), NOTHING_MISSING)
    fits = _drawn_fits(held)
    pooled = _pooled(held, fits)
    alone = _complete_only(held, ~holes)
    shipped = Way("as shipped: completed without the outcome", len(holes), _c(held, held.fitted), 0.0)
    ways = (shipped, _drawn_way(held, fits, pooled), _complete_way(held, int((~holes).sum()), alone))
    complete_fit = alone if isinstance(alone, Fitted) else None
    return MissingData(int(holes.sum()), ways, _coefficients(held, pooled, complete_fit), _worth(held, bundle, holes))


def _c(held: Examined, fitted: Fitted) -> Ranged:
    everyone = np.ones(len(held.cohort), dtype=np.bool_)
    if fitted.left_out is None:
        return Ranged.none("no left-out estimates")
    return standing("", held.outcome, fitted.left_out, everyone).c


def _drawn_fits(held: Examined) -> list[tuple[Design, Fitted]]:
    """The model fitted to each of 20 completed cohorts, holes drawn with the outcome among the predictors.

    Proper draws: the moments of each are learned from a bootstrap sample of the children (Honaker & King, American
    Journal of Political Science 2010;54:561), and every child has its own normals.
    """
    blocks = (*held.declared.recipe.moments.blocks, Block(OUTCOME, Holds.LEVEL, ("yes",), "no", codes=("no", "yes")))
    label = np.where(held.outcome.known, held.outcome.label, np.nan)
    cases = held.cohort.cases.with_columns({OUTCOME: column(label)})
    whole = moments.learn(coordinates(cases, blocks), np.ones(len(cases)))
    rng = np.random.default_rng([held.protocol.seed, STREAM])
    return [_fit_to_a_draw(held, cases, blocks, whole, own) for own in rng.spawn(DRAWS)]


def _fit_to_a_draw(
    held: Examined,
    cases: CaseTable,
    blocks: tuple[Block, ...],
    whole: moments.Gaussian,
    rng: np.random.Generator,
) -> tuple[Design, Fitted]:
    sampled = np.bincount(rng.integers(0, len(cases), len(cases)), minlength=len(cases)).astype(np.float64)
    learned = moments.learn(coordinates(cases, blocks), sampled, start=whole, steps=EM_STEPS)
    normals = rng.standard_normal((len(cases), 1, len(blocks)))
    described = Moments(blocks, learned.mean, learned.covariance, normals[:, 0], normals[:, 0])
    filled = complete(cases, described, normals)
    columns = held.declared.recipe.expected(filled)
    design = replace(held.design, columns=columns, column_means=_means(held, columns))
    counts, own = np.ones(len(cases)), np.random.default_rng(0)
    warm = held.kind.warmed(held.fitted)
    return design, warm.fit(design, held.cohort, held.outcome, counts=counts, rng=own)


def _means(held: Examined, columns: Floats) -> Floats:
    return np.where(held.declared.learned, columns.mean(axis=0), 0.0)


def _pooled(held: Examined, fits: list[tuple[Design, Fitted]]) -> Combined:
    """Rubin's rules over base and learned coefficients."""
    found = [fit.posterior for _, fit in fits if fit.posterior is not None]
    df = float(np.count_nonzero(held.outcome.known) - int(held.declared.learned.sum()) - 1)
    means, variances = [each.mean for each in found], [each.sd**2 for each in found]
    return combine(means, variances, complete_df=max(df, 1.0))


def _drawn_way(held: Examined, fits: list[tuple[Design, Fitted]], pooled: Combined) -> Way:
    name = f"{DRAWS} draws with the outcome, pooled by Rubin's rules"
    found = [delong_interval(held.outcome.label, _left_out(fit), held.outcome.weight) for _, fit in fits]
    values = [(each.c.value, each.standard_error.value) for each in found]
    usable = [(c, error) for c, error in values if c is not None and error is not None and 0.0 < c < 1.0 and error > 0]
    if len(usable) < len(values):
        c = Ranged.none("a completed cohort gave no c-statistic strictly between 0 and 1")
    else:
        combined = combine_c([c for c, _ in usable], [error for _, error in usable])
        c = Ranged(combined.c, combined.low, combined.high)
    coefficients = held.declared.priors.mean.copy()
    coefficients[held.declared.learned] = pooled.estimate[1 : 1 + np.count_nonzero(held.declared.learned)]
    centred = held.design.columns - held.design.column_means
    risks = expit(pooled.estimate[0] + centred @ coefficients)
    moved = float(np.abs(risks - held.fitted.probability).mean())
    return Way(name, len(held.cohort), c, moved)


def _left_out(fit: Fitted) -> Floats:
    return fit.probability if fit.left_out is None else fit.left_out


def _complete_only(held: Examined, whole: NDArray[np.bool_]) -> Fitted | str:
    kept = held.cohort.take(np.flatnonzero(whole))
    try:
        check_enough(held.again(cohort=kept).outcome)
        return held.again(counts=whole.astype(np.float64)).fitted
    except (FitRefused, OutcomeRefused) as error:
        return str(error)


def _complete_way(held: Examined, children: int, alone: Fitted | str) -> Way:
    name = "complete children only"
    if isinstance(alone, str):
        return Way(name, children, Ranged.none(alone), None, alone)
    moved = float(np.abs(alone.probability - held.fitted.probability).mean())
    return Way(name, children, _c(held, alone), moved)


def _coefficients(held: Examined, pooled: Combined, alone: Fitted | None) -> tuple[Coefficient, ...]:
    shipped = held.fitted.posterior
    if shipped is None:
        return ()
    names = [(term, name) for term in held.declared.recipe.terms for name in term.basis.names]
    kept = [pair for pair, learned in zip(names, held.declared.learned, strict=True) if learned]
    after = None if alone is None else alone.posterior
    return tuple(
        Coefficient(
            term=term.name,
            column=name,
            lacking=_lacking(held, term.variables),
            shipped=float(shipped.mean[at]),
            shipped_error=float(shipped.sd[at]),
            drawn=float(pooled.estimate[at]),
            drawn_error=float(pooled.standard_error[at]),
            information=float(pooled.missing_information[at]),
            complete=None if after is None else float(after.mean[at]),
            complete_error=None if after is None else float(after.sd[at]),
        )
        for at, (term, name) in enumerate(kept, start=1)
    )


def _lacking(held: Examined, variables: tuple[str, ...]) -> float:
    gone = np.any([held.cohort.cases[name].missing for name in variables], axis=0)
    return float(np.mean(gone))


def _worth(held: Examined, bundle: Bundle, holes: NDArray[np.bool_]) -> tuple[Worth, ...]:
    """Widths of intervals now and with each variable measured, over some of the children who lack it."""
    lacking = np.flatnonzero(holes)
    some = lacking[np.linspace(0, len(lacking) - 1, min(MOST_CHILDREN, len(lacking))).astype(np.intp)]
    model = bundle.model
    gains: dict[tuple[str, str], list[tuple[float, float]]] = {}
    cases = held.cohort.cases.take(some)
    drawn = model.recipe.drawn(cases)
    low, high = model.interval(drawn)
    for i, width in enumerate(high - low):
        for told in what_measuring_buys(model, cases.take(np.array([i])), float(width)):
            gains.setdefault((told.variable, told.label), []).append((float(width), told.interval_width_if_measured))
    return tuple(
        Worth(variable, label, len(pairs), *(float(each) for each in np.mean(pairs, axis=0)))
        for (variable, label), pairs in gains.items()
    )
