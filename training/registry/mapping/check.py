"""What in a map makes no sense to the dictionary."""

from collections.abc import Iterator

from riskmodel.dictionary.model import Dictionary, Role
from riskmodel.dictionary.roles import holder, origin
from riskmodel.errors import Finding
from training.registry.mapping.check_codes import check_code, check_codes
from training.registry.mapping.check_column import check_column
from training.registry.mapping.model import UNANSWERED, ColumnRule, Reads, RegistryMap, Rows, SheetRule
from training.registry.mapping.report import Report
from training.registry.reading.value import MISSING
from training.registry.targets import CHILDREN, targets

EARLIER, NOTHING = "earlier", "nothing"


def check_map(held: RegistryMap, dictionary: Dictionary) -> tuple[Finding, ...]:
    """Everything in the map that the dictionary does not know or does not allow."""
    report = Report(held.name)
    known = targets(dictionary)
    for sheet in held.sheets:
        if sheet.becomes is None:
            continue
        for rule in sheet.columns:
            check_column(rule, sheet, known, report)
        for name, code in sheet.always.items():
            place = f"{sheet.name}, always"
            check_code(name, code, known, report, place)
            if code == UNANSWERED:
                report.fault(place, f'{name} = "?"', "the code that every child has", "unanswered")
        _check_sheet(sheet, dictionary, report)
        if sheet.later is not None:
            _check_later(sheet, dictionary, report)
    if all(sheet.becomes != CHILDREN for sheet in held.sheets):
        report.fault(None, "no sheet of children", 'one [[sheet]] with becomes = "children"', "no_children")
    return tuple(report.findings)


def _check_sheet(sheet: SheetRule, dictionary: Dictionary, report: Report) -> None:
    for said in dict.fromkeys(sheet.empty.values()):
        if said not in (MISSING, UNANSWERED):
            accepted = f"{MISSING}; a state belongs to its column"
            report.fault(f"{sheet.name}, empty", said, accepted, "unknown_code")
    key, start = holder(dictionary, Role.KEY), origin(dictionary)
    carried = [name for rule in sheet.columns for name in rule.to]
    if key is not None and key.name not in carried:
        report.fault(sheet.name, "no column with the key", f'a column with to = "{key.name}"', "no_key_column")
    if sheet.rows is Rows.OPERATIONS:
        if start is not None and start.name not in carried:
            report.fault(sheet.name, "no date of the operation", f'a column with to = "{start.name}"', "no_date_column")
        if sheet.later is None:
            accepted = "[sheet.later_operations], which says what the further rows of a child are"
            report.fault(sheet.name, "rows that are operations, and nothing about the later ones", accepted, "later")
    for name, headers in _twice(sheet.columns):
        accepted = 'one column, or combine = "latest" or "earliest" in each'
        report.fault(sheet.name, f"{', '.join(headers)}: all for {name}", accepted, "two_columns")


def _twice(rules: tuple[ColumnRule, ...]) -> Iterator[tuple[str, list[str]]]:
    """Variables that several columns are for, without a rule that says which holds."""
    single = [rule for rule in rules if rule.combine is None and rule.reads not in (Reads.FLAG, Reads.BIRTH_DATE)]
    names = dict.fromkeys(name for rule in single for name in rule.to if name != UNANSWERED)
    for name in names:
        headers = [rule.header for rule in single if name in rule.to]
        if len(headers) > 1:
            yield name, headers


def _check_later(sheet: SheetRule, dictionary: Dictionary, report: Report) -> None:
    later = sheet.later
    if later is None:
        return
    place = f"{sheet.name}, later_operations"
    if later.column is None and later.every is None:
        report.fault(place, "neither column nor every", 'column = "HEADER", or every = "EVENT"', "later")
    events = {*dictionary.events, *dictionary.outcomes}
    for word in (*([later.every] if later.every else []), *_own_codes(sheet)):
        if word not in events and word not in (EARLIER, NOTHING, UNANSWERED):
            accepted = f"an event or outcome of the dictionary, {EARLIER}, {NOTHING}, or {{ variable = code }}"
            report.fault(place, word, accepted, "unknown_event")
    known = targets(dictionary)
    check_codes(
        {word: tuple(part for part in held if part[0]) for word, held in later.codes.items()}, known, report, place
    )
    if later.earlier_in is not None and later.earlier_in not in dictionary.variables:
        report.fault(place, later.earlier_in, "a variable that counts earlier operations", "unknown_variable")


def _own_codes(sheet: SheetRule) -> list[str]:
    held = sheet.later.codes if sheet.later else {}
    return [code for assignments in held.values() for name, code in assignments if not name]
