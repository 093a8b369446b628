"""From the options of `from = { table = ..., ... }` to a rule; every option that it cannot use is a finding."""

from collections.abc import Callable, Mapping

from riskmodel.dictionary.fields import Fields, any_of, shown
from riskmodel.dictionary.model import Variable
from riskmodel.dictionary.names import suggestion
from riskmodel.errors import Finding, ProtocolRefused, refuse_errors
from training.protocol.model import FromRows
from training.protocol.row_rules import (
    AnchorRule,
    ChangeRule,
    End,
    EventRule,
    Fold,
    JoinRule,
    MeasureRule,
    OutcomeRule,
    PredictorRule,
    Readers,
    When,
    Without,
)

WIDE = ("sides", "anatomy", "construct", "theatre")
_PREDICTOR_TABLES = ("measures", "screws", "corridors", *WIDE)
_OUTCOME_TABLES = ("events", "measures")
_MARKED = "+marked"
_NO, _UNKNOWN = "no", "unknown"

Variables = Mapping[str, Variable]


def read_predictor_rule(
    rows: FromRows, variable: str, variables: Variables, place: str
) -> tuple[PredictorRule | None, tuple[Finding, ...]]:
    """The rule by which rows become the predictor, or None with findings."""
    fields = _fields(rows, place)
    if rows.table in _PREDICTOR_TABLES:
        rule = _PREDICTOR_RULES[rows.table](fields, variable, variables)
        fields.finish()
        return rule, tuple(fields.findings)
    hint = "; events make the outcome: from = { ... } in [outcome]" if rows.table == "events" else ""
    fields.fault("table", rows.table, any_of(_PREDICTOR_TABLES) + hint, "unknown_table")
    return None, tuple(fields.findings)


def read_outcome_rule(
    rows: FromRows, variables: Variables, place: str = "outcome.from"
) -> tuple[OutcomeRule | None, tuple[Finding, ...]]:
    """The rule by which rows become the outcome, or None with findings."""
    fields = _fields(rows, place)
    if rows.table not in _OUTCOME_TABLES:
        fields.fault("table", rows.table, any_of(_OUTCOME_TABLES), "unknown_table")
        return None, tuple(fields.findings)
    rule = _events(fields) if rows.table == "events" else _change(fields, variables)
    fields.finish()
    return rule, tuple(fields.findings)


def predictor_rule(rows: FromRows, variable: str, variables: Variables) -> PredictorRule:
    """The rule of a predictor.

    Raises
    ------
    ProtocolRefused
        With everything that is wrong with its options.
    """
    rule, findings = read_predictor_rule(rows, variable, variables, "predictor.from")
    held = refuse_errors(findings, ProtocolRefused)
    if rule is None:  # a rule that is not there was said to be at fault
        raise ProtocolRefused(held)
    return rule


def outcome_rule(rows: FromRows, variables: Variables) -> OutcomeRule:
    """The rule of the outcome.

    Raises
    ------
    ProtocolRefused
        With everything that is wrong with its options.
    """
    rule, findings = read_outcome_rule(rows, variables)
    held = refuse_errors(findings, ProtocolRefused)
    if rule is None:
        raise ProtocolRefused(held)
    return rule


def _fields(rows: FromRows, place: str) -> Fields:
    fields = Fields({"table": rows.table, **rows.options}, "", place, [])
    fields.raw("table")
    return fields


def _measure(fields: Fields, variable: str, variables: Variables) -> MeasureRule:
    return MeasureRule(
        of=_measured(fields, fields.text("of", variable), variables),
        when=fields.choice("when", When) or When.LAST_BEFORE,
        modality=_code(fields, "modality", "measure_modality", variables),
        position=_code(fields, "position", "measure_position", variables),
        traction=fields.truth("traction"),
        readers=fields.choice("readers", Readers) if fields.raw("readers") is not None else None,
        otherwise=_otherwise(fields, variables),
    )


def _measured(fields: Fields, name: str, variables: Variables) -> str:
    held = variables.get(name)
    if held is None:
        fields.fault("of", f"the unknown variable {name}", suggestion(name, variables), "unknown_variable")
    elif not held.kind.numeric:
        fields.fault("of", f"{name}, a {held.kind.value}", "a variable that is a number", "not_measured")
    return name


