"""Curves on a plain frame: risks given against what happened, and what a measurement adds over its range."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from riskmodel.drawing.svg import (
    GREY,
    INK,
    PALE,
    Drawing,
    Point,
    circle,
    drawing,
    line,
    number,
    polygon,
    polyline,
    rectangle,
    tag,
    text,
)

WIDTH, HEIGHT = 360.0, 250.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 12.0, 12.0, 44.0
TICKS = 5
LABEL = 46
Span = tuple[float, float]
Told = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Calibration:
    """Smooth observed risk at predicted risks, with its interval if known; all (n,) in [0, 1], n at least 2."""

    predicted: Sequence[float]
    observed: Sequence[float]
    low: Sequence[float] | None = None
    high: Sequence[float] | None = None


@dataclass(frozen=True, slots=True)
class Effect:
    """What a measurement adds in log-odds at values of it; (n,) each, n at least 2."""

    label: str
    values: Sequence[float]
    log_odds: Sequence[float]
    low: Sequence[float]
    high: Sequence[float]


@dataclass(frozen=True, slots=True)
class _Frame:
    """From values to points of the sheet."""

    x: Span
    y: Span

    def at(self, x: float, y: float) -> Point:
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return LEFT + across * (WIDTH - LEFT - RIGHT), HEIGHT - BOTTOM - up * (HEIGHT - TOP - BOTTOM)

    def through(self, xs: Sequence[float], ys: Sequence[float]) -> list[Point]:
        return [self.at(x, y) for x, y in zip(xs, ys, strict=True)]


def calibration_curve(held: Calibration, words: str) -> Drawing:
    """Observed against predicted, in children of 100, with the line on which the two agree."""
    top = _upper([*held.predicted, *held.observed, *(held.high or ())])
    frame = _Frame((0.0, top), (0.0, top))

    def parts() -> Iterator[str]:
        yield from _grid(frame, "risk given, of 100 children", "what happened, of 100", _of_100, _of_100)
        if held.low is not None and held.high is not None:
            yield _band(frame, held.predicted, held.low, held.high)
        yield line(frame.at(0.0, 0.0), frame.at(top, top), colour=GREY, dashes="4 3")
        yield polyline(frame.through(held.predicted, held.observed))

    return drawing(WIDTH, HEIGHT, parts(), words)


def effect_curve(held: Effect, words: str, *, at: float | None = None) -> Drawing:
    """What the measurement adds over its range, with the middle 90% of the draws; `at` marks one child's value."""
    frame = _Frame((min(held.values), max(held.values)), _round_span(min(held.low), max(held.high)))

    def parts() -> Iterator[str]:
        yield from _grid(frame, _cut(held.label), "added, log-odds", _short, _short)
        yield _band(frame, held.values, held.low, held.high)
        yield line(frame.at(frame.x[0], 0.0), frame.at(frame.x[1], 0.0), colour=GREY, dashes="4 3")
        yield polyline(frame.through(held.values, held.log_odds))
        if at is not None and frame.x[0] <= at <= frame.x[1]:
            yield from _marked(frame, at, _between(at, held.values, held.log_odds))

    return drawing(WIDTH, HEIGHT, parts(), words)


def _marked(frame: _Frame, x: float, y: float) -> Iterator[str]:
    yield line(frame.at(x, frame.y[0]), frame.at(x, frame.y[1]), width=0.8, dashes="2 3")
    yield circle(frame.at(x, y), 5.0, fill=INK)


def _between(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """The height of the line through points at `x`, which lies within them; `xs` rise."""
    after = next(i for i in range(1, len(xs)) if x <= xs[i] or i == len(xs) - 1)
    share = (x - xs[after - 1]) / (xs[after] - xs[after - 1])
    return ys[after - 1] + share * (ys[after] - ys[after - 1])


def _cut(label: str) -> str:
    """A label that fits under the frame; the caption holds the whole."""
    return label if len(label) <= LABEL else label[: LABEL - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"


def _upper(values: Sequence[float]) -> float:
    """The end of a scale that starts at 0: the next tenth, 1 at most."""
    return min(1.0, max(0.1, ceil(10.0 * max(values) - 1e-9) / 10.0))


def _round_span(low: float, high: float) -> Span:
    """A span with 0 in it, its ends on round numbers."""
    step = _step(max(high, 0.0) - min(low, 0.0) or 1.0)
    return step * floor(min(low, 0.0) / step), step * ceil(max(high, 0.0) / step) or step


def _step(span: float) -> float:
    """A round distance between ticks, for about `TICKS` of them."""
    rough = span / TICKS
    power: float = 10.0 ** floor(log10(rough))
    return power * next(factor for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= rough * (1.0 - 1e-9))


def ticks(span: Span) -> tuple[float, ...]:
    """Round numbers within a span."""
    step = _step(span[1] - span[0])
    first = ceil(span[0] / step - 1e-9)
    last = floor(span[1] / step + 1e-9)
    return tuple(round(step * i, 10) for i in range(first, last + 1))


def _grid(frame: _Frame, across: str, up: str, told_across: Told, told_up: Told) -> Iterator[str]:
    corner, opposite = frame.at(frame.x[0], frame.y[1]), frame.at(frame.x[1], frame.y[0])
    yield rectangle(corner, opposite[0] - corner[0], opposite[1] - corner[1], stroke=0.8)
    for x in ticks(frame.x):
        at = frame.at(x, frame.y[0])
        yield line(at, (at[0], at[1] + 4), width=0.8)
        yield text((at[0], at[1] + 16), told_across(x), size=10, anchor="middle")
    for y in ticks(frame.y):
        at = frame.at(frame.x[0], y)
        yield line(at, (at[0] - 4, at[1]), width=0.8)
        yield text((at[0] - 7, at[1] + 3.5), told_up(y), size=10, anchor="end")
    yield text(((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 8), across, anchor="middle")
    yield _upright(up)


def _upright(words: str) -> str:
    """The label of the upright axis, read from below."""
    middle = (TOP + HEIGHT - BOTTOM) / 2
    return tag("g", text((0, 0), words, anchor="middle"), transform=f"translate(13 {number(middle)}) rotate(-90)")


def _band(frame: _Frame, xs: Sequence[float], low: Sequence[float], high: Sequence[float]) -> str:
    return polygon([*frame.through(xs, high), *reversed(frame.through(xs, low))], fill=PALE)


def _of_100(value: float) -> str:
    return f"{100.0 * value:g}"


def _short(value: float) -> str:
    return f"{value:g}".replace("-", "\N{MINUS SIGN}")
