"""From sites and a plan to the ladder: at each level and side the site that matters, with its screw and margin."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from riskmodel.documents.words import MINUS, short
from riskmodel.drawing import Ladder, Mark, Midline, Rung, Site
from riskmodel.plans.fitting import AnchorFit
from riskmodel.plans.words import LEVELS, Because, Fit, Kind, Level, Place, Side

_MARKS = {
    Fit.WITH_ROOM: Mark.WITH_ROOM,
    Fit.FITS: Mark.FITS,
    Fit.BARELY: Mark.BARELY,
    Fit.NOT: Mark.NOT,
    Fit.UNKNOWN: Mark.UNKNOWN,
}
# Where no plan says which site is meant, the one that holds best is drawn; what is not measured comes before what
# does not fit, since it may still fit.
_BEST_FIRST = (Fit.WITH_ROOM, Fit.FITS, Fit.BARELY, Fit.UNKNOWN, Fit.NOT)
_NO_BONE = (Because.BONE_MISSING, Because.REMOVED_EARLIER)


def ladder_of(fits: Sequence[AnchorFit], planned: Iterable[Place], *, lowest: Level, fused: Iterable[Level]) -> Ladder:
    """The ladder from the occiput down to `lowest`.

    Parameters
    ----------
    fits
        Every site that was looked at.
    planned
        Level, side and kind of the anchors of the plan that is drawn; they come before better sites.
    fused
        Levels that have grown together with the one below.
    """
    wanted, grown = frozenset(planned), frozenset(fused)
    levels = LEVELS[: lowest.index + 1]
    return Ladder(tuple(_rungs(levels, fits, wanted, grown)))


def _rungs(
    levels: Sequence[Level], fits: Sequence[AnchorFit], planned: frozenset[Place], grown: frozenset[Level]
) -> Iterator[Rung]:
    """A rung for each level that holds a site; levels between that hold none share one, so that the rest is legible."""
    held = {fit.level for fit in fits}
    for empty, run in groupby(levels, key=lambda level: level not in held):
        several = tuple(run)
        if empty:
            ends = dict.fromkeys((several[0].value, several[-1].value))
            yield Rung("-".join(ends), fused_below=several[-1] in grown)
        else:
            yield from (_rung(level, fits, planned, fused=level in grown) for level in several)


def _rung(level: Level, fits: Sequence[AnchorFit], planned: frozenset[Place], *, fused: bool) -> Rung:
    here = [fit for fit in fits if fit.level is level]
    midline = _chosen([fit for fit in here if fit.side is Side.MIDLINE], planned)
    left, right = (_chosen([fit for fit in here if fit.side is side], planned) for side in (Side.LEFT, Side.RIGHT))
    return Rung(
        level=level.value,
        left=None if left is None else _site(left, planned),
        right=None if right is None else _site(right, planned),
        midline=None if midline is None else Midline(_mark(midline), _midline_words(midline)),
        fused_below=fused,
    )


def _chosen(fits: Sequence[AnchorFit], planned: frozenset[Place]) -> AnchorFit | None:
    return min(fits, key=lambda fit: (fit.place not in planned, _BEST_FIRST.index(fit.fit)), default=None)


def _site(fit: AnchorFit, planned: frozenset[Place]) -> Site:
    lines = (_kind(fit.kind), screw_words(fit), _note(fit))
    return Site(_mark(fit), tuple(line for line in lines if line), planned=fit.place in planned)


def _mark(fit: AnchorFit) -> Mark:
    return Mark.NO_BONE if any(because in _NO_BONE for because in fit.because) else _MARKS[fit.fit]


def _kind(kind: Kind) -> str:
    return kind.label.removesuffix(" screw")


def screw_words(fit: AnchorFit) -> str:
    """The largest stocked screw that fits (barely, if none does better) and its margin in mm."""
    size = fit.largest_fitting or fit.largest_possible
    if size is None:
        return ""
    if size.margin_mm is None:
        return short(size.diameter_mm)
    sign = MINUS if size.margin_mm < 0 else "+"
    return f"{short(size.diameter_mm)} {sign}{abs(round(size.margin_mm, 1)):g}"


def _midline_words(fit: AnchorFit) -> str:
    return screw_words(fit) if fit.kind.screw else _kind(fit.kind)


def _note(fit: AnchorFit) -> str:
    if Because.ARTERY in fit.because:
        return "artery"
    return fit.because[0].value.split(":")[0] if fit.because else ""