def _code(fields: Fields, key: str, column: str, variables: Variables) -> str:
    """A word of a level column of the table, in small letters whatever the protocol uses."""
    word, codes = fields.text(key).lower(), _codes(column, variables)
    if word not in codes:
        fields.fault(key, word or "nothing", any_of(codes), "unknown_word" if word else "missing_key")
    return word


def _codes(column: str, variables: Variables) -> tuple[str, ...]:
    return variables[column].codes if column in variables else ()


def _otherwise(fields: Fields, variables: Variables) -> str | None:
    text = fields.optional("else")
    if text is None:
        return None
    words = [code + _MARKED for code in _codes("measure_modality", variables)]
    if text.lower() not in words or text.lower() == fields.text("modality").lower() + _MARKED:
        fields.fault("else", text, f"{any_of(words)}, another than modality", "unknown_word")
    return text.lower().removesuffix(_MARKED)


def _screws(fields: Fields, variable: str, variables: Variables) -> AnchorRule:
    fold = fields.choice("fold", Fold) or Fold.COUNT
    return AnchorRule(
        table="screws",
        fold=fold,
        sites=_sites(fields, "screw_site", variables),
        end=_end(fields, fold),
        done=fields.truth("done"),
        without=_without(fields, fold),
    )


def _corridors(fields: Fields, variable: str, variables: Variables) -> AnchorRule:
    fold = fields.choice("fold", Fold) or Fold.FITTING
    if not fold.by_margin:
        folds = any_of(each.value for each in Fold if each.by_margin)
        fields.fault("fold", f"{fold.value} of corridors", folds, "unknown_word")
    if fields.raw("diameter_mm") is None:
        fields.fault("diameter_mm", "nothing", "the diameter of the screw in the corridor, above 0", "missing_key")
    return AnchorRule(
        table="corridors",
        fold=fold,
        sites=_sites(fields, "corridor_site", variables),
        end=_end(fields, fold),
        diameter_mm=fields.number("diameter_mm", 1.0, positive=True),
        without=_without(fields, fold),
    )


def _sites(fields: Fields, column: str, variables: Variables) -> tuple[str, ...]:
    sites, codes = fields.texts("site"), _codes(column, variables)
    for site in sites:
        if site not in codes:
            fields.fault("site", site, suggestion(site, codes), "unknown_level")
    return sites


def _end(fields: Fields, fold: Fold) -> End | None:
    if fields.raw("end") is None:
        return None
    end = fields.choice("end", End)
    if end is End.WEAKER and fold in (Fold.MARGIN, Fold.BREACH):
        fields.fault("end", f"weaker with {fold.value}", "upper or lower, or a fold that counts", "unknown_word")
    return end


def _without(fields: Fields, fold: Fold) -> Without:
    """Needed wherever rows are counted: no row may mean none, or that nobody filled the table."""
    if fold in (Fold.MARGIN, Fold.BREACH):
        return Without.MISSING
    return fields.choice("without", Without) or Without.MISSING


def _join(fields: Fields, variable: str, variables: Variables) -> JoinRule:
    table, held = fields.text("table"), variables.get(variable)
    if held is not None and held.table != table:
        fields.fault("table", f"{variable} from {table}", f"{held.table}, where it belongs", "other_table")
    return JoinRule(table)


def _events(fields: Fields) -> EventRule:
    word = fields.text("without")
    if word not in (_NO, _UNKNOWN):
        fields.fault("without", word or "nothing", any_of((_NO, _UNKNOWN)), "unknown_word")
    return EventRule(word)


def _change(fields: Fields, variables: Variables) -> ChangeRule:
    names = fields.texts("of")
    if not names:
        fields.fault("of", shown(fields.raw("of")), "a list of measured variables", "missing_key")
    for name in names:
        _measured(fields, name, variables)
    if fields.raw("at_least") is None:
        fields.fault("at_least", "nothing", "the least change that counts, above 0", "missing_key")
    return ChangeRule(names, fields.number("at_least", 1.0, positive=True))


_PREDICTOR_RULES: dict[str, Callable[[Fields, str, Variables], PredictorRule]] = {
    "measures": _measure,
    "screws": _screws,
    "corridors": _corridors,
    **dict.fromkeys(WIDE, _join),
}
