"""Reading a priors file."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from riskmodel.dictionary.fields import Fields
from riskmodel.errors import Finding, PriorsRefused, refuse_errors
from training.priors.model import Confidence, Grounds, Per, Prior
from training.protocol import priors_document

FORMAT = 1


def read(name: str, outcome: str | None = None, *, beside: Path | None = None) -> tuple[Prior, ...]:
    """Read the priors of one outcome.

    Parameters
    ----------
    name : a path (relative to `beside`, if given), or a shipped name: "published.toml", "vague.toml"
    outcome : the outcome's name; None for a plain outcome, or for a file that speaks of none

    Raises
    ------
    PriorsRefused
        With every finding: a file that cannot be read, an unknown key, an SD not above 0, a term named twice, a file
        that speaks of another outcome.
    """
    return parse(priors_document(name, beside), outcome, sheet=Path(name).name)


def parse(document: Mapping[str, Any], outcome: str | None = None, *, sheet: str = "priors") -> tuple[Prior, ...]:
    """The priors of one outcome from a parsed file.

    A file speaks of the outcome that it names, or of any if it names none. `[also_for]` gives other outcomes as
    NAME = FACTOR: their means are the file's times the factor, unless an entry has `outcome = NAME` itself.

    Raises
    ------
    PriorsRefused
        As `read`.
    """
    findings: list[Finding] = []
    fields = Fields(document, sheet, "", findings)
    if fields.number("format", 0.0) != FORMAT:
        fields.fault("format", str(document.get("format", "nothing")), str(FORMAT), "unknown_format")
    fields.truth("library")
    factor = _factor(fields, outcome)
    entries = [_entry(part) for part in fields.tables("prior")]
    fields.finish()
    priors = _chosen(entries, outcome, factor)
    _name_doubles(fields, priors)
    refuse_errors(findings, PriorsRefused)
    return priors


def is_library(document: Mapping[str, Any]) -> bool:
    """Whether entries for terms that a protocol does not have are passed over: the file serves many protocols."""
    return bool(document.get("library", False))


def _factor(fields: Fields, outcome: str | None) -> float:
    """What the file's means are multiplied by for this outcome."""
    own = fields.optional("outcome")
    also = fields.raw("also_for")
    others = Fields(also if isinstance(also, dict) else {}, fields.sheet, "also_for", fields.findings)
    factors = {name: others.number(name, 1.0, positive=True) for name in others.table}
    if own is None or outcome == own:
        return 1.0
    if outcome not in factors:
        known = ", ".join([own, *factors])
        fields.fault("outcome", f"priors of {known}", f"priors of {outcome or 'a plain outcome'}", "other_outcome")
    return factors.get(outcome or "", 1.0)


def _entry(fields: Fields) -> tuple[str | None, Prior]:
    """The outcome that an entry is kept for, or None, and the entry."""
    outcome = fields.optional("outcome")
    prior = Prior(
        term=fields.text("term", None),
        column=fields.optional("column"),
        mean=_needed(fields, "mean"),
        sd=_needed(fields, "sd", positive=True),
        per=fields.choice("per", Per, Per.UNIT) or Per.UNIT,
        source=fields.text("source", None),
        confidence=fields.choice("confidence", Confidence) or Confidence.LOW,
        grounds=fields.choice("kind", Grounds, Grounds.SOURCED) or Grounds.SOURCED,
    )
    fields.finish()
    return outcome, prior


def _needed(fields: Fields, key: str, *, positive: bool = False) -> float:
    if key not in fields:
        fields.fault(key, "nothing", "a number above 0" if positive else "a number", "missing_key")
    return fields.number(key, 1.0 if positive else 0.0, positive=positive)


def _chosen(entries: list[tuple[str | None, Prior]], outcome: str | None, factor: float) -> tuple[Prior, ...]:
    """The outcome's own entries as they are; of the rest, those that it has none of its own for, means scaled."""
    own = [prior for kept_for, prior in entries if kept_for is not None and kept_for == outcome]
    spoken = {(prior.term, prior.column) for prior in own}
    shared = [prior for kept_for, prior in entries if kept_for is None and (prior.term, prior.column) not in spoken]
    return (*(replace(prior, mean=prior.mean * factor) for prior in shared), *own)


def _name_doubles(fields: Fields, priors: tuple[Prior, ...]) -> None:
    seen: set[tuple[str, str | None]] = set()
    for prior in priors:
        place = (prior.term, prior.column)
        if place in seen:
            named = prior.term if prior.column is None else f"{prior.term}, column {prior.column}"
            fields.fault("prior", f"{named} twice", "one entry for a term and column", "double_entry")
        seen.add(place)
