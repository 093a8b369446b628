"""Terms: how a checked, complete case becomes the columns of the sum.

log-odds = intercept + sum over terms of columns(term) @ coefficients(term). Every basis is a frozen value that can
be written as JSON. Bases see complete cases only (nothing missing; see `riskmodel.missing`): a cell is present, or
it is in a state that a `States` term speaks for, and then the linear and spline columns of its variable are 0, as if
it stood at the centre.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from riskmodel.cases.table import STATE_WORDS, CaseTable, Column, Floats

Range = tuple[float, float]
# With two knots a restricted cubic spline is a straight line.
FEWEST_KNOTS = 3


@dataclass(frozen=True, slots=True)
class Linear:
    """One column, `(x - centre) / scale`, x clipped first; with `log2` it is `log2(x / centre) / scale`."""

    centre: float = 0.0
    scale: float = 1.0
    clip: Range | None = None
    log2: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """One unnamed column."""
        return ("",)

    def columns(self, held: Column) -> Floats:
        """(n, 1); 0 where the value is not there."""
        return np.where(held.present, _amount(self, held.values), 0.0)[:, None]


@dataclass(frozen=True, slots=True)
class Spline:
    """A restricted cubic spline: the linear column and, for each knot but two, one non-linear column.

    Non-linear column j is `(r_j(x) - offset_j - slope_j * linear(x)) / spread_j`, with r_j the truncated-power basis
    linear beyond the outer knots (Harrell, Regression Modeling Strategies, 2nd ed., 2.4.5), and offset, slope and
    spread chosen so that the column is orthogonal to the constant and to the linear column, with SD 1, in the
    reference population (`reference_population`).
    """

    knots: tuple[float, ...]
    offset: tuple[float, ...]
    slope: tuple[float, ...]
    spread: tuple[float, ...]
    centre: float = 0.0
    scale: float = 1.0
    clip: Range | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The linear column first."""
        return ("linear", *(f"bend_{j + 1}" for j in range(len(self.spread))))

    def columns(self, held: Column) -> Floats:
        """(n, knots - 1); 0 where the value is not there."""
        linear = _amount(Linear(self.centre, self.scale, self.clip), held.values)
        x = held.values if self.clip is None else np.clip(held.values, *self.clip)
        bends = truncated_powers(x, self.knots) - np.array(self.offset) - np.outer(linear, self.slope)
        both = np.column_stack([linear, bends / np.array(self.spread)])
        return np.where(held.present[:, None], both, 0.0)


@dataclass(frozen=True, slots=True)
class LevelColumn:
    """An indicator column: 1 for a case whose level is one of `members`. A group is a column with many members."""

    name: str
    members: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Levels:
    """Indicators of levels and of groups of levels; `codes` is the order in which values are stored."""

    codes: tuple[str, ...]
    indicators: tuple[LevelColumn, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Group or level of each column."""
        return tuple(indicator.name for indicator in self.indicators)

    def columns(self, held: Column) -> Floats:
        """(n, indicators)."""
        # The last row of the table is all zero: cells without a level point there.
        return _marks(self)[np.where(held.present, held.values, len(self.codes)).astype(np.intp)]


@lru_cache(maxsize=1024)
def _marks(basis: Levels) -> Floats:
    """(codes + 1, indicators) the columns of each level, and a row of zeros."""
    table = np.zeros((len(basis.codes) + 1, len(basis.indicators)))
    for j, indicator in enumerate(basis.indicators):
        table[[basis.codes.index(code) for code in indicator.members], j] = 1.0
    table.setflags(write=False)
    return table


@dataclass(frozen=True, slots=True)
class States:
    """Indicators of the words a cell may hold in place of a value, such as `not_measurable`."""

    states: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The words."""
        return self.states

    def columns(self, held: Column) -> Floats:
        """(n, states)."""
        return np.column_stack([held.states == STATE_WORDS[word] for word in self.states]).astype(np.float64)


@dataclass(frozen=True, slots=True)
class Part:
    """One factor of a product: a one-column basis on a variable; `negated` takes 1 minus it."""

    variable: str
    basis: Linear | Levels
    negated: bool = False

    def column(self, cases: CaseTable) -> Floats:
        """(n,)."""
        values = self.basis.columns(cases[self.variable])[:, 0]
        return 1.0 - values if self.negated else values


@dataclass(frozen=True, slots=True)
class Product:
    """A declared interaction: the product of its parts, one column."""

    parts: tuple[Part, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """One unnamed column."""
        return ("",)


Basis = Linear | Spline | Levels | States | Product


@dataclass(frozen=True, slots=True)
class Term:
    """One term of the sum: its name, the variables it reads, and how it turns them into columns."""

    name: str
    variables: tuple[str, ...]
    basis: Basis

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.basis.names)

    def columns(self, cases: CaseTable) -> Floats:
        """(n, width) float64 columns of complete cases."""
        if isinstance(self.basis, Product):
            product: Floats = np.prod([part.column(cases) for part in self.basis.parts], axis=0)
            return product[:, None]
        return self.basis.columns(cases[self.variables[0]])


def columns(terms: Sequence[Term], cases: CaseTable) -> Floats:
    """(n, C) columns of all terms side by side; n complete cases."""
    return np.hstack([np.empty((len(cases), 0)), *(term.columns(cases) for term in terms)])


def slices(terms: Sequence[Term]) -> Iterator[tuple[Term, slice]]:
    """Each term with the slice of the C columns that is its own."""
    start = 0
    for term in terms:
        yield term, slice(start, start + term.width)
        start += term.width


def truncated_powers(x: Floats, knots: Sequence[float]) -> Floats:
    """(n, knots - 2) restricted cubic spline columns, divided by the squared knot span so that they have x's unit."""
    t = np.asarray(knots, dtype=np.float64)
    cubes = np.maximum(x[:, None] - t, 0.0) ** 3
    last, before = t[-1], t[-2]
    rising = cubes[:, -2:-1] * (last - t[:-2]) / (last - before)
    falling = cubes[:, -1:] * (before - t[:-2]) / (last - before)
    powers: Floats = (cubes[:, :-2] - rising + falling) / (last - t[0]) ** 2
    return powers


def spline(knots: Sequence[float], population: Floats, *, centre: float, scale: float, clip: Range | None) -> Spline:
    """A spline whose non-linear columns are orthogonal to the linear one, with SD 1, in the reference population.

    Parameters
    ----------
    knots
        At least `FEWEST_KNOTS`, rising.
    population
        (m,) values of the reference population (not the cohort: columns would then change with it).
    """
    x = population if clip is None else np.clip(population, *clip)
    linear = (x - centre) / scale
    powers = truncated_powers(x, knots)
    frame = np.column_stack([np.ones_like(linear), linear])
    fitted, *_ = np.linalg.lstsq(frame, powers, rcond=None)
    spread = (powers - frame @ fitted).std(axis=0)
    return Spline(
        knots=tuple(float(knot) for knot in knots),
        offset=tuple(fitted[0].tolist()),
        slope=tuple(fitted[1].tolist()),
        spread=tuple(spread.tolist()),
        centre=centre,
        scale=scale,
        clip=clip,
    )


def _amount(basis: Linear, values: Floats) -> Floats:
    x = values if basis.clip is None else np.clip(values, *basis.clip)
    if basis.log2:
        return np.log2(x / basis.centre) / basis.scale
    return (x - basis.centre) / basis.scale
