"""What was not measured: its distribution given what was, learned without the outcome.

The joint distribution is Gaussian over coordinates: one for each number, and a 0/1 indicator for each level, yes/no
and state that enough children carry. A case with holes is completed draw by draw: each hole in turn gets a value
from its conditional distribution, a level or state as a whole level (probabilities are conditional means, clipped to
[0, 1] and renormalised), a number as conditional mean + SD * normal. All draws use fixed normals that travel with the
moments, so the same case gets the same answer every time; no random number is made here.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from math import erf, sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import STATE_WORDS, CaseTable, Column, Floats, State, column

MEAN_DRAWS = 16
_PHI = np.frompyfunc(lambda z: 0.5 * (1.0 + erf(z / sqrt(2.0))), 1, 1)


class Holds(Enum):
    """What a coordinate block describes."""

    LEVEL = "level"
    STATE = "state"
    NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Block:
    """Coordinates of one variable: its levels (all but the commonest), its states, or its number.

    `names` are the level codes or state words that have an indicator coordinate, those that enough children carry;
    `codes` are all levels of the variable in stored order, or all state words that the model speaks for; `rest` is
    the level when none of `names` applies. For a number `names` is empty, and the coordinate is
    `(x - centre) / scale`, drawn values staying within `bounds`.
    """

    variable: str
    holds: Holds
    names: tuple[str, ...] = ()
    rest: str = ""
    codes: tuple[str, ...] = ()
    centre: float = 0.0
    scale: float = 1.0
    bounds: tuple[float, float] | None = None

    @property
    def width(self) -> int:
        """Number of coordinates."""
        return 1 if self.holds is Holds.NUMBER else len(self.names)


@dataclass(frozen=True, slots=True)
class Moments:
    """Mean (d,) and covariance (d, d) of the coordinates, in the order of `blocks`, and the fixed normals.

    `normals` (K, blocks): draw k of the intervals uses row k. `mean_normals` (16, blocks) serve the expected
    columns; each of its columns is a permutation of the 16 mid-quantiles, so that its mean is exactly 0.
    """

    blocks: tuple[Block, ...]
    mean: Floats
    covariance: Floats
    normals: Floats
    mean_normals: Floats

    @property
    def variables(self) -> tuple[str, ...]:
        """Variables described, in order of first appearance."""
        return tuple(dict.fromkeys(block.variable for block in self.blocks))


def block_slices(blocks: Sequence[Block]) -> Iterator[tuple[Block, slice]]:
    """Each block with the slice of the d coordinates that is its own."""
    start = 0
    for block in blocks:
        yield block, slice(start, start + block.width)
        start += block.width


def balanced_normals(blocks: int) -> Floats:
    """(16, blocks) normals: in each column the 16 mid-quantiles, in an order of its own, fixed once and for all."""
    quantiles = np.array([NormalDist().inv_cdf((i + 0.5) / MEAN_DRAWS) for i in range(MEAN_DRAWS)])
    rng = np.random.Generator(np.random.PCG64(16))
    return np.column_stack([rng.permutation(quantiles) for _ in range(blocks)] or [np.empty((MEAN_DRAWS, 0))])


def coordinates(cases: CaseTable, blocks: Sequence[Block]) -> Floats:
    """(n, d) coordinates, NaN where unknown. A number that is in a declared state is unknown too."""
    parts = [_coordinates(cases[block.variable], block) for block in blocks]
    return np.hstack(parts) if parts else np.empty((len(cases), 0))


def _coordinates(held: Column, block: Block) -> Floats:
    if block.holds is Holds.NUMBER:
        amounts: Floats = ((held.values - block.centre) / block.scale)[:, None]
        return amounts
    if block.holds is Holds.LEVEL:
        wanted = np.array([block.codes.index(code) for code in block.names], dtype=np.float64)
        marks: Floats = (held.values[:, None] == wanted).astype(np.float64)
        marks[~held.present] = np.nan
        return marks
    marks = (held.states[:, None] == words(block.names)).astype(np.float64)
    marks[_lacks(block.codes)[held.states]] = np.nan
    return marks


def words(states: Sequence[str]) -> NDArray[np.int8]:
    """State words as the numbers that a column holds."""
    return np.array([STATE_WORDS[state] for state in states], dtype=np.int8)


def holes(cases: CaseTable, blocks: Sequence[Block]) -> NDArray[np.bool_]:
    """(n, blocks) which blocks a case needs filled.

    Beside a state that the model speaks for there is no number to fill. Where both are unknown both are filled, the
    state first: where one is drawn, the cell keeps it and the number is not written.
    """
    spoken = {block.variable: block.codes for block in blocks if block.holds is Holds.STATE}
    found = [_lacks(spoken.get(block.variable, ()))[cases[block.variable].states] for block in blocks]
    return np.column_stack(found) if found else np.zeros((len(cases), 0), dtype=bool)


@lru_cache(maxsize=512)
def _lacks(spoken: tuple[str, ...]) -> NDArray[np.bool_]:
    """(5,) for each state of a cell whether it tells neither a value nor one of the words that the model speaks for."""
    lacks = np.ones(len(State), dtype=bool)
    lacks[[int(State.PRESENT), *words(spoken)]] = False
    lacks.setflags(write=False)
    return lacks


def complete(cases: CaseTable, moments: Moments, normals: Floats) -> CaseTable:
    """Fill every hole J times.

    Parameters
    ----------
    cases
        n cases; variables that the moments do not describe must be complete.
    normals
        (J, blocks) standard normals, the same for every case, or (n, J, blocks), each case's own.

    Returns
    -------
    CaseTable
        n * J complete cases: all J completions of the first case, then of the second, ...
    """
    blocks = moments.blocks
    draws = normals.shape[-2]
    repeated = cases.take(np.repeat(np.arange(len(cases)), draws))
    if not blocks:
        return repeated
    known = coordinates(cases, blocks)
    missing = holes(cases, blocks)
    filled = {name: _Cells.of(repeated[name]) for name in moments.variables}
    for b, block in enumerate(blocks):
        filled[block.variable].clear(np.repeat(missing[:, b], draws))
    precision: Floats = np.linalg.inv(moments.covariance).astype(np.float64)
    for rows in _patterns(np.hstack([missing, np.isnan(known)])):
        if missing[rows[0]].any():
            block_of_rows = np.flatnonzero(missing[rows[0]])
            _fill(filled, block_of_rows, rows, known[rows], moments, precision, normals)
    return repeated.with_columns({name: cells.column() for name, cells in filled.items()})


@dataclass(frozen=True, slots=True)
class _Cells:
    """The cells of one variable while they are being filled."""

    values: Floats
    states: NDArray[np.int8]
    labels: tuple[str, ...]

    @classmethod
    def of(cls, held: Column) -> "_Cells":
        return cls(held.values.copy(), held.states.copy(), held.labels)

    def clear(self, where: NDArray[np.bool_]) -> None:
        """Forget words that the moments do not speak for, such as an undeclared `not_tested`: they are holes."""
        self.states[where] = State.MISSING

    def column(self) -> Column:
        return column(self.values, self.states, self.labels)


def _patterns(mask: NDArray[np.bool_]) -> Iterator[NDArray[np.intp]]:
    """Rows that share a pattern, group by group."""
    packed = np.packbits(mask, axis=1)
    keys = np.ascontiguousarray(packed).view(np.dtype((np.void, packed.shape[1]))).ravel()
    _, first = np.unique(keys, return_inverse=True)
    order = np.argsort(first, kind="stable")
    yield from np.split(order, np.flatnonzero(np.diff(first[order])) + 1)


def _fill(
    filled: Mapping[str, _Cells],
    wanted: NDArray[np.intp],
    rows: NDArray[np.intp],
    known: Floats,
    moments: Moments,
    precision: Floats,
    normals: Floats,
) -> None:
    """Draw the wanted blocks of rows that share a pattern, levels and states before numbers."""
    spans = list(block_slices(moments.blocks))
    order = sorted(wanted, key=lambda b: moments.blocks[b].holds is Holds.NUMBER)
    hole = np.concatenate([np.arange(spans[b][1].start, spans[b][1].stop) for b in order])
    unknown = np.flatnonzero(np.isnan(known[0]))
    hole = np.concatenate([hole, np.setdiff1d(unknown, hole)])
    draws = normals.shape[-2]
    conditional = _Conditional.of(known, hole, moments.mean, precision, draws)
    places = (rows[:, None] * draws + np.arange(draws)).ravel()
    at = 0
    for b in order:
        block = moments.blocks[b]
        number = block.holds is Holds.NUMBER
        drawn, span = _draw_number if number else _draw_mark, slice(at, at + block.width)
        drawn(conditional, span, _chances(normals[..., b], rows, number=number), block, filled[block.variable], places)
        at += block.width


@dataclass(frozen=True, slots=True)
class _Conditional:
    """The unknown coordinates given the known: mean (m, u), Cholesky factor (u, u), innovations (m, u) so far."""

    mean: Floats
    factor: Floats
    innovations: Floats

    @classmethod
    def of(cls, known: Floats, hole: NDArray[np.intp], mean: Floats, precision: Floats, draws: int) -> "_Conditional":
        rest = np.setdiff1d(np.arange(len(mean)), hole)
        covariance = np.linalg.inv(precision[np.ix_(hole, hole)])
        shift = (known[:, rest] - mean[rest]) @ (-covariance @ precision[np.ix_(hole, rest)]).T
        expected = np.repeat(mean[hole] + shift, draws, axis=0)
        return cls(expected, np.linalg.cholesky(covariance), np.zeros_like(expected))

    def expected(self, at: int) -> Floats:
        """(m,) mean of coordinate `at` given the known ones and those drawn before it."""
        drawn: Floats = self.mean[:, at] + self.innovations[:, :at] @ self.factor[at, :at]
        return drawn

    def settle(self, at: int, values: Floats) -> None:
        """Coordinate `at` has been drawn: keep its innovation for those that come after it."""
        self.innovations[:, at] = (values - self.expected(at)) / self.factor[at, at]


def _draw_number(
    given: _Conditional, span: slice, z: Floats, block: Block, cells: _Cells, places: NDArray[np.intp]
) -> None:
    at = span.start
    given.innovations[:, at] = z
    values = given.expected(at) + given.factor[at, at] * z
    amounts = block.centre + block.scale * values
    if block.bounds is not None:
        amounts = np.clip(amounts, *block.bounds)
    # Where a state was drawn just before, the cell keeps it: there is no number to fill in.
    free = cells.states[places] <= State.MISSING
    cells.values[places[free]] = amounts[free]
    cells.states[places[free]] = State.PRESENT


def _chances(normals: Floats, rows: NDArray[np.intp], *, number: bool) -> Floats:
    """(m * J,) normals for numbers, uniforms for marks, from (J,) for all cases or (n, J) of each case's own."""
    if normals.ndim == 1:
        return np.tile(normals if number else _uniform(normals.tobytes()), len(rows))
    own = normals[rows].ravel()
    return own if number else _PHI(own).astype(np.float64)


@lru_cache(maxsize=512)
def _uniform(normals: bytes) -> Floats:
    """(J,) uniforms of float64 normals; the same fixed ones come again and again."""
    held: Floats = _PHI(np.frombuffer(normals)).astype(np.float64)
    return held


def _draw_mark(
    given: _Conditional, span: slice, uniform: Floats, block: Block, cells: _Cells, places: NDArray[np.intp]
) -> None:
    """Draw which of the block's levels (or states) it is; `len(names)` means none of them."""
    chance = given.mean[:, span] + given.innovations[:, : span.start] @ given.factor[span, : span.start].T
    chance = np.clip(chance, 0.0, 1.0)
    chance /= np.maximum(chance.sum(axis=1, keepdims=True), 1.0)
    picked = (uniform[:, None] >= np.cumsum(chance, axis=1)).sum(axis=1)
    for j, at in enumerate(range(span.start, span.stop)):
        given.settle(at, (picked == j).astype(np.float64))
    if block.holds is Holds.LEVEL:
        index = np.array([block.codes.index(code) for code in (*block.names, block.rest)])
        cells.values[places] = index[picked]
        cells.states[places] = State.PRESENT
    else:
        cells.states[places] = np.append(words(block.names), np.int8(State.MISSING))[picked]
