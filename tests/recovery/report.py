"""The tables of docs/recovery.md, made from the rows in docs/recovery: `python -m tests.recovery.report`.

Each table stands between `<!-- NAME -->` and `<!-- end -->`; everything else of the page is written by hand.
"""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import numpy as np

from tests.recovery.summary import Table, mean, ratio, share, tables

PAGE: Final = Path(__file__).parents[2] / "docs" / "recovery.md"
BLOCK: Final = re.compile(r"(<!-- (\w+) -->\n).*?(<!-- end -->)", re.DOTALL)
NONE: Final = "–"

Lines = Iterator[tuple[str, ...]]


def number(held: tuple[float, float], digits: int = 3) -> str:
    """Value (Monte-Carlo error)."""
    value, error = held
    if np.isnan(value):
        return NONE
    return f"{value:.{digits}f}" + ("" if np.isnan(error) else f" ({error:.{digits}f})")


def percent(held: tuple[float, float]) -> str:
    """Value (Monte-Carlo error) in per cent."""
    return number((100.0 * held[0], 100.0 * held[1]), 1)


def _refused(table: Table) -> str:
    return f"{table.count} ({int(np.nansum(table['refused']))})"


def coverage(stage: str) -> Lines:
    """Coverage over all children shown, and by what the cohort was said to hold."""
    yield (
        "cohorts",
        "repeats (refused)",
        "shown",
        "coverage",
        "`signal: yes`",
        "`signal: no`",
        "width",
        "score",
    )
    for name, table in tables(stage).items():
        parts = [table.where("signal", value) for value in (1.0, 0.0)]
        yield (
            name,
            _refused(table),
            percent(mean(table["shown"])),
            percent(mean(table["coverage"])),
            *(f"{percent(mean(part['coverage']))}, n = {part.count}" for part in parts),
            number(mean(table["width"])),
            number(mean(table["interval_score"])),
        )


def whole_table(stage: str) -> Lines:
    """Coverage of the risk given everything in the generator's table."""
    yield "cohorts", "given what the protocol asks", "given the whole table"
    for name, table in tables(stage).items():
        yield name, percent(mean(table["coverage"])), percent(mean(table["coverage_told"]))


def tenths(stage: str, letter: str) -> Lines:
    """Coverage by tenth of a risk, lowest first."""
    yield ("cohorts", *(str(tenth) for tenth in range(1, 11)))
    for name, table in tables(stage).items():
        yield (name, *(percent(mean(table[f"{letter}{tenth}"])) for tenth in range(1, 11)))


def errors(stage: str) -> Lines:
    """Ratios of mean absolute errors."""
    yield (
        "cohorts",
        "repeats",
        "error",
        "to ridge",
        "to ridge, `signal: yes`",
        "to the rate",
        "to the rate, `signal: yes`",
        "to oracle",
    )
    held = tables(stage)
    for name, table in held.items():
        yes = table.where("signal", 1.0)
        yield (
            name,
            str(int(np.count_nonzero(~np.isnan(table["error"])))),
            number(mean(table["error"]), 4),
            number(ratio(table["error"], table["error_cv"])),
            number(ratio(yes["error"], yes["error_cv"])),
            number(ratio(table["error"], table["error_rate"])),
            number(ratio(yes["error"], yes["error_rate"])),
            number(ratio(table["error_told"], table["error_told_oracle"])),
        )
    ratios = np.array([ratio(table["error"], table["error_cv"]) for table in held.values()]).reshape(-1, 2)
    if len(ratios) > 1:
        over_all = float(ratios[:, 0].mean()), float(np.sqrt((ratios[:, 1] ** 2).sum()) / len(ratios))
        yield "mean of the settings", "", "", number(over_all), "", "", "", ""


def signal(stage: str) -> Lines:
    """How often a cohort is said to hold a signal."""
    yield "cohorts", "repeats (refused)", "events", "`signal: yes`, %"
    for name, table in tables(stage).items():
        events = number((mean(table["events"])[0], np.nan), 0)
        yield name, _refused(table), events, percent(share(table["signal"]))


def optimism(stage: str) -> Lines:
    """Bias of the corrected c and slope."""
    yield (
        *("cohorts", "repeats", "true c", "apparent c − true", ".632+ − true", "Harrell − true"),
        *("slope, median of corrected − true", "of Harrell's − true", "share shrunk to the rate"),
    )
    for name, table in tables(stage).items():
        told = table["sd_log_odds"] >= 0.3
        gap, harrell = ((table[f"slope_{kind}"] - table["slope_true"])[told] for kind in ("corrected", "harrell"))
        yield (
            name,
            str(table.count),
            number(mean(table["c_true"])),
            *(number(mean(table[f"c_{kind}"] - table["c_true"])) for kind in ("apparent", "point632plus", "harrell")),
            f"{number(median(gap))}, n = {int(told.sum())}",
            number(median(harrell)),
            percent(mean(table["shrunk_to_rate"])),
        )


