"""The model: a sum of terms with its coefficients, the draws that say how sure it is, and how a case is read.

log-odds = intercept + columns @ coefficients; probability = 1 / (1 + exp(-log-odds)). The contribution of a term is
(its columns - their means) @ its coefficients; base + contributions = log-odds exactly, with missing values too,
since those take their expected columns.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from riskmodel import derive, missing, terms
from riskmodel.cases.table import CaseTable, Floats
from riskmodel.derive import Derivation
from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import BundleError
from riskmodel.missing import Moments
from riskmodel.terms import Term

LEVEL = 0.90


@dataclass(frozen=True, slots=True)
class Recipe:
    """How a case becomes columns: derive, complete, derive again, compute the terms' columns.

    `dictionary` knows every variable that the terms and derivations read; `moments` complete what is missing. `spans`:
    for each term the slice of the C columns that is its own.
    """

    terms: tuple[Term, ...]
    derivations: tuple[Derivation, ...]
    dictionary: Dictionary
    moments: Moments
    spans: tuple[slice, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "spans", tuple(span for _, span in terms.slices(self.terms)))

    @property
    def sources(self) -> tuple[str, ...]:
        """Variables that a case is asked for, derived ones replaced by what they are made of."""
        made = {derivation.name: derivation.of for derivation in self.derivations}
        names: dict[str, None] = {}
        for term in self.terms:
            for variable in term.variables:
                names.update(dict.fromkeys(_sources(variable, made)))
        return tuple(names)

    @property
    def width(self) -> int:
        """Number of columns, C."""
        return self.spans[-1].stop if self.spans else 0

    def holes(self, cases: CaseTable) -> NDArray[np.bool_]:
        """(n,) which cases lack something that the moments must fill in."""
        lacking: NDArray[np.bool_] = np.any(missing.holes(cases, self.moments.blocks), axis=1)
        return lacking

    def expected(self, cases: CaseTable) -> Floats:
        """(n, C) columns of the cases; those with holes take the mean over 16 fixed completions."""
        lacking = self.holes(cases)
        out = np.empty((len(cases), self.width))
        out[~lacking] = self._columns(self.derived(cases.take(~lacking)))
        if lacking.any():
            out[lacking] = self._completed(cases.take(lacking), self.moments.mean_normals).mean(axis=1)
        return out

    def drawn(self, cases: CaseTable) -> Floats:
        """(n, K, C) columns of the cases, holes filled in draw k by the moments' normals k."""
        return self._completed(cases, self.moments.normals)

    def expected_and_drawn(self, cases: CaseTable) -> tuple[Floats, Floats]:
        """`expected` and `drawn` of cases that all have holes, from one completion."""
        both = np.vstack([self.moments.mean_normals, self.moments.normals])
        columns, count = self._completed(cases, both), len(self.moments.mean_normals)
        return columns[:, :count].mean(axis=1), columns[:, count:]

    def derived(self, cases: CaseTable) -> CaseTable:
        """The cases with every variable that follows from others."""
        return derive.apply(cases, self.derivations, self.dictionary)

    def complete(self, cases: CaseTable) -> Floats:
        """(n, C) columns of derived cases without holes."""
        return self._columns(cases)

    def _completed(self, cases: CaseTable, normals: Floats) -> Floats:
        filled = missing.complete(cases, self.moments, normals)
        return self._columns(self.derived(filled)).reshape(len(cases), len(normals), self.width)

    def _columns(self, cases: CaseTable) -> Floats:
        _need_complete(cases, self.sources, self.moments)
        return terms.columns(self.terms, cases)


def _need_complete(cases: CaseTable, variables: Sequence[str], moments: Moments) -> None:
    """Every variable that the terms read is described by the moments or complete in these cases.

    Raises
    ------
    BundleError
        When a hole could not be filled.
    """
    for name in variables:
        if name not in moments.variables and not cases[name].present.all():
            raise BundleError(f"{name} is missing for some cases, and the model holds no moments to complete it from")


def _sources(variable: str, made: dict[str, tuple[str, ...]]) -> Iterator[str]:
    if variable not in made:
        yield variable
        return
    for source in made[variable]:
        yield from _sources(source, made)


