"""Pictures of the shipped model: calibration, decision, distribution, and how steady each child's estimate is."""

import numpy as np

from riskmodel.documents.blocks import Figure
from riskmodel.documents.words import fixed
from training.metrics import RiskDistribution
from training.report.validation.picture import GREY, INK, PALE, drawing, few, picture
from training.validation.curves import Calibration, Decision, Instability

SIZE = (4.6, 3.6)


def calibration(held: Calibration) -> Figure:
    """Risks given against what happened, with the band of the replays."""
    with drawing(*SIZE) as (figure, (axes,)):
        top = float(max(held.predicted.max(), held.high.max(), held.apparent.max()))
        axes.plot([0, top], [0, top], color=GREY, linestyle=":", label="exactly right")
        axes.fill_between(held.predicted, held.low, held.high, color=PALE, linewidth=0, label="90% of replays")
        axes.plot(held.predicted, held.apparent, color=GREY, linestyle="--", label="as it appears")
        axes.plot(held.predicted, held.observed, color=INK, label="corrected")
        axes.set(xlabel="risk given", ylabel="what happened", xlim=(0, top), ylim=(0, top))
        axes.legend(loc="upper left")
        told = "; ".join(
            f"given {100 * held.predicted[i]:.0f}, happened {100 * held.observed[i]:.0f} "
            f"(replays {100 * held.low[i]:.0f} to {100 * held.high[i]:.0f})"
            for i in few(len(held.predicted))
        )
        words = f"Of 100 children, corrected for having been fitted: {told}. Local quadratic regression, span 0.75."
        return picture(figure, "Risks given, and what happened", words)


def decision(held: Decision) -> Figure:
    """Net benefit over the protocol's thresholds."""
    with drawing(*SIZE) as (figure, (axes,)):
        axes.fill_between(held.thresholds, held.low, held.high, color=PALE, linewidth=0, label="90% of replays")
        axes.plot(held.thresholds, held.treat_all, color=GREY, linestyle="--", label="act on every child")
        axes.axhline(0.0, color=GREY, linestyle=":", label="act on none")
        axes.plot(held.thresholds, held.corrected, color=INK, label="act by the model, corrected")
        lowest = min(0.0, float(np.min(held.corrected)), float(np.min(held.low)))
        axes.set(xlabel="risk at which one would act", ylabel="net benefit", ylim=(lowest - 0.02, None))
        axes.legend(loc="upper right")
        told = "; ".join(
            f"at {100 * held.thresholds[i]:.0f} in 100: model {fixed(held.corrected[i], 3)}, all "
            f"{fixed(held.treat_all[i], 3)}, none 0"
            for i in few(len(held.thresholds))
        )
        words = f"Net benefit in true positives a child. {told}. The range was set beforehand; no threshold is picked."
        return picture(figure, "Would acting on it do more good than harm", words)


def distribution(held: RiskDistribution) -> Figure:
    """Risks given, children with the event upwards and those without downwards."""
    with drawing(*SIZE) as (figure, (axes,)):
        left, width = held.edges[:-1], np.diff(held.edges)
        axes.bar(left, held.events, width, align="edge", color=INK, label="with the event")
        axes.bar(left, -held.non_events, width, align="edge", color=PALE, edgecolor=GREY, label="without")
        axes.axhline(0.0, color=INK, linewidth=0.8)
        axes.set(xlabel="risk given", ylabel="children, weighted for censoring")
        axes.yaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
        axes.legend(loc="lower right")
        middle = (held.edges[:-1] + held.edges[1:]) / 2
        words = (
            f"Mean risk given to children with the event {_mean(middle, held.events)}, to those without "
            f"{_mean(middle, held.non_events)}. Outcome not known: {held.not_known.sum():.0f} children."
        )
        return picture(figure, "Risks given, by what happened", words)


def _mean(middle: np.ndarray, amount: np.ndarray) -> str:
    total = float(amount.sum())
    return "not known" if total == 0 else f"{100 * float(middle @ amount) / total:.0f} in 100"


def replayed(held: Instability) -> Figure:
    """Each child's risk, and the middle 95% of what the replays gave it."""
    with drawing(*SIZE) as (figure, (axes,)):
        order = np.argsort(held.risk, kind="stable")
        risk, low, high = held.risk[order], held.low[order], held.high[order]
        axes.vlines(risk, low, high, color=GREY, linewidth=0.4)
        top = float(high.max())
        axes.plot([0, top], [0, top], color=INK, linewidth=0.8)
        axes.set(xlabel="risk given by the model", ylabel="risk given by the replays, middle 95%", ylim=(0, top))
        wide = high - low
        words = (
            f"The middle 95% of what the replays gave a child is on average {100 * wide.mean():.0f} points wide; for "
            f"one child in ten it is wider than {100 * np.quantile(wide, 0.9):.0f} points."
        )
        return picture(figure, "How far a child's risk moves from replay to replay", words)


def moved(held: Instability) -> Figure:
    """Mean absolute change of each child's risk over the replays."""
    with drawing(*SIZE) as (figure, (axes,)):
        axes.scatter(held.risk, held.moved, s=5, color=INK, linewidths=0)
        axes.axhline(float(held.moved.mean()), color=GREY, linestyle="--", linewidth=0.8)
        axes.set(xlabel="risk given by the model", ylabel="mean absolute change over replays", ylim=(0, None))
        mean, often, most = (100 * each for each in (held.moved.mean(), np.quantile(held.moved, 0.9), held.moved.max()))
        words = (
            f"Mean absolute change of a child's risk: {mean:.1f} points on average, {often:.1f} or more for one child "
            f"in ten, at most {most:.1f}."
        )
        return picture(figure, "Mean absolute change of each child's risk", words)
