"""What a map says about one column and makes no sense to the dictionary."""

from collections.abc import Iterator

from riskmodel.cases.cells import accepted
from riskmodel.dictionary.model import LONG_TABLES, Kind, Role
from riskmodel.dictionary.names import suggestion
from training.registry.mapping.check_codes import allows, check_code, check_codes
from training.registry.mapping.model import UNANSWERED, ColumnRule, Keys, Reads, SheetRule
from training.registry.mapping.report import Report
from training.registry.reading.doubt import Doubt
from training.registry.reading.units import factor
from training.registry.reading.value import MISSING
from training.registry.targets import Target, Targets
from training.registry.words import names_person


def check_column(rule: ColumnRule, sheet: SheetRule, known: Targets, report: Report) -> None:
    """Add a finding for everything wrong with the rule."""
    place = f"{sheet.name}, column {rule.header}"
    if UNANSWERED in rule.to:
        report.fault(place, 'to = "?"', 'a variable, or not_carried = "..." in place of it', "unanswered")
        return
    unknown = [name for name in rule.to if name not in known]
    for name in unknown:
        report.fault(place, name, suggestion(name, known), "unknown_variable")
    if unknown or not rule.to:
        return
    held = [known[name] for name in rule.to]
    for found, said, name in (
        *_shape(rule, held),
        *_table(held, sheet),
        *_privacy(rule, held, sheet),
        *_words(rule, held),
    ):
        report.fault(place, found, said, name)
    _check_assignments(rule, known, report, place)


def _check_assignments(rule: ColumnRule, known: Targets, report: Report, place: str) -> None:
    """Everything that the rule gives to variables by name."""
    check_codes({**rule.codes, "filled": rule.when_filled, "empty": rule.when_empty}, known, report, place)
    for name, code in (*rule.when_filled, *rule.when_empty):
        if code == UNANSWERED:
            report.fault(place, f'{name} = "?"', "a code, or no such line", "unanswered")
    if rule.question_mark is not None:
        check_code(*rule.question_mark, known, report, place)
    if rule.status.as_of_to is not None and not (rule.status.as_of_to in known and known[rule.status.as_of_to].dated):
        report.fault(place, rule.status.as_of_to, "a date such as last_contact_date", "unknown_variable")


Fault = tuple[str, str, str]
"""What was found, what is accepted, the name of the check."""


def _shape(rule: ColumnRule, held: list[Target]) -> Iterator[Fault]:
    """As many variables, and of the kind, as the way of reading needs."""
    variables = [target.variable for target in held]
    if rule.reads is Reads.SIDES:
        if sorted(variable.side or "" for variable in variables) != ["left", "right"]:
            yield "sides of something else", 'to = ["the right side\'s variable", "the left one\'s"]', "sides"
    elif rule.reads is Reads.SPAN:
        if len(held) != 2 or variables[0].codes != variables[1].codes or not variables[0].codes:
            yield "ends of something else", 'to = ["the upper end", "the lower end"], of the same levels', "span"
    elif len(held) != 1:
        yield f"{len(held)} variables for one value", 'one variable, or reads = "span" or "sides"', "several_variables"
    if rule.reads in (Reads.AGE, Reads.BIRTH_DATE) and not variables[0].kind.numeric:
        yield variables[0].name, "a number of years or months", "not_an_age"
    if rule.reads is Reads.FLAG and not (variables[0].kind is Kind.FLAGS and rule.flag in variables[0].codes):
        yield f"flag = {rule.flag}", f"a flag of {accepted(variables[0])}", "unknown_code"


def _table(held: list[Target], sheet: SheetRule) -> Iterator[Fault]:
    """What a child has several of belongs to the sheet of that table, and nothing else does."""
    for target in held:
        variable = target.variable
        own = variable.table if variable.table in LONG_TABLES else None
        if variable.role is not Role.KEY and own != (sheet.becomes if sheet.becomes in LONG_TABLES else None):
            said = f'a sheet with becomes = "{variable.table}"'
            yield f"{target.name} in a sheet that becomes {sheet.becomes}", said, "wrong_table"


def _privacy(rule: ColumnRule, held: list[Target], sheet: SheetRule) -> Iterator[Fault]:
    """Identifiers and free text stay in the hospital, whatever the map says."""
    new_key = held[0].variable.role is Role.KEY and sheet.keys is Keys.NEW
    if names_person(rule.header) and not new_key and rule.reads is not Reads.BIRTH_DATE:
        said = 'not_carried = "identifier"; for the key, keys = "new"; for a date of birth, reads = "birth_date"'
        yield "a column for a direct identifier, by its name", said, "identifier_column"
    for target in held:
        free = target.variable.kind is Kind.TEXT and target.variable.role not in (Role.KEY, Role.CENTRE)
        if free and not rule.codes:
            said = 'not_carried = "free_text", or a code for each of a few words'
            yield f"free text for {target.name}", said, "free_text"


def _words(rule: ColumnRule, held: list[Target]) -> Iterator[Fault]:
    """Codes, empty words and units that every variable of the column allows."""
    for target in held:
        own = dict.fromkeys(code for assignments in rule.codes.values() for name, code in assignments if not name)
        allowed = {UNANSWERED, "yes", "no"} if rule.reads is Reads.FLAG else {UNANSWERED}
        for code in (*own, *filter(None, (rule.sides.named, rule.sides.not_named)), *rule.status.final):
            if code not in allowed and not allows(target, code):
                yield f"code {code}", accepted(target.variable), "unknown_code"
        for word in dict.fromkeys(rule.empty.values()):
            if word not in (MISSING, UNANSWERED, *target.variable.states):
                yield word, ", ".join((MISSING, *target.variable.states)), "unknown_code"
        yield from _units(rule, target)
    if rule.blank not in (None, "no"):
        yield f"blank = {rule.blank}", 'blank = "no", or nothing', "unknown_word"


def _units(rule: ColumnRule, target: Target) -> Iterator[Fault]:
    for unit in filter(None, (rule.number.unit, rule.number.small_unit)):
        try:
            factor(unit, target.variable.unit)
        except Doubt as doubt:
            yield f"unit {unit}", doubt.accepted, "unknown_unit"
    if (rule.number.small_below is None) != (rule.number.small_unit is None):
        yield "one of small_below and small_unit", "both of them, or neither", "small_unit"
