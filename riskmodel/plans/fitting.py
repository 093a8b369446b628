"""How an anchor fits: measured dimensions against a screw, and what holds the class down."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from riskmodel.anatomy.amounts import TOLERANCE, at_least
from riskmodel.plans.limits import Limit, Limits
from riskmodel.plans.plan import Placed
from riskmodel.plans.stock import Screw, Stock, longest_within
from riskmodel.plans.words import Because, Fit, Place

_RANK = {Fit.NOT: 0, Fit.BARELY: 1, Fit.FITS: 2, Fit.WITH_ROOM: 3}


@dataclass(frozen=True, slots=True)
class Dimension:
    """One measured dimension of a path, in mm; None where it was not measured.

    `least_mm`: what it must reach whatever the screw; None where the screw itself is the measure.
    """

    label: str
    value_mm: float | None
    least_mm: float | None = None

    def margin_mm(self, diameter_mm: float) -> float | None:
        """What is left: of the dimension beyond the screw, or beyond the least."""
        if self.value_mm is None:
            return None
        return self.value_mm - (diameter_mm if self.least_mm is None else self.least_mm)


@dataclass(frozen=True, slots=True)
class Cap:
    """Something that holds the class down to `ceiling`, for screws over `over_mm` where given; `says` for people."""

    ceiling: Fit
    because: Because
    says: str
    over_mm: float | None = None

    def bears_on(self, diameter_mm: float) -> bool:
        """Whether it holds for a screw of this diameter."""
        return self.over_mm is None or diameter_mm > self.over_mm + TOLERANCE


@dataclass(frozen=True, slots=True)
class Path:
    """Everything known about the way of one anchor.

    `dimensions`: the first is the one without which there is no class. `steps`: (margin in mm, class from there on),
    falling; below all it does not fit. `questions`: what is not known and could lower the class; `entry_question` the
    same of the entry of a C1 screw, which asks for work and says nothing of the hold. `thickest_mm`: the limits say
    nothing of thicker screws. `length_mm`: of the path.
    """

    dimensions: tuple[Dimension, ...]
    steps: tuple[tuple[float, Fit], ...]
    limit: Limit
    short_of: Because = Because.NARROW
    caps: tuple[Cap, ...] = ()
    no_bone: bool = False
    questions: tuple[str, ...] = ()
    entry_question: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    length_mm: float | None = None
    thickest_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SizeFit:
    """One stocked diameter: class, margin, and the longest stocked length that the measured path takes; in mm."""

    diameter_mm: float
    fit: Fit
    margin_mm: float | None
    longest_mm: float | None


@dataclass(frozen=True, slots=True)
class AnchorFit(Placed):
    """How one anchor fits by the measurements.

    `asked_mm`: the diameter that `fit`, `margin_mm` and `because` speak of; None for hooks, wires and bands.
    `at_best`: something that is not known could lower the class. `could_be`: the class on the other side of a border
    that the margin lies within reading error of. `sizes`: stocked diameters, rising. `path_mm`: measured length.
    `caps`: what holds the class down.
    `hold`: the class with the low entry of a C1 screw set aside; `hold_settled`: nothing not known could lower it.
    """

    asked_mm: float | None
    fit: Fit
    because: tuple[Because, ...]
    margin_mm: float | None
    at_best: bool
    could_be: Fit | None
    hold: Fit
    hold_settled: bool
    sizes: tuple[SizeFit, ...]
    measured: tuple[Dimension, ...]
    not_known: tuple[str, ...]
    path_mm: float | None
    limit: Limit
    caps: tuple[Cap, ...]
    notes: tuple[str, ...]

    @property
    def any_possible(self) -> bool:
        """Whether the asked or any stocked diameter fits at all, barely included."""
        return self.fit.possible or self.largest_possible is not None

    @property
    def largest_fitting(self) -> SizeFit | None:
        """The largest stocked diameter that fits without being bare."""
        return next((size for size in reversed(self.sizes) if size.fit.holds), None)

    @property
    def largest_possible(self) -> SizeFit | None:
        """The largest stocked diameter that fits at all."""
        return next((size for size in reversed(self.sizes) if size.fit.possible), None)

    @property
    def longest_mm(self) -> float | None:
        """The longest stocked length of the asked diameter that the path takes."""
        return next((size.longest_mm for size in self.sizes if size.diameter_mm == self.asked_mm), None)


def screw_steps(limits: Limits) -> tuple[tuple[float, Fit], ...]:
    """The classes by margin of a bone screw."""
    return (
        (limits.value("margin_room_mm"), Fit.WITH_ROOM),
        (limits.value("margin_fits_mm"), Fit.FITS),
        (0.0, Fit.BARELY),
    )


def assess(place: Place, path: Path, *, asked_mm: float, stock: Stock, limits: Limits) -> AnchorFit:
    """The class of an anchor at the asked diameter, and of every stocked one.

    Parameters
    ----------
    place : level, side and kind
    path : what is known of its way
    asked_mm : diameter of the screw, above 0; hooks, wires and bands have none and are held against their least
    """
    kind = place[2]
    fit, hold = _fit(path, asked_mm), _fit(_without_entry(path), asked_mm)
    open_to = (*(part.label for part in path.dimensions if part.value_mm is None), *path.questions)
    unknown = () if _ceiling(path, asked_mm) is Fit.NOT else (*open_to, *path.entry_question)
    return AnchorFit(
        *place,
        asked_mm=asked_mm if kind.screw else None,
        fit=fit,
        because=_because(path, asked_mm),
        margin_mm=_told_margin(path, asked_mm),
        at_best=fit.possible and bool(unknown),
        could_be=_could_be(path, asked_mm, limits.value("reading_error_mm")),
        hold=hold,
        hold_settled=hold is not Fit.UNKNOWN and not (hold.possible and open_to),
        sizes=tuple(_sizes(path, stock.screws_for(kind) if kind.screw else ())),
        measured=tuple(part for part in path.dimensions if part.value_mm is not None),
        not_known=unknown,
        path_mm=path.length_mm,
        limit=path.limit,
        caps=tuple(cap for cap in path.caps if cap.bears_on(asked_mm)),
        notes=path.notes,
    )


def _margin(path: Path, diameter_mm: float) -> float | None:
    margins = [part.margin_mm(diameter_mm) for part in path.dimensions]
    return min((margin for margin in margins if margin is not None), default=None)


def _told_margin(path: Path, diameter_mm: float) -> float | None:
    """The margin, unless the dimension that matters is not measured and no other rules the screw out."""
    margin = _margin(path, diameter_mm)
    settled = path.dimensions[0].value_mm is not None or (margin is not None and not at_least(margin, 0.0))
    return margin if settled else None


def _by_margin(path: Path, margin: float) -> Fit:
    return next((fit for start, fit in path.steps if at_least(margin, start)), Fit.NOT)


def _ceiling(path: Path, diameter_mm: float) -> Fit:
    if path.no_bone:
        return Fit.NOT
    held = [cap.ceiling for cap in path.caps if cap.bears_on(diameter_mm)]
    return min(held, key=_RANK.__getitem__, default=Fit.WITH_ROOM)


def _fit(path: Path, diameter_mm: float) -> Fit:
    ceiling, margin = _ceiling(path, diameter_mm), _margin(path, diameter_mm)
    if ceiling is Fit.NOT:
        return Fit.NOT
    fit = Fit.UNKNOWN if margin is None else _lower(_by_margin(path, margin), ceiling)
    return fit if fit is Fit.NOT or path.dimensions[0].value_mm is not None else Fit.UNKNOWN


def _without_entry(path: Path) -> Path:
    return replace(path, caps=tuple(cap for cap in path.caps if cap.because is not Because.ENTRY_LOW))


def _lower(a: Fit, b: Fit) -> Fit:
    return min(a, b, key=_RANK.__getitem__)


def _because(path: Path, diameter_mm: float) -> tuple[Because, ...]:
    """Why the class is not better than it is."""
    if path.no_bone:
        return (Because.BONE_MISSING,)
    margin, held = _margin(path, diameter_mm), [cap.because for cap in path.caps if cap.bears_on(diameter_mm)]
    if margin is not None and not _by_margin(path, margin).holds:
        held.insert(0, path.short_of)
    return tuple(dict.fromkeys(held))


def _could_be(path: Path, diameter_mm: float, error_mm: float) -> Fit | None:
    """The class beyond the nearest border within reading error, where the caps allow it to show."""
    margin, ceiling = _margin(path, diameter_mm), _ceiling(path, diameter_mm)
    if margin is None or ceiling is Fit.NOT:
        return None
    near = [start for start, _ in path.steps if at_least(error_mm, abs(margin - start))]
    if not near:
        return None
    border = min(near, key=lambda start: abs(margin - start))
    beyond = border - 1e-6 if at_least(margin, border) else border
    other = _lower(_by_margin(path, beyond), ceiling)
    return None if other is _fit(path, diameter_mm) else other


def _sizes(path: Path, screws: tuple[Screw, ...]) -> Iterator[SizeFit]:
    for screw in screws:
        if path.thickest_mm is not None and screw.diameter_mm > path.thickest_mm + TOLERANCE:
            continue
        longest = None if path.length_mm is None else longest_within(screw, path.length_mm)
        fit = _fit(path, screw.diameter_mm)
        yield SizeFit(screw.diameter_mm, fit, _told_margin(path, screw.diameter_mm), longest)
