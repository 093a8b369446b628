"""What may be wrong where a protocol makes a predictor, or the outcome, from rows of a further table."""

from collections.abc import Iterable, Iterator

from riskmodel.dictionary.model import Dictionary, Kind, Variable
from riskmodel.errors import Finding
from training.protocol.known import Fault, Known
from training.protocol.model import Predictor, Protocol
from training.protocol.parse_rows import read_outcome_rule, read_predictor_rule
from training.protocol.row_rules import AnchorRule, EventRule, Fold, JoinRule, OutcomeRule, PredictorRule, known_from


def predictor_rows_faults(place: str, predictor: Predictor, known: Known) -> Iterator[Fault]:
    """Everything wrong with a predictor's `from`; `known` has its variable."""
    rows = predictor.from_rows
    if rows is None or not rows.table:  # a table without a name has been found already
        return
    rule, findings = read_predictor_rule(rows, predictor.variable, known.variables, place)
    yield from _faults(findings)
    if rule is None:
        return
    yield from _belongs(place, rule, known.variables[predictor.variable])
    if known_from(rule).later_than(known.moment):
        found = f"{predictor.variable} from rows known only from {known_from(rule).value} on"
        yield Fault(place, found, f"rows known at {known.moment.value}", "known_too_late")


def rows_faults(protocol: Protocol, dictionary: Dictionary) -> Iterator[Fault]:
    """Everything wrong with the outcome's `from`, and a key that any `from` needs."""
    rows, name = protocol.outcome.from_rows, protocol.outcome.name
    used = rows is not None or any(predictor.from_rows is not None for predictor in protocol.predictors)
    if used and protocol.cohort.key is None:
        yield Fault("cohort.key", "nothing", "the variable whose values tell which rows are a child's", "missing_key")
    if rows is None or not rows.table:
        return
    if protocol.outcome.column is not None:
        yield Fault("outcome.from", "rows beside a plain column", "a named outcome", "two_outcomes")
    rule, findings = read_outcome_rule(rows, dictionary.variables)
    yield from _faults(findings)
    if rule is not None and name is not None and name in dictionary.outcomes:
        yield from _tells(rule, dictionary, name)


def _faults(findings: Iterable[Finding]) -> Iterator[Fault]:
    for finding in findings:
        yield Fault(finding.column or "", finding.found, finding.accepted, finding.rule)


def _belongs(place: str, rule: PredictorRule, variable: Variable) -> Iterator[Fault]:
    """Whether the variable can hold what the rows become."""
    if isinstance(rule, JoinRule):
        return
    yes_no = isinstance(rule, AnchorRule) and rule.fold is Fold.BREACH
    if yes_no != (variable.kind is Kind.YES_NO) or not (yes_no or variable.kind.numeric):
        found = f"{variable.name}, a {variable.kind.value}"
        yield Fault(place, found, "a yes_no variable" if yes_no else "a variable that is a number", "form_of_kind")


def _tells(rule: OutcomeRule, dictionary: Dictionary, name: str) -> Iterator[Fault]:
    """A change in measurements can tell an outcome of one event only: its own."""
    outcome = dictionary.outcomes[name]
    if not isinstance(rule, EventRule) and outcome.first_of != (name,):
        accepted = 'an outcome that is one event, not several; or from = { table = "events", ... }'
        yield Fault("outcome.from.table", f"measures for {name}", accepted, "unknown_table")
