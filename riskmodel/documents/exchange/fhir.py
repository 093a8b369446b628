"""The answer as an HL7 FHIR RiskAssessment, R4 (4.0.1) or R5 (5.0.0).

Probabilities are percent, 0 to 100, as both releases ask. One `probability[x]` holds a decimal or a range, so the point
and the interval are two predictions of the same outcome. Status is `preliminary`: a clinician makes it final. Relative
and qualitative risk stay empty. Element names and rules: FHIR R4 and R5, RiskAssessment and Device, from memory.
"""

from collections.abc import Iterator
from datetime import date
from typing import Any
from uuid import NAMESPACE_OID, uuid5

from riskmodel.documents.exchange.checks import UCUM, Release, fhir_problems
from riskmodel.documents.scored import Scored
from riskmodel.errors import DocumentRefused

TEST_DATA = {
    "system": "http://terminology.hl7.org/CodeSystem/v3-ActReason",
    "code": "HTEST",
    "display": "test health data",
}
SHORT_DIGEST = 12


def risk_assessment(answer: Scored, release: Release, *, on: date) -> dict[str, Any]:
    """The resource as plain JSON; without a number it has no prediction, and its notes say why.

    Raises
    ------
    DocumentRefused
        When what was built breaks a rule of `checks.fhir_problems`: a fault of ours.
    """
    bundle = answer.bundle
    made: dict[str, Any] = {
        "resourceType": "RiskAssessment",
        **({"meta": {"security": [TEST_DATA]}} if bundle.demonstration else {}),
        "contained": [_device(answer, release)],
        "identifier": [{"system": "urn:ietf:rfc:3986", "value": f"urn:uuid:{run_id(answer, on)}"}],
        "status": "preliminary",
        "method": {"text": f"{bundle.id}, digest {bundle.digest[:SHORT_DIGEST]}"},
        "code": {"text": bundle.outcome.label},
        "subject": {"type": "Patient", "identifier": {"value": answer.estimate.case_id}},
        "occurrenceDateTime": on.isoformat(),
        "performer": {"reference": "#software"},
        **({"prediction": list(_predictions(answer))} if answer.estimate.shown else {}),
        "note": [{"text": text} for text in notes(answer)],
    }
    if faults := fhir_problems(made, release):
        raise DocumentRefused("the resource breaks its own rules: " + "; ".join(faults))
    return made


def run_id(answer: Scored, on: date) -> str:
    """A UUID of this answer: the same model, case, values and day give the same one."""
    held = answer.estimate
    return str(uuid5(NAMESPACE_OID, f"{answer.bundle.digest} {held.case_id} {held.log_odds} {on.isoformat()}"))


def _device(answer: Scored, release: Release) -> dict[str, Any]:
    made = answer.bundle.made_with.get("riskmodel", "unknown")
    name = {"value": "riskmodel", "type": "user-friendly-name"}
    if release is Release.R4:
        name = {"name": "riskmodel", "type": "user-friendly-name"}
    key = "deviceName" if release is Release.R4 else "name"
    return {"resourceType": "Device", "id": "software", key: [name], "version": [{"value": made}]}


def _predictions(answer: Scored) -> Iterator[dict[str, Any]]:
    """The interval first, then the point."""
    held = answer.estimate
    if held.probability is None or held.low is None or held.high is None:
        return
    common = {"outcome": {"text": answer.bundle.outcome.label}, **_when(answer.bundle.outcome.horizon_months)}
    interval = {"low": _percent_quantity(held.low), "high": _percent_quantity(held.high)}
    yield {**common, "probabilityRange": interval, "rationale": f"{held.level:.0%} interval of the estimate"}
    yield {**common, "probabilityDecimal": percent(held.probability), "rationale": "point of the estimate"}


def _when(months: float | None) -> dict[str, Any]:
    if months is None:
        return {}
    unit = {"unit": "months", "system": UCUM, "code": "mo"}
    return {"whenRange": {"low": {"value": 0, **unit}, "high": {"value": months, **unit}}}


def percent(probability: float) -> float:
    """A probability in percent, to a tenth."""
    return round(100.0 * probability, 1)


def _percent_quantity(probability: float) -> dict[str, Any]:
    return {"value": percent(probability), "unit": "%", "system": UCUM, "code": "%"}


def notes(answer: Scored) -> Iterator[str]:
    """Why there is no number, what speaks against it, and the cautions."""
    for gate in answer.estimate.gates:
        if not gate.passed:
            yield f"No number: {gate.says}." if gate.blocks else f"Caution: {gate.says}."
    published = answer.estimate.published
    if published is not None:
        yield f"Published: {published.says} ({published.source})."
    yield from answer.bundle.cautions
