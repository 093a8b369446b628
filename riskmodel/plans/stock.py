"""What lies on the shelf: sizes and kinds of implants, no maker's names."""

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from riskmodel.anatomy.amounts import at_least
from riskmodel.dictionary.fields import Fields, is_number, shown
from riskmodel.errors import Finding, PlanRefused, refuse_errors
from riskmodel.plans.files import SHIPPED, opened
from riskmodel.plans.words import PLATE_KINDS, Kind


class Use(Enum):
    """Where a screw is for."""

    SPINE = "spine"
    OCCIPUT = "occiput"


@dataclass(frozen=True, slots=True)
class Screw:
    """One diameter with its lengths, in mm, rising."""

    diameter_mm: float
    lengths_mm: tuple[float, ...]
    use: Use


@dataclass(frozen=True, slots=True)
class Stock:
    """Screws by rising diameter, spacer heights (mm, rising), and which other implants there are."""

    name: str
    screws: tuple[Screw, ...]
    spacer_heights_mm: tuple[float, ...]
    rod_diameters_mm: tuple[float, ...]
    midline_plates: bool
    hooks: bool
    wires: bool
    bands: bool
    connectors: bool
    halos: bool

    def screws_for(self, kind: Kind) -> tuple[Screw, ...]:
        """Screws for a kind of anchor, by rising diameter."""
        use = Use.OCCIPUT if kind in PLATE_KINDS else Use.SPINE
        return tuple(screw for screw in self.screws if screw.use is use)

    def screw(self, kind: Kind, diameter_mm: float) -> Screw | None:
        """The screw of this diameter for a kind of anchor, or None."""
        return next((held for held in self.screws_for(kind) if _same(held.diameter_mm, diameter_mm)), None)

    @property
    def tallest_spacer_mm(self) -> float | None:
        """Height of the tallest spacer, or None without any."""
        return max(self.spacer_heights_mm, default=None)


def longest_within(screw: Screw, room_mm: float) -> float | None:
    """The longest of the screw's lengths that is not longer than the path; None when all are."""
    return max((length for length in screw.lengths_mm if at_least(room_mm, length)), default=None)


def read_stock(path: Path | None = None) -> Stock:
    """A stock file; the shipped example when none is given.

    Raises
    ------
    PlanRefused
        With every finding: no screws, lengths or heights that are no numbers above 0, a diameter given twice.
    """
    findings: list[Finding] = []
    fields = opened(path or SHIPPED / "stock.toml", findings)
    screws = tuple(_screw(table) for table in fields.tables("screw"))
    _check_screws(fields, screws)
    stock = Stock(
        name=fields.text("name", None),
        screws=tuple(sorted(screws, key=lambda held: held.diameter_mm)),
        spacer_heights_mm=_lengths(fields, "spacer_heights_mm"),
        rod_diameters_mm=_lengths(fields, "rod_diameters_mm"),
        midline_plates=fields.truth("midline_plates"),
        hooks=fields.truth("hooks"),
        wires=fields.truth("wires"),
        bands=fields.truth("bands"),
        connectors=fields.truth("connectors"),
        halos=fields.truth("halos"),
    )
    fields.finish()
    refuse_errors(findings, PlanRefused)
    return stock


def _screw(table: Fields) -> Screw:
    diameter = table.number("diameter_mm", 0.0, positive=True)
    if "diameter_mm" not in table:
        table.fault("diameter_mm", "nothing", "a number above 0, in mm", "missing_key")
    use = table.choice("for", Use, Use.SPINE) or Use.SPINE
    held = Screw(diameter, _lengths(table, "lengths_mm", needed=True), use)
    table.finish()
    return held


def _check_screws(fields: Fields, screws: tuple[Screw, ...]) -> None:
    if not screws:
        fields.fault("screw", "none", "at least one [[screw]] with diameter_mm and lengths_mm", "no_screws")
    for i, screw in enumerate(screws):
        if any(screw.use is other.use and _same(screw.diameter_mm, other.diameter_mm) for other in screws[:i]):
            found = f"{screw.diameter_mm:g} mm for the {screw.use.value} a second time"
            fields.fault(f"screw[{i + 1}]", found, "each diameter once, with all its lengths", "screw_twice")


def _lengths(table: Fields, key: str, *, needed: bool = False) -> tuple[float, ...]:
    value = table.raw(key)
    if value is None and not needed:
        return ()
    if not (isinstance(value, list) and (value or not needed) and all(is_number(x) and x > 0 for x in value)):
        table.fault(key, shown(value), "a list of numbers above 0, in mm", "wrong_type")
        return ()
    return tuple(sorted(float(length) for length in set(value)))


def _same(a: float, b: float) -> bool:
    return at_least(a, b) and at_least(b, a)
