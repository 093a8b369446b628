"""One entry of a dictionary file as a frozen value: a variable, an event, an outcome."""

from collections.abc import Mapping

from riskmodel.dictionary.fields import Fields, any_of
from riskmodel.dictionary.model import (
    SIDES,
    TABLES,
    Event,
    FoundBy,
    Kind,
    Level,
    Moment,
    Norm,
    OutcomeDefinition,
    Role,
    Variable,
)

CONFIDENCE = ("H", "M", "L")
MONOTONE = ("rises", "falls")


def variable(name: str, fields: Fields, sources: Mapping[str, str]) -> Variable:
    """The variable that a `[variable.NAME]` table describes, before its sides and its deed are written out."""
    label = fields.text("label", None)
    kind = fields.choice("kind", Kind) or Kind.NUMBER
    moment = fields.choice("moment", Moment) or Moment.CLINIC
    held = Variable(
        name=name,
        label=label or name,
        kind=kind,
        moment=moment,
        unit=fields.text("unit"),
        hard=fields.pair("hard"),
        soft=fields.pair("soft"),
        resolution=fields.number("resolution", 1.0, positive=True),
        centre=fields.number("centre", 0.0),
        scale=fields.number("scale", 1.0, positive=True),
        levels=tuple(_level(part) for part in fields.tables("levels")),
        states=fields.texts("states"),
        role=fields.choice("role", Role, Role.PREDICTOR) or Role.PREDICTOR,
        table=_word(fields, "table", TABLES, "children") or "children",
        sides=fields.optional("sides"),
        side=_word(fields, "side", SIDES, None),
        deed=fields.optional("deed"),
        grouped_by=fields.optional("grouped_by"),
        monotone=_word(fields, "monotone", MONOTONE, None),
        finds=fields.choices("finds", FoundBy),
        how=fields.text("how"),
        norms=tuple(_norm(part, sources) for part in fields.tables("norms")),
        core=fields.truth("core"),
    )
    fields.finish()
    return held


def event(name: str, fields: Fields) -> Event:
    """The event that an `[event.NAME]` table describes."""
    held = Event(name=name, label=fields.text("label", None) or name, how=fields.text("how"))
    fields.finish()
    return held


def outcome(name: str, fields: Fields) -> OutcomeDefinition:
    """The outcome that an `[outcome.NAME]` table describes."""
    held = OutcomeDefinition(
        name=name,
        label=fields.text("label", None) or name,
        first_of=fields.texts("first_of"),
        competes=fields.texts("competes"),
        seen_until=fields.text("seen_until", None),
        found_by=fields.choice("found_by", FoundBy),
        never_counts=fields.texts("never_counts"),
        text=fields.text("text"),
        core=fields.truth("core"),
    )
    fields.finish()
    return held


def source(fields: Fields) -> str:
    """The citation that a `[source.NAME]` table holds."""
    held = fields.text("citation", None)
    fields.finish()
    return held


def _level(fields: Fields) -> Level:
    code = fields.text("code", None)
    held = Level(code=code, label=fields.text("label", None) or code, group=fields.optional("group"))
    fields.finish()
    return held


def _norm(fields: Fields, sources: Mapping[str, str]) -> Norm:
    cited = fields.optional("source")
    if cited is not None and cited not in sources and " " not in cited:
        fields.fault("source", cited, "a [source.NAME] of this dictionary, or a citation in words", "unknown_source")
    held = Norm(
        text=fields.text("text", None),
        low=fields.optional_number("low"),
        high=fields.optional_number("high"),
        modality=fields.optional("modality"),
        source=sources.get(cited, cited) if cited else None,
        confidence=_word(fields, "confidence", CONFIDENCE, None),
    )
    fields.finish()
    if held.low is not None and held.high is not None and held.low > held.high:
        fields.fault("low", f"{held.low:g} above high {held.high:g}", "low at most high", "bad_range")
    return held


def _word(fields: Fields, key: str, words: tuple[str, ...], default: str | None) -> str | None:
    """One of a few words, or the default."""
    value = fields.text(key) or default
    if value is None or value in words:
        return value
    fields.fault(key, value, any_of(words), "unknown_word")
    return default
