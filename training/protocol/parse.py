"""From the tables of a protocol's file to frozen values; what the values mean is checked elsewhere."""

from types import MappingProxyType

from riskmodel.bundle import Published
from riskmodel.derive import Derivation
from riskmodel.dictionary.fields import Fields, is_number, shown
from riskmodel.eligibility import Requirement
from training.protocol.model import (
    CohortRules,
    Factor,
    FitRules,
    Form,
    FromRows,
    GateRules,
    Interaction,
    OutcomeRules,
    Predictor,
    ReportRules,
    SmallCentres,
)
from training.protocol.values import lists_of_texts, numbers, table, whole

NEGATION = "not "
SCALE_WORDS = ("evidence", "flat")


def cohort_rules(fields: Fields) -> CohortRules:
    """The `[cohort]` table."""
    held = CohortRules(
        key=fields.optional("key"),
        only=tuple(_requirement(part) for part in fields.tables("only")),
        centre=fields.optional("centre"),
        year=fields.optional("year"),
    )
    fields.finish()
    return held


def _requirement(fields: Fields) -> Requirement:
    held = Requirement(
        variable=fields.text("variable", None),
        at_least=fields.optional_number("at_least"),
        at_most=fields.optional_number("at_most"),
        one_of=fields.texts("one_of"),
    )
    fields.finish()
    return held


def outcome_rules(fields: Fields) -> OutcomeRules:
    """The `[outcome]` table."""
    held = OutcomeRules(
        name=fields.optional("name"),
        horizon_months=fields.number("horizon_months", 1.0, positive=True) if "horizon_months" in fields else None,
        visit_window_months=fields.number("visit_window_months", 0.0),
        competes=fields.texts("competes"),
        censoring_by_centre=fields.truth("censoring_by_centre"),
        column=fields.optional("column"),
        event_value=fields.optional("event_value"),
        published=_published(table(fields, "published")) if "published" in fields else None,
        from_rows=_from_rows(table(fields, "from")) if "from" in fields else None,
    )
    fields.finish()
    return held


def _published(fields: Fields) -> Published:
    """What was published of the outcome, said to a child that gets no number."""
    held = Published(
        says=fields.text("says", None),
        low=fields.optional_number("low"),
        high=fields.optional_number("high"),
        source=fields.text("source", None),
    )
    limits = [limit for limit in (held.low, held.high) if limit is not None]
    if limits != sorted(limits) or any(not 0.0 <= limit <= 1.0 for limit in limits):
        fields.fault("low", " and ".join(map(str, limits)), "low and high within 0 to 1, low first", "bad_range")
    fields.finish()
    return held


def derivation(fields: Fields) -> Derivation:
    """One `[[derive]]` table."""
    held = Derivation(
        name=fields.text("name", None),
        operation=fields.text("operation", None),
        of=fields.texts("of"),
        level=fields.optional("level"),
    )
    fields.finish()
    return held


def predictor(fields: Fields) -> Predictor:
    """One `[[predictor]]` table."""
    held = Predictor(
        variable=fields.text("variable", None),
        form=fields.choice("form", Form) or Form.LINEAR,
        clip=fields.pair("clip"),
        states=fields.texts("states"),
        pooled_in=fields.optional("pooled_in"),
        knots=numbers(fields, "knots"),
        centre=fields.optional_number("centre"),
        scale=fields.number("scale", 1.0, positive=True) if "scale" in fields else None,
        reference=fields.optional("reference"),
        from_rows=_from_rows(table(fields, "from")) if "from" in fields else None,
        score_at=fields.optional("score_at"),
    )
    fields.finish()
    return held


def _from_rows(fields: Fields) -> FromRows:
    options = {key: value for key, value in fields.table.items() if key != "table"}
    return FromRows(fields.text("table", None), MappingProxyType(options))


def interaction(fields: Fields) -> Interaction:
    """One `[[interaction]]` table."""
    held = Interaction(tuple(factor(word) for word in fields.texts("of")))
    fields.finish()
    return held


def factor(word: str) -> Factor:
    """`variable`, `variable=level` or `not variable`.

    >>> factor("not includes_occiput"), factor("condition=down").level
    (Factor(variable='includes_occiput', level=None, negated=True), 'down')
    """
    negated = word.startswith(NEGATION)
    variable, _, level = word.removeprefix(NEGATION).partition("=")
    return Factor(variable.strip(), level.strip() or None, negated)


def fit_rules(fields: Fields) -> FitRules:
    """The `[fit]` table."""
    usual = FitRules()
    held = FitRules(
        candidates=fields.texts("candidates") if "candidates" in fields else usual.candidates,
        choose=fields.text("choose", usual.choose),
        scale=_scale(fields, usual.scale),
        priors=fields.optional("priors"),
        centre_sd=fields.number("centre_sd", 1.0, positive=True) if "centre_sd" in fields else None,
    )
    fields.finish()
    return held


def _scale(fields: Fields, usual: str | float) -> str | float:
    value = fields.raw("scale")
    if value is None or value in SCALE_WORDS:
        return usual if value is None else str(value)
    if is_number(value) and value > 0:
        return float(value)
    fields.fault("scale", shown(value), '"evidence", "flat", or a number above 0', "wrong_type")
    return usual


def report_rules(fields: Fields) -> ReportRules:
    """The `[report]` table."""
    held = ReportRules(
        thresholds=fields.pair("thresholds") or ReportRules().thresholds,
        subgroups=fields.texts("subgroups"),
        small_centres=fields.choice("small_centres", SmallCentres, SmallCentres.MERGED) or SmallCentres.MERGED,
        era_from=whole(fields, "era_from", 0, least=1900) or None,
    )
    fields.finish()
    return held


def gate_rules(fields: Fields) -> GateRules:
    """The `[gates]` table."""
    held = GateRules(
        like_cases=lists_of_texts(fields, "like_cases"),
        like_cases_at_least=whole(fields, "like_cases_at_least", GateRules().like_cases_at_least, least=1),
    )
    fields.finish()
    return held


def replays(fields: Fields) -> int:
    """How often the `[replay]` table asks for the whole pipeline to be repeated."""
    times = whole(fields, "times", 500, least=20)
    fields.finish()
    return times
