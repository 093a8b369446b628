"""Lines and angles beside published values: by age, modality and head position, with who was measured.

A limit is compared only where it holds. A limit for another modality or position, or one whose condition is not known,
is shown and not compared, with the reason.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path

from riskmodel.anatomy.amounts import TOLERANCE, at_least
from riskmodel.dictionary.fields import Fields
from riskmodel.dictionary.files import parsed
from riskmodel.errors import DictionaryRefused, Finding, refuse_errors

SHIPPED = Path(__file__).parent / "data" / "norms.toml"
FORMAT = 1
Given = Mapping[str, str | None]


class Place(Enum):
    """Where a value lies."""

    WITHIN = "within"
    BELOW = "below"
    ABOVE = "above"
    NOT_COMPARED = "not compared"


@dataclass(frozen=True, slots=True)
class PublishedNorm:
    """One published value and where it holds, in the unit of the variables `of`.

    A value at a limit is within it, unless `reached`: then a value at it counts as beyond.
    """

    of: tuple[str, ...]
    low: float | None
    high: float | None
    reached: bool
    mean: float | None
    sd: float | None
    modality: str | None
    position: str | None
    from_years: float | None
    under_years: float | None
    given: Given
    who: str
    text: str
    source: str
    confidence: str


@dataclass(frozen=True, slots=True)
class Image:
    """How a value was read: modality ("ct", "film", "mri") and head position; None where it is not stated."""

    modality: str | None
    position: str | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """A value beside one published norm; `why` says why it was not compared, or is empty."""

    norm: PublishedNorm
    place: Place
    why: str


@cache
def norms() -> tuple[PublishedNorm, ...]:
    """The shipped norms, in the order of the file."""
    return read_norms(SHIPPED)


def read_norms(path: Path) -> tuple[PublishedNorm, ...]:
    """Norms from a TOML file written as the shipped one.

    Raises
    ------
    DictionaryRefused
        With every finding: no such file, another format, unknown keys, norms without a source.
    """
    findings: list[Finding] = []
    table = parsed(path, findings) or {}
    refuse_errors(findings, DictionaryRefused)
    fields = Fields(table, path.name, "", findings)
    fields.format(FORMAT)
    sources = {name: table.text("citation", None) for name, table in fields.named_tables("source").items()}
    held = tuple(_norm(table, sources) for table in fields.tables("norm"))
    fields.finish()
    refuse_errors(findings, DictionaryRefused)
    return held


def compared(name: str, value: float, *, age_years: float | None, image: Image, given: Given) -> tuple[Comparison, ...]:
    """A value beside every norm of its variable that this age has.

    Parameters
    ----------
    name : variable of the dictionary ("adi_mm")
    value : in the variable's unit
    age_years : None where it is not known: norms with an age are then shown and not compared
    image : how the value was read
    given : findings that a norm may depend on, by variable

    Returns
    -------
    tuple of Comparison
        Empty where nothing is published.
    """
    fitting = (norm for norm in norms() if name in norm.of and _for_age(norm, age_years))
    return tuple(_compare(norm, value, age_years, image, given) for norm in fitting if _not_contrary(norm, given))


def _norm(table: Fields, sources: Mapping[str, str]) -> PublishedNorm:
    held = PublishedNorm(
        of=(table.text("of", None), *table.texts("also")),
        low=table.optional_number("low"),
        high=table.optional_number("high"),
        reached=table.truth("reached"),
        mean=table.optional_number("mean"),
        sd=table.optional_number("sd"),
        modality=table.optional("modality"),
        position=table.optional("position"),
        from_years=table.optional_number("from_years"),
        under_years=table.optional_number("under_years"),
        given=_given(table),
        who=table.text("who", None),
        text=table.text("text", None),
        source=_source(table, sources),
        confidence=table.text("confidence", None),
    )
    table.finish()
    return held


def _given(table: Fields) -> Given:
    value = table.raw("given")
    return {str(name): str(code) for name, code in value.items()} if isinstance(value, dict) else {}


def _source(table: Fields, sources: Mapping[str, str]) -> str:
    name = table.text("source", None)
    if name and name not in sources:
        table.fault("source", name, f"a [source.{name}] in this file", "unknown_source")
    return sources.get(name, name)


def _for_age(norm: PublishedNorm, age_years: float | None) -> bool:
    if age_years is None:
        return True
    old_enough = norm.from_years is None or at_least(age_years, norm.from_years)
    return old_enough and (norm.under_years is None or not at_least(age_years, norm.under_years))


def _not_contrary(norm: PublishedNorm, given: Given) -> bool:
    """A norm whose condition is known not to hold is left out."""
    return all(given.get(name) in (None, code) for name, code in norm.given.items())


def _compare(norm: PublishedNorm, value: float, age_years: float | None, image: Image, given: Given) -> Comparison:
    why = _hindrance(norm, age_years, image, given)
    return Comparison(norm, Place.NOT_COMPARED if why else _place(norm, value), why)


def _hindrance(norm: PublishedNorm, age_years: float | None, image: Image, given: Given) -> str:
    if norm.low is None and norm.high is None:
        return "no limit, shown beside"
    if age_years is None and (norm.from_years is not None or norm.under_years is not None):
        return "holds at some ages only, and the age is not known"
    for name, asked, held in (
        ("modality", norm.modality, image.modality),
        ("position", norm.position, image.position),
    ):
        if asked is not None and held != asked:
            return f"holds for {name} {asked}; this {name} is {held or 'not stated'}"
    unknown = [name for name in norm.given if given.get(name) is None]
    return f"depends on {unknown[0]}, which is not known" if unknown else ""


def _place(norm: PublishedNorm, value: float) -> Place:
    slack = -TOLERANCE if norm.reached else TOLERANCE
    if norm.low is not None and value < norm.low - slack:
        return Place.BELOW
    return Place.ABOVE if norm.high is not None and value > norm.high + slack else Place.WITHIN
