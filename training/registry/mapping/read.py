"""Read a map from its TOML file; what it says is held against dictionary and registry elsewhere."""

from pathlib import Path

from riskmodel.dictionary.fields import Fields, shown
from riskmodel.dictionary.model import TABLES
from riskmodel.errors import Finding, refuse_errors
from training.protocol.files import toml_document
from training.registry.mapping.column import column_rule
from training.registry.mapping.errors import MapRefused
from training.registry.mapping.marks import marked_lines
from training.registry.mapping.model import Keys, LaterOperations, RegistryMap, Rows, SheetRule
from training.registry.mapping.words import codes, plain_words, words

FORMAT = 1
_LISTED = 10


def read(path: str | Path) -> RegistryMap:
    """Read a map.

    Raises
    ------
    MapRefused
        With one finding for each unknown key, wrong type and unknown word, all at once.
    """
    path = Path(path)
    findings: list[Finding] = []
    fields = Fields(toml_document(path, MapRefused), path.name, "", findings)
    marked = marked_lines(path.read_text(encoding="utf-8"))
    if marked:
        lines = ", ".join(map(str, marked[:_LISTED])) + (", ..." if len(marked) > _LISTED else "")
        accepted = "each of them looked at, and the mark taken off"
        fields.fault(None, f"{len(marked)} guesses still marked # check (lines {lines})", accepted, "unchecked")
    fields.format(FORMAT)
    held = RegistryMap(
        name=path.name,
        dictionary=fields.text("dictionary", None),
        sheets=tuple(_sheet(part) for part in fields.tables("sheet")),
    )
    if not held.sheets:
        fields.fault("sheet", "nothing", "one [[sheet]] for each sheet of the registry", "missing_key")
    fields.finish()
    refuse_errors(findings, MapRefused)
    return held


def _sheet(fields: Fields) -> SheetRule:
    becomes = fields.optional("becomes")
    left_out = fields.truth("leave_out")
    if becomes is not None and becomes not in TABLES:
        fields.fault("becomes", becomes, "one of " + ", ".join(TABLES), "unknown_word")
    if (becomes is None) != left_out:
        accepted = 'either becomes = "children" or leave_out = true'
        fields.fault(None, "a sheet of which nothing, or two things, are said", accepted, "sheet")
    held = SheetRule(
        name=fields.text("name", None),
        becomes=becomes,
        header_rows=_row_numbers(fields, "header_rows") or (1,),
        last_row=_whole(fields, "last_row"),
        skip_words=fields.texts("skip_words"),
        fill_merged=fields.texts("fill_merged"),
        rows=fields.choice("rows", Rows, Rows.CHILDREN) or Rows.CHILDREN,
        keys=fields.choice("keys", Keys, Keys.AS_WRITTEN) or Keys.AS_WRITTEN,
        key_digits=_whole(fields, "key_digits"),
        always=words(fields, "always"),
        empty=plain_words(fields, "empty"),
        columns=tuple(column_rule(name, part) for name, part in fields.named_tables("column").items()),
        later=_later(fields),
    )
    fields.finish()
    return held


def _later(fields: Fields) -> LaterOperations | None:
    if "later_operations" not in fields:
        return None
    table = fields.raw("later_operations")
    if not isinstance(table, dict):
        fields.fault("later_operations", shown(table), "a table [sheet.later_operations]", "wrong_type")
        return None
    inner = Fields(table, fields.sheet, f"{fields.place}.later_operations", fields.findings)
    held = LaterOperations(
        column=inner.optional("column"),
        codes=codes(inner, "codes"),
        every=inner.optional("every"),
        without=inner.optional("without"),
        earlier_in=inner.optional("earlier_in"),
    )
    if held.without not in (None, "no", "unknown"):
        inner.fault("without", held.without or "", "no or unknown", "unknown_word")
    inner.finish()
    return held


def _row_numbers(fields: Fields, key: str) -> tuple[int, ...]:
    value = fields.raw(key)
    if value is None:
        return ()
    if not (isinstance(value, list) and value and all(type(part) is int and part > 0 for part in value)):
        fields.fault(key, shown(value), "a list of row numbers, such as [1] or [2, 3]", "wrong_type")
        return ()
    return tuple(value)


def _whole(fields: Fields, key: str) -> int | None:
    value = fields.raw(key)
    if value is None or (type(value) is int and value > 0):
        return value
    fields.fault(key, shown(value), "a whole number above 0", "wrong_type")
    return None
