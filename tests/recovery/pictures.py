"""Two pictures of docs/recovery.md: coverage by tenth of risk, and errors beside those of a cross-validated ridge."""

from pathlib import Path
from typing import Final

import matplotlib as mpl
from matplotlib.figure import Figure

from tests.recovery.summary import mean, ratio, tables

TENTHS: Final = tuple(range(1, 11))
REACH: Final = 2.0


def draw(folder: Path) -> None:
    """Write coverage.svg and errors.svg."""
    with mpl.rc_context():
        mpl.rcParams["svg.hashsalt"] = "recovery"
        mpl.rcParams["svg.fonttype"] = "none"
        mpl.rcParams["font.size"] = 9.0
        for name, figure in (("coverage", _coverage()), ("errors", _errors())):
            figure.savefig(folder / f"{name}.svg", metadata={"Date": None})


def _coverage() -> Figure:
    figure = Figure(figsize=(7.2, 3.2), layout="constrained")
    axes = figure.subplots(1, 2, sharey=True)
    for axis, letter, words in zip(axes, "pt", ("predicted", "true"), strict=True):
        axis.axhspan(87, 93, color="0.92")
        for name, table in tables("coverage").items():
            shares = [100 * mean(table[f"{letter}{tenth}"])[0] for tenth in TENTHS]
            axis.plot(TENTHS, shares, marker=".", linewidth=1.0, label=name)
        axis.set_xlabel(f"tenth of {words} risk")
        axis.set_ylim(40, 100)
    axes[0].set_ylabel("coverage of the 90% interval, %")
    axes[0].legend(frameon=False, fontsize=7)
    return figure


def _errors() -> Figure:
    figure = Figure(figsize=(5.4, 2.6), layout="constrained")
    axis = figure.subplots()
    for place, (name, table) in enumerate(tables("coverage").items()):
        value, error = ratio(table["error"], table["error_cv"])
        axis.errorbar(value, -place, xerr=REACH * error, fmt="o", color="black", markersize=4)
        axis.text(0.62, -place, name, va="center")
    axis.axvline(1.0, color="0.6", linewidth=0.8)
    axis.set_xlim(0.6, 1.1)
    axis.set_yticks([])
    axis.set_xlabel("mean absolute error, ratio to cross-validated ridge (2 Monte-Carlo errors)")
    return figure
