"""The draft of a whole map, as text."""

from collections.abc import Mapping

from riskmodel.dictionary.model import Dictionary
from riskmodel.errors import Finding, Severity, TableRefused
from training.registry.draft.guess import Guesses
from training.registry.draft.layout import find_layout
from training.registry.draft.lines import literal
from training.registry.draft.sheet import SheetDraft, left_out
from training.registry.mapping.fit import alike
from training.registry.mapping.marks import CHECK
from training.registry.sheets import Registry, Sheet
from training.registry.words import read_words

_HEAD = """\
# How this registry becomes a cohort. Drafted by the program: every line marked "{check}" is a guess.
# Go through them, correct what is wrong, and take the marks off: tidying refuses a map that still has one.
# "?" stands where somebody has to answer. The map holds names of columns and words from shipped lists, and no
# child's value; keep it so.
format = 1
dictionary = {dictionary}
"""


def draft_map(
    registry: Registry, dictionary: Dictionary, *, header_rows: Mapping[str, tuple[int, ...]] | None = None
) -> str:
    """Draft a map of the registry.

    Parameters
    ----------
    registry : the file as read
    dictionary : what the columns may become
    header_rows : by sheet, the rows of the header, where a person declares them

    Returns
    -------
    str
        A TOML text. Of the cells it holds only words that stand in the shipped lists.

    Raises
    ------
    TableRefused
        When no sheet has a row of column names of which at least two are known.
    """
    guesses, declared = Guesses(dictionary, read_words(dictionary)), header_rows or {}
    parts = [_HEAD.format(check=CHECK, dictionary=literal(dictionary.name)).splitlines()]
    children: list[str] = []
    for sheet in registry.sheets.values():
        part, drafted = _sheet(sheet, children, guesses, declared.get(sheet.name, ()), registry.base)
        parts.append(part)
        children += [sheet.name] if drafted else []
    if not children:
        accepted = "a row of column names of which at least two are known, or --header-rows SHEET=ROW"
        found = "no row of column names" if any(not sheet.empty for sheet in registry.sheets.values()) else "no cell"
        raise TableRefused([Finding(registry.name, None, None, found, accepted, Severity.ERROR, "no_header")])
    return "\n\n".join("\n".join(part) for part in parts) + "\n"


def _sheet(
    sheet: Sheet, children: list[str], guesses: Guesses, declared: tuple[int, ...], base: int
) -> tuple[list[str], bool]:
    """The part of the map for one sheet, and whether it was drafted as one of children."""
    if sheet.empty:
        return left_out(sheet, "an empty sheet"), False
    twin = next((name for name in children if alike(name, sheet.name)), None)
    if twin is not None:
        return left_out(sheet, f"looks like another copy of {twin}: which of the two holds?"), False
    layout = find_layout(sheet, guesses, declared)
    if layout is None:
        return left_out(sheet, "no row of known column names"), False
    return SheetDraft(sheet, layout, guesses).text(base, first=not children), True
