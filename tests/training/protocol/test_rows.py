"""`from = { table = ..., ... }`: every option that cannot be used is refused with the words that are accepted."""

from dataclasses import replace
from types import MappingProxyType

import pytest

from riskmodel.dictionary.model import Moment
from training import protocol
from training.protocol import Form, FromRows, Predictor, Protocol
from training.protocol.check import faults
from training.protocol.parse_rows import outcome_rule, predictor_rule
from training.protocol.row_rules import AnchorRule, End, Fold, MeasureRule, Readers, When, Without

SHORT = protocol.read("fixation_failure_24m")
VARIABLES = SHORT.dictionary.variables
SOUND = {"when": "last before operation", "modality": "CT", "position": "neutral"}


def rows(table: str, **options: object) -> FromRows:
    return FromRows(table, MappingProxyType(options))


def with_predictor(name: str, held: FromRows, form: Form = Form.LINEAR) -> Protocol:
    return replace(SHORT, predictors=(Predictor(name, form, from_rows=held),), interactions=())


def found(held: Protocol) -> list[tuple[str, str, str]]:
    return [
        (fault.place, fault.found, fault.accepted) for fault in faults(held, SHORT.dictionary) if "from" in fault.place
    ]


def test_a_measured_predictor_has_a_rule() -> None:
    held = predictor_rule(rows("measures", **SOUND, readers="mean", **{"else": "film+marked"}), "adi_mm", VARIABLES)

    assert held == MeasureRule("adi_mm", When.LAST_BEFORE, "ct", "neutral", readers=Readers.MEAN, otherwise="film")


def test_counted_screws_have_a_rule() -> None:
    options = {"fold": "count", "site": ["c2_pedicle"], "end": "weaker", "without": "none"}

    held = predictor_rule(rows("screws", **options), "weaker_end_anchors", VARIABLES)

    assert held == AnchorRule("screws", Fold.COUNT, ("c2_pedicle",), End.WEAKER, without=Without.NONE)


@pytest.mark.parametrize(
    ("variable", "held", "place", "accepted"),
    [
        ("adi_mm", rows("measures"), "when", "one of last before operation, first before operation"),
        ("adi_mm", rows("measures"), "modality", "one of ct, film, mri"),
        ("adi_mm", rows("measures"), "position", "one of neutral, flexion, extension, not_stated"),
        ("adi_mm", rows("measures", **{**SOUND, "when": "latest"}), "when", "one of last before operation"),
        ("adi_mm", rows("measures", **{**SOUND, "modality": "xray"}), "modality", "one of ct, film, mri"),
        ("adi_mm", rows("measures", **SOUND, readers="median"), "readers", "one of mean"),
        ("adi_mm", rows("measures", **SOUND, **{"else": "film"}), "else", "film+marked"),
        ("adi_mm", rows("measures", **SOUND, **{"else": "ct+marked"}), "else", "another than modality"),
        ("adi_mm", rows("measures", **SOUND, traction="no"), "traction", "true or false"),
        ("adi_mm", rows("measures", **SOUND, of="adi"), "of", "a known variable|adi"),
        ("adi_mm", rows("measures", **SOUND, reader="mean"), "", "readers (the nearest known name)"),
        ("adi_mm", rows("measures", **{**SOUND, "when": "first after operation"}), "", "rows known at plan"),
        ("atlas_ring", rows("measures", **SOUND, of="adi_mm"), "", "a variable that is a number"),
        ("n_barely", rows("screws"), "fold", "one of count, n_fits, n_barely, min_margin_mm, any_breach"),
        ("n_barely", rows("screws", fold="count"), "without", "one of missing, none"),
        ("n_barely", rows("screws", fold="count", without="none", site=["c2_pedical"]), "site", "c2_pedicle"),
        ("n_barely", rows("screws", fold="count", without="none", end="top"), "end", "one of upper, lower, weaker"),
        ("n_barely", rows("screws", fold="count", without="none", done=True), "", "rows known at plan"),
        ("n_barely", rows("screws", fold="any_breach"), "", "a yes_no variable"),
        ("min_margin_mm", rows("screws", fold="min_margin_mm", end="weaker"), "end", "upper or lower"),
        ("n_barely", rows("corridors", fold="n_barely", without="none"), "diameter_mm", "the diameter of the screw"),
        ("n_barely", rows("corridors", fold="count", without="none"), "fold", "n_fits, n_barely, min_margin_mm"),
        ("n_barely", rows("theatre"), "table", "construct, where it belongs"),
        ("n_barely", rows("construct", when="x"), "", "table"),
        ("n_barely", rows("events"), "table", "events make the outcome"),
        ("n_barely", rows("screw"), "table", "one of measures, screws, corridors, sides, anatomy"),
    ],
)
def test_wrong_options_are_refused_with_the_accepted_words(
    variable: str, held: FromRows, place: str, accepted: str
) -> None:
    form = Form.LEVELS if variable == "atlas_ring" else Form.LINEAR

    told = found(with_predictor(variable, held, form))

    column = ".".join(part for part in ("predictor[1].from", place) if part)
    assert any(where == column and any(word in says for word in accepted.split("|")) for where, _, says in told), told


def test_rows_known_later_may_predict_at_a_later_moment() -> None:
    held = with_predictor("adi_mm", rows("measures", **{**SOUND, "when": "first after operation"}))

    assert found(replace(held, moment=Moment.FOLLOW_UP)) == []


@pytest.mark.parametrize(
    ("held", "place", "accepted"),
    [
        (rows("events"), "outcome.from.without", "one of no, unknown"),
        (rows("events", without="yes"), "outcome.from.without", "one of no, unknown"),
        (rows("screws"), "outcome.from.table", "one of events, measures"),
        (rows("measures"), "outcome.from.of", "a list of measured variables"),
        (rows("measures", of=["adi_mm"]), "outcome.from.at_least", "the least change that counts"),
        (rows("measures", of=["adi_mm"], at_least=2), "outcome.from.table", "an outcome that is one event"),
        (rows("measures", of=["sex"], at_least=2), "outcome.from.of", "a variable that is a number"),
    ],
)
def test_wrong_options_of_the_outcome_are_refused(held: FromRows, place: str, accepted: str) -> None:
    told = found(replace(SHORT, outcome=replace(SHORT.outcome, from_rows=held)))

    assert any(where == place and accepted in says for where, _, says in told), told


def test_rows_need_a_key() -> None:
    held = replace(SHORT.outcome, from_rows=rows("events", without="no"))
    keyless = replace(SHORT, outcome=held, cohort=replace(SHORT.cohort, key=None))

    assert [fault.place for fault in faults(keyless, SHORT.dictionary)] == ["cohort.key"]
    assert outcome_rule(rows("events", without="no"), VARIABLES) is not None
