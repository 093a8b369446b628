"""Pictures that set things beside each other: centres, beliefs before and after, what trees use."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from riskmodel.documents.blocks import Figure
from riskmodel.documents.words import fixed
from training.metrics import Ranged
from training.report.validation.cells import between
from training.report.validation.picture import GREY, INK, PALE, drawing, picture
from training.validation.beliefs import Learned
from training.validation.centres import Centres, Pooled
from training.validation.trees import Explained

MEASURES = {"c": "c", "observed_expected": "observed / expected", "slope": "slope"}
RIGHT = {"c": 0.5, "observed_expected": 1.0, "slope": 1.0}
LONGEST = 46
SHOWN = 12
DEPENDENCES = 4


def forest(held: Centres) -> Figure:
    """Each centre left out, the mean over centres, and the range for one more centre."""
    rows = [each.name for each in held.left_out]
    with drawing(7.2, 1.1 + 0.28 * len(rows), columns=3) as (figure, panels):
        for axes, name in zip(panels, MEASURES, strict=True):
            _forest(axes, name, [getattr(each, name) for each in held.left_out], held.pooled[name])
            axes.set_yticks(range(len(rows) + 1), [*rows, "mean (line: a new centre)"] if axes is panels[0] else [])
        told = "; ".join(
            f"{label} {between(pooled.value, pooled.low, pooled.high)}, in a new centre "
            f"{fixed(pooled.new_low)} to {fixed(pooled.new_high)}"
            if pooled.value is not None
            else f"{label}: {pooled.reason}"
            for name, label in MEASURES.items()
            for pooled in (held.pooled[name],)
        )
        return picture(figure, "Each centre, by a model of the others", f"Mean over centres: {told}.")


def _forest(axes: Axes, name: str, held: Sequence[Ranged], pooled: Pooled) -> None:
    for at, each in enumerate(held):
        _line(axes, at, each.low, each.high, 1.2, GREY)
        _mark(axes, at, each.value, "s")
    last = len(held)
    _line(axes, last, pooled.new_low, pooled.new_high, 0.8, GREY)
    _line(axes, last, pooled.low, pooled.high, 3.0, INK)
    _mark(axes, last, pooled.value, "D")
    axes.axvline(RIGHT[name], color=GREY, linestyle=":", linewidth=0.8)
    axes.set(xlabel=MEASURES[name], ylim=(last + 0.6, -0.6))


def _line(axes: Axes, at: int, low: float | None, high: float | None, width: float, colour: str) -> None:
    if low is not None and high is not None:
        axes.plot([low, high], [at, at], color=colour, linewidth=width)


def _mark(axes: Axes, at: int, value: float | None, marker: str) -> None:
    if value is not None:
        axes.plot([value], [at], marker, color=INK, markersize=4)


def before_and_after(held: Sequence[Learned]) -> Figure:
    """Prior and posterior of each effect that the cohort may move, mean and 90% of each."""
    shown = [each for each in held if each.carried and each.prior_sd is not None and each.term != "base"]
    with drawing(7.2, 0.9 + 0.2 * len(shown)) as (figure, (axes,)):
        for at, each in enumerate(shown):
            axes.plot(
                _reach(each.prior_mean, each.prior_sd or 0.0), [at - 0.18] * 2, color=GREY, linewidth=3, alpha=0.5
            )
            axes.plot([each.prior_mean], [at - 0.18], "|", color=GREY, markersize=6)
            axes.plot(_reach(each.posterior_mean, each.posterior_sd), [at + 0.18] * 2, color=INK)
            axes.plot([each.posterior_mean], [at + 0.18], "o", color=INK, markersize=3)
        axes.axvline(0.0, color=GREY, linestyle=":", linewidth=0.8)
        axes.set_yticks(range(len(shown)), [_short(_name(each)) for each in shown])
        axes.set(xlabel="log-odds for one step, with 90% range", ylim=(len(shown) - 0.4, -0.6))
        spoke = [_name(each) for each in shown if each.spoke]
        against = [_name(each) for each in shown if each.in_conflict]
        words = (
            f"Broad grey: before; black: after. The cohort moved {len(spoke)} of {len(shown)} effects: "
            f"{'; '.join(spoke) or 'none'}. Prior and data contradict each other in: {'; '.join(against) or 'none'}."
        )
        return picture(figure, "What was believed before, and after", words)


def _reach(mean: float, sd: float) -> list[float]:
    return [mean - 1.645 * sd, mean + 1.645 * sd]


def _name(held: Learned) -> str:
    return held.label if not held.column else f"{held.label}: {held.words}"


def _short(words: str) -> str:
    return words if len(words) <= LONGEST else words[: LONGEST - 1] + "\N{HORIZONTAL ELLIPSIS}"


def summary(held: Explained) -> Figure:
    """Contributions of the most telling columns, one point a child, darker where the value is higher."""
    shown = _telling(held)
    with drawing(7.2, 0.9 + 0.26 * max(1, len(shown))) as (figure, (axes,)):
        for at, column in enumerate(shown):
            values, added = held.values[:, column], held.contributions[:, column]
            axes.scatter(added, at + _jitter(len(added)), s=6, c=_shades(values), linewidths=0)
        axes.axvline(0.0, color=GREY, linestyle=":", linewidth=0.8)
        axes.set_yticks(range(len(shown)), [_short(held.names[column]) for column in shown])
        axes.set(xlabel="added log-odds; darker: higher value; palest: missing", ylim=(max(len(shown), 1) - 0.4, -0.6))
        told = "; ".join(f"{held.names[column]} {held.importance[column]:.2f}" for column in shown)
        words = f"Mean absolute contribution to the log-odds: {told or 'none'}."
        return picture(figure, f"What {held.name.replace('_', ' ')} use", words)


def _telling(held: Explained) -> list[int]:
    return [i for i in range(min(SHOWN, len(held.names))) if held.importance[i] > 0.0]


def _jitter(count: int) -> np.ndarray:
    return np.random.default_rng(1).uniform(-0.25, 0.25, count)


def _shades(values: np.ndarray) -> list[str]:
    """Greys by rank of the value."""
    known = ~np.isnan(values)
    ranks = np.zeros(len(values))
    if known.any():
        distinct, place = np.unique(values[known], return_inverse=True)
        ranks[known] = place / max(1, len(distinct) - 1)
    return [f"{0.7 - 0.7 * rank:.2f}" if there else PALE for rank, there in zip(ranks, known, strict=True)]


def dependences(held: Explained) -> Figure | None:
    """What the most telling numbers add, against their values; None where no column has more than two values."""
    shown = [i for i in _telling(held) if len(np.unique(held.values[~np.isnan(held.values[:, i]), i])) > 2]
    shown = shown[:DEPENDENCES]
    if not shown:
        return None
    with drawing(7.2, 2.4, columns=len(shown)) as (figure, panels):
        for axes, column in zip(panels, shown, strict=True):
            axes.scatter(held.values[:, column], held.contributions[:, column], s=5, color=INK, linewidths=0)
            axes.axhline(0.0, color=GREY, linestyle=":", linewidth=0.8)
            axes.set(xlabel=_short(held.names[column]))
        panels[0].set(ylabel="added log-odds")
        told = "; ".join(f"{held.names[i]}: {_trend(held.values[:, i], held.contributions[:, i])}" for i in shown)
        return picture(figure, f"{held.name.replace('_', ' ').capitalize()}: what a value adds", f"{told}.")


def _trend(values: np.ndarray, added: np.ndarray) -> str:
    known = ~np.isnan(values)
    low, high = (added[known][values[known] == end].mean() for end in (values[known].min(), values[known].max()))
    return f"{low:+.2f} at its lowest, {high:+.2f} at its highest value"