def median(values: np.ndarray) -> tuple[float, float]:
    """Median and its error by 400 resamples of the repeats."""
    kept = values[~np.isnan(values)]
    if not len(kept):
        return float("nan"), float("nan")
    drawn = np.random.default_rng(0).choice(kept, (400, len(kept)))
    return float(np.median(kept)), float(np.median(drawn, axis=1).std(ddof=1))


def censoring(stage: str) -> Lines:
    """Observed against expected among new children, as a ratio of sums over the repeats."""
    yield "cohorts", "repeats", "censored before 24 months", "O/E, censored weighted for", "O/E, censored dropped"
    for name, table in tables(stage).items():
        yield (
            name,
            str(table.count),
            percent(mean(table["censored"])),
            *(number(ratio(table["observed"], table[f"expected_{kind}"])) for kind in ("weighted", "dropped")),
        )


def beside(stage: str) -> Lines:
    """Settings against the first of them."""
    yield (
        "cohorts",
        "repeats (refused)",
        "`signal: yes`, %",
        "error",
        "ratio to the first",
        "coverage",
        "width",
    )
    held = tables(stage)
    first = next(iter(held.values()), Table([]))
    for name, table in held.items():
        yield (
            name,
            _refused(table),
            percent(share(table["signal"])),
            number(mean(table["error"]), 4),
            number(_unpaired(table["error"], first["error"])),
            percent(mean(table["coverage"])),
            number(mean(table["width"])),
        )


def gaps(stage: str) -> Lines:
    """The same children complete and with gaps."""
    yield "children", "repeats", "coverage", "width", "error"
    for table in tables(stage).values():
        for name, words in (("whole", "complete"), ("holed", "the same, with gaps")):
            yield (
                words,
                str(table.count),
                percent(mean(table[f"coverage_{name}"])),
                number(mean(table[f"width_{name}"])),
                number(mean(table[f"error_{name}"]), 4),
            )


def drift(stage: str) -> Lines:
    """Whether a change of era is found, and what an update does about it."""
    yield "cohorts", "repeats (refused)", "1 outside the interval of O/E, %", "updated, %", "true O/E before", "after"
    for name, table in tables(stage).items():
        yield (
            name,
            _refused(table),
            percent(share(table["found"])),
            percent(share(table["updated"])),
            number(mean(table["true_before"])),
            number(mean(table["true_after"])),
        )


def new_centre(stage: str) -> Lines:
    """How often the prediction interval for a new centre holds its true O/E."""
    yield "cohorts", "repeats", "of which with an interval", "centres pooled", "interval holds, %"
    for name, table in tables(stage).items():
        held = ~np.isnan(table["holds"])
        pooled = number(mean(table["pooled"][held]), 1)
        yield name, str(table.count), str(int(held.sum())), pooled, percent(share(table["holds"]))


def _unpaired(top: np.ndarray, bottom: np.ndarray) -> tuple[float, float]:
    """Ratio of two means from separate repeats."""
    (above, above_error), (below, below_error) = mean(top), mean(bottom)
    held = above / below
    return held, float(held * np.hypot(above_error / above, below_error / below))


TABLES: Final[dict[str, Callable[[], Lines]]] = {
    "coverage": lambda: coverage("coverage"),
    "coverage_predicted": lambda: tenths("coverage", "p"),
    "coverage_true": lambda: tenths("coverage", "t"),
    "whole_table": lambda: whole_table("coverage"),
    "errors": lambda: errors("coverage"),
    "noise": lambda: coverage("noise"),
    "noise_errors": lambda: errors("noise"),
    "signal": lambda: signal("signal"),
    "optimism": lambda: optimism("optimism"),
    "censoring": lambda: censoring("censoring"),
    "missing": lambda: beside("missing"),
    "gaps": lambda: gaps("gaps"),
    "priors": lambda: beside("priors"),
    "drift": lambda: drift("drift"),
    "small_centres": lambda: new_centre("small_centres"),
}


def markdown(lines: Lines) -> str:
    """A table; a sentence when there are no rows."""
    head, *body = lines
    if not body:
        return "Not run.\n"
    ruled = [head, tuple("---" if place == 0 else "--:" for place in range(len(head))), *body]
    return "".join("| " + " | ".join(cells) + " |\n" for cells in ruled)


def page(text: str) -> str:
    """The page with every table made anew."""
    return BLOCK.sub(lambda found: found[1] + "\n" + markdown(TABLES[found[2]]()) + "\n" + found[3], text)


def main() -> None:
    """Write tables and pictures."""
    from tests.recovery import pictures

    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    pictures.draw(PAGE.parent / "recovery")


if __name__ == "__main__":
    main()
