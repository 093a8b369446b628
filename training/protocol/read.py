"""Reading a protocol: one TOML file, its dictionary and its priors, checked against each other."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from riskmodel import derive, dictionary
from riskmodel.derive import Derivation
from riskmodel.dictionary.fields import Fields
from riskmodel.dictionary.model import Dictionary, Moment
from riskmodel.errors import DictionaryRefused, Finding, PriorsRefused, ProtocolRefused, refuse_errors
from training.protocol import parse
from training.protocol.check import faults
from training.protocol.files import SHIPPED_PROTOCOLS, plain, priors_document, toml_document, with_days
from training.protocol.model import Protocol
from training.protocol.values import day, table, whole

FORMAT = 1
NO_DICTIONARY = Dictionary(name="", version="", variables=MappingProxyType({}))


def read(path: Path | str) -> Protocol:
    """Read a protocol by its path, or by the name of a shipped one ("revision_24m").

    Raises
    ------
    ProtocolRefused
        With every finding at once: unknown keys and names with the nearest known ones, wrong types, missing keys,
        predictors that are known too late or cannot predict, options that contradict each other, a dictionary or a
        priors file that is refused itself.
    """
    path = _located(Path(path))
    document = toml_document(path, ProtocolRefused)
    findings: list[Finding] = []
    fields = Fields(document, path.name, "", findings)
    words = _dictionary(fields, path.parent, findings)
    held = replace(_parsed(fields, words), document=plain(document))
    held = replace(held, priors=_priors(held, path.parent, findings))
    if words is not NO_DICTIONARY:  # else there is nothing to compare with, and that has been found
        findings += _compared(held, path.name)
    refuse_errors(findings, ProtocolRefused)
    return held


def from_document(document: Mapping[str, Any], words: Dictionary, *, sheet: str) -> Protocol:
    """The protocol that a bundle or another file holds as plain JSON, read again under a dictionary.

    What was held beforehand of its effects is not read again: `priors` is None.

    Parameters
    ----------
    document : as `Protocol.document`
    words : the dictionary that the protocol names, whole
    sheet : where the document stood, for findings

    Raises
    ------
    ProtocolRefused
        As `read`.
    """
    findings: list[Finding] = []
    fields = Fields(with_days(document, ("released", "review_by")), sheet, "", findings)
    fields.text("dictionary", None)
    held = replace(_parsed(fields, words), document=document)
    findings += _compared(held, sheet)
    refuse_errors(findings, ProtocolRefused)
    return held


def _located(path: Path) -> Path:
    shipped = SHIPPED_PROTOCOLS / f"{path}.toml"
    return shipped if path.name == str(path) and not path.is_file() and shipped.is_file() else path


def _dictionary(fields: Fields, folder: Path, findings: list[Finding]) -> Dictionary:
    name = fields.text("dictionary", None)
    if not name:
        return NO_DICTIONARY
    try:
        return dictionary.read(name, folder)
    except DictionaryRefused as error:
        findings += error.findings
        return NO_DICTIONARY


def _priors(held: Protocol, folder: Path, findings: list[Finding]) -> Mapping[str, Any] | None:
    if held.fit.priors is None:
        return None
    try:
        held_priors: dict[str, Any] = plain(priors_document(held.fit.priors, folder))
        return held_priors
    except PriorsRefused as error:
        findings += error.findings
        return None


def _parsed(fields: Fields, words: Dictionary) -> Protocol:
    """The file's values, with neutral ones where a finding was added."""
    fields.format(FORMAT)
    held = Protocol(
        name=fields.text("name", None),
        title=fields.text("title", None),
        dictionary=words,
        released=day(fields, "released"),
        review_by=day(fields, "review_by"),
        demonstration=fields.truth("demonstration"),
        moment=fields.choice("moment", Moment) or Moment.FOLLOW_UP,
        planned_from_operation_note=fields.truth("planned_from_operation_note"),
        seed=whole(fields, "seed", 0, least=0),
        cohort=parse.cohort_rules(table(fields, "cohort")),
        outcome=parse.outcome_rules(table(fields, "outcome")),
        derive=tuple(parse.derivation(part) for part in fields.tables("derive")),
        predictors=tuple(parse.predictor(part) for part in fields.tables("predictor")),
        interactions=tuple(parse.interaction(part) for part in fields.tables("interaction")),
        fit=parse.fit_rules(table(fields, "fit")),
        replays=parse.replays(table(fields, "replay")),
        report=parse.report_rules(table(fields, "report")),
        gates=parse.gate_rules(table(fields, "gates")),
        document={},
    )
    fields.finish()
    return held


def _compared(held: Protocol, sheet: str) -> list[Finding]:
    """What the protocol contradicts in its dictionary or in itself."""
    extended = derive.extended(held.dictionary, _sound(held.derive, held.dictionary))
    problems = derive.problems(held.derive, held.dictionary, sheet)
    return [*problems, *(fault.finding(sheet) for fault in faults(held, extended))]


def _sound(derivations: tuple[Derivation, ...], words: Dictionary) -> tuple[Derivation, ...]:
    """Those that can be made: a predictor may rest on them though others are at fault."""
    sound: tuple[Derivation, ...] = ()
    for derivation in derivations:
        if not derive.problems((*sound, derivation), words):
            sound = (*sound, derivation)
    return sound