@dataclass(frozen=True, slots=True)
class Stability:
    """How often, over the replays, a term raised the estimate: on a grid of its columns.

    `columns` (g, width) are distinct grid points; `positive` (g,) the share of replays with a contribution > 0.
    """

    term: str
    columns: Floats
    positive: Floats

    def positive_share(self, columns: Floats) -> Floats:
        """(n,) the share at (n, width) columns: interpolated for one column, else of the nearest grid point."""
        if not len(self.positive):
            return np.full(len(columns), np.nan)
        if self.columns.shape[1] == 1:
            order = np.argsort(self.columns[:, 0], kind="stable")
            return np.interp(columns[:, 0], self.columns[order, 0], self.positive[order])
        distance = ((columns[:, None, :] - self.columns[None, :, :]) ** 2).sum(axis=2)
        nearest: Floats = self.positive[distance.argmin(axis=1)]
        return nearest


@dataclass(frozen=True, slots=True)
class Model:
    """A recipe with learned numbers.

    `coefficients` and `column_means` (C,); `draws` (K, 1 + C): intercept and coefficients of each posterior draw;
    `cohort_rate` in (0, 1): the rate of the event by the horizon in the cohort; `signal`: whether the predictors
    told more about left-out children than the rate did.
    """

    recipe: Recipe
    intercept: float
    coefficients: Floats
    column_means: Floats
    draws: Floats
    stability: tuple[Stability, ...]
    cohort_rate: float
    signal: bool

    @property
    def base_log_odds(self) -> float:
        """Log-odds with every column at its mean; with no signal, of the cohort's rate."""
        if not self.signal:
            return float(np.log(self.cohort_rate / (1.0 - self.cohort_rate)))
        return float(self.intercept + self.column_means @ self.coefficients)

    def log_odds(self, columns: Floats) -> Floats:
        """(n,) from (n, C)."""
        if not self.signal:
            return np.full(len(columns), self.base_log_odds)
        eta: Floats = self.intercept + columns @ self.coefficients
        return eta

    def probability(self, columns: Floats) -> Floats:
        """(n,) in (0, 1) from (n, C)."""
        return expit(self.log_odds(columns))

    def contributions(self, columns: Floats) -> Floats:
        """(n, terms) log-odds from (n, C)."""
        shifted = (columns - self.column_means) * self.coefficients
        sums = [shifted[:, span].sum(axis=1, keepdims=True) for span in self.recipe.spans]
        return np.hstack([np.empty((len(columns), 0)), *sums])

    def drawn_log_odds(self, columns: Floats) -> Floats:
        """(n, K) from columns (n, C), the same in every draw, or (n, K, C), of the draw's own completion."""
        if columns.ndim == 2:
            eta: Floats = self.draws[:, 0] + columns @ self.draws[:, 1:].T
            return eta
        own: Floats = np.einsum("nkc,kc->nk", columns, self.draws[:, 1:])
        return self.draws[:, 0] + own

    def drawn_contribution(self, columns: Floats, span: slice) -> Floats:
        """(n, K) contribution of the term whose columns are `span`."""
        shifted = columns[..., span] - self.column_means[span]
        of_draw = self.draws[:, 1:][:, span]
        out: Floats = shifted @ of_draw.T if columns.ndim == 2 else np.einsum("nkc,kc->nk", shifted, of_draw)
        return out

    def interval(self, columns: Floats, *, level: float = LEVEL) -> tuple[Floats, Floats]:
        """(n,) low and (n,) high probability; with no signal widened to hold the cohort's rate.

        `columns` as in `drawn_log_odds`; `level` in (0, 1).
        """
        low, high = (expit(bound) for bound in middle(self.drawn_log_odds(columns), level))
        if not self.signal:
            low, high = np.minimum(low, self.cohort_rate), np.maximum(high, self.cohort_rate)
        return low, high


def expit(log_odds: Floats) -> Floats:
    """1 / (1 + exp(-x)), without overflow."""
    return 0.5 * (1.0 + np.tanh(0.5 * log_odds))


def middle(draws: Floats, level: float = LEVEL) -> tuple[Floats, Floats]:
    """(n,) and (n,): the order statistics of (n, K) draws that hold the middle `level` of them.

    Order statistics, not interpolated quantiles: they commute with the logistic curve, so that only two values per
    case go through it.
    """
    count = draws.shape[1]
    cut = int(count * (1.0 - level) / 2.0 + 1e-9)
    held = np.partition(draws, (cut, count - 1 - cut), axis=1)
    return held[:, cut], held[:, count - 1 - cut]
