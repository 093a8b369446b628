"""Rules that a resource or a card of ours must keep, beyond what a schema asks: our own, and those of the standards."""

from collections.abc import Iterator, Mapping
from enum import Enum
from typing import Any

UCUM = "http://unitsofmeasure.org"
LONGEST_SUMMARY = 139
_KEYS = {
    "resourceType",
    "meta",
    "contained",
    "identifier",
    "status",
    "method",
    "code",
    "subject",
    "occurrenceDateTime",
    "performer",
    "prediction",
    "note",
}
_PREDICTION_KEYS = {"outcome", "probabilityDecimal", "probabilityRange", "whenRange", "rationale"}
_CARD_KEYS = {"uuid", "summary", "detail", "indicator", "source", "overrideReasons"}
_DEVICE_NAME = {"R4": ("deviceName", "name"), "R5": ("name", "value")}


class Release(Enum):
    """Which release of FHIR."""

    R4 = "R4"
    R5 = "R5"


def fhir_problems(resource: Mapping[str, Any], release: Release) -> tuple[str, ...]:
    """Every broken rule of a RiskAssessment, in words; empty when all hold."""
    return tuple(_resource(resource, release.value))


def _resource(held: Mapping[str, Any], release: str) -> Iterator[str]:
    if held.get("resourceType") != "RiskAssessment":
        yield "it must be a RiskAssessment"
    for key in sorted(held.keys() - _KEYS):
        yield f"{key} is not ours to fill"
    if held.get("status") != "preliminary":
        yield "status must be preliminary until a clinician signs"
    if not held.get("subject", {}).get("identifier", {}).get("value"):
        yield "the subject must be named by its local key"
    yield from _performer(held, release)
    predictions = held.get("prediction", [])
    for prediction in predictions:
        yield from _prediction(prediction)
    if predictions:
        yield from _pair(predictions)
    if not any(note.get("text") for note in held.get("note", [])):
        yield "the cautions must travel in the notes"


def _performer(held: Mapping[str, Any], release: str) -> Iterator[str]:
    names, word = _DEVICE_NAME[release]
    devices = [part for part in held.get("contained", []) if part.get("resourceType") == "Device"]
    if not devices or held.get("performer", {}).get("reference") != f"#{devices[0].get('id')}":
        yield "the performer must be the contained software"
    elif not all(name.get(word) for name in devices[0].get(names, [{}])):
        yield f"the software must have a {names} as {release} writes it"


def _prediction(held: Mapping[str, Any]) -> Iterator[str]:
    for key in sorted(held.keys() - _PREDICTION_KEYS):
        yield f"{key} must stay empty"
    told = [key for key in held if key.startswith("probability")]
    if len(told) != 1:
        yield "a prediction must have exactly one probability"
    point = held.get("probabilityDecimal")
    if point is not None and not 0 <= point <= 100:
        yield "a probability must be percent, 0 to 100"
    if "probabilityRange" in held:
        yield from _range(held["probabilityRange"])
    when = held.get("whenRange")
    if when is not None and not when["low"]["value"] < when["high"]["value"]:
        yield "the time must run forward"


def _range(held: Mapping[str, Any]) -> Iterator[str]:
    for bound in (held.get("low", {}), held.get("high", {})):
        if (bound.get("code"), bound.get("system")) != ("%", UCUM):
            yield "a bound must be in percent by its UCUM code"
        if not 0 <= bound.get("value", -1) <= 100:
            yield "a bound must be percent, 0 to 100"
    if held.get("low", {}).get("value", 0) > held.get("high", {}).get("value", 0):
        yield "the lower bound must not lie above the upper"


def _pair(predictions: list[Mapping[str, Any]]) -> Iterator[str]:
    """Point and interval belong together: the same outcome and time, and the point inside."""
    ranges = [held["probabilityRange"] for held in predictions if "probabilityRange" in held]
    points = [held["probabilityDecimal"] for held in predictions if "probabilityDecimal" in held]
    if len(ranges) != 1 or len(points) != 1:
        yield "there must be one interval and one point"
    elif not ranges[0]["low"]["value"] <= points[0] <= ranges[0]["high"]["value"]:
        yield "the point must lie in the interval: fractions and percent may be mixed up"
    if len({(str(held.get("outcome")), str(held.get("whenRange"))) for held in predictions}) != 1:
        yield "point and interval must be of one outcome and time"


def hook_problems(response: Mapping[str, Any]) -> tuple[str, ...]:
    """Every broken rule of a CDS Hooks response, in words; empty when all hold."""
    return tuple(_response(response))


def _response(held: Mapping[str, Any]) -> Iterator[str]:
    if held.keys() != {"cards"}:
        yield "a response must hold cards and nothing else: no system actions"
    for card in held.get("cards", []):
        yield from _card(card)


def _card(held: Mapping[str, Any]) -> Iterator[str]:
    for key in sorted(held.keys() - _CARD_KEYS):
        yield f"{key} must stay empty"
    if not 0 < len(held.get("summary", "")) <= LONGEST_SUMMARY:
        yield "a summary must have fewer than 140 characters"
    if held.get("indicator") != "info":
        yield "a card informs: its indicator must be info"
    if not held.get("source", {}).get("label"):
        yield "a card must name its source"
    for reason in held.get("overrideReasons", []):
        if not (reason.get("code") and reason.get("display")):
            yield "a reason must have a code and words"
