"""The workbook itself."""

from io import BytesIO
from textwrap import wrap

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from riskmodel.dictionary.model import Dictionary, Kind, Role
from training.registry.targets import Target
from training.registry.template.columns import Plan, plans
from training.registry.template.entries import Place, listed_words, validation
from training.registry.template.guide import GUIDE_HEAD, RULES, guide_rows

GUIDE, LISTS = "how to fill", "lists"
_GUIDE_WIDTHS = (10, 26, 34, 34, 18, 52, 60)
_NARROWEST, _WIDEST = 12, 28
_LINE_POINTS, _TALLEST_POINTS = 15.0, 409.0  # a spreadsheet takes no taller row
_BOLD = Font(name="Calibri", size=11, bold=True)


def template(dictionary: Dictionary, more: tuple[str, ...] = ()) -> bytes:
    """An empty workbook (xlsx): the children with the core columns, how to fill them, and the tables asked for.

    Parameters
    ----------
    dictionary : what the columns are
    more : further tables, such as sides and screws

    Raises
    ------
    DocumentRefused
        When the dictionary has no such table.
    """
    sheets = plans(dictionary, more)
    book = Workbook()
    book.remove(book.worksheets[0])
    first, *others = sheets
    pages = [(first, book.create_sheet(first.name))]
    _guide(book.create_sheet(GUIDE), sheets)
    pages += [(plan, book.create_sheet(plan.name)) for plan in others]
    lists = _Lists(book.create_sheet(LISTS))
    for plan, sheet in pages:
        _fill(sheet, plan, lists)
    held = BytesIO()
    book.save(held)
    return held.getvalue()


class _Lists:
    """The sheet with the words of the drop-downs, one column for each list that differs."""

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet = sheet
        self.places: dict[tuple[str, ...], str] = {}

    def place(self, name: str, words: tuple[str, ...]) -> str | None:
        """The range that holds these words; None for no words."""
        if words and words not in self.places:
            column = len(self.places) + 1
            letter = get_column_letter(column)
            self.sheet.cell(1, column, name).font = _BOLD
            for row, word in enumerate(words, start=2):
                # A number typed into a cell matches a number of the list, not a text that looks like one.
                self.sheet.cell(row, column, int(word) if word.isdigit() else word)
            self.places[words] = f"'{LISTS}'!${letter}$2:${letter}${len(words) + 1}"
        return self.places.get(words)


def _fill(sheet: Worksheet, plan: Plan, lists: _Lists) -> None:
    for number, target in enumerate(plan.columns, start=1):
        place = Place(get_column_letter(number))
        sheet.cell(1, number, target.name).font = _BOLD
        sheet.column_dimensions[place.letter].width = min(max(len(target.name) + 2, _NARROWEST), _WIDEST)
        words_at = lists.place(target.variable.name, listed_words(target))
        rule = validation(target, place, words_at, once=plan.one_row)
        if rule is not None:
            sheet.add_data_validation(rule)
        number_format = _format(target)
        if number_format is not None:
            sheet.column_dimensions[place.letter].number_format = number_format
    sheet.freeze_panes = "B2"


def _format(target: Target) -> str | None:
    """Dates show as they are written; keys, centres and levels of the spine stay texts (3-4 would become a date)."""
    if target.dated:
        return "yyyy-mm-dd"
    text = target.variable.kind in (Kind.TEXT, Kind.FLAGS) or target.variable.role is Role.KEY
    return "@" if text else None


def _guide(sheet: Worksheet, sheets: tuple[Plan, ...]) -> None:
    for row, rule in enumerate(RULES, start=1):
        sheet.cell(row, 1, rule)
    head = len(RULES) + 2
    for column, (title, width) in enumerate(zip(GUIDE_HEAD, _GUIDE_WIDTHS, strict=True), start=1):
        sheet.cell(head, column, title).font = _BOLD
        sheet.column_dimensions[get_column_letter(column)].width = width
    for row, cells in enumerate(guide_rows(sheets), start=head + 1):
        sheet.row_dimensions[row].height = _height(cells)
        for column, text in enumerate(cells, start=1):
            sheet.cell(row, column, text).alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = f"C{head + 1}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _height(cells: tuple[str, ...]) -> float:
    """Points that the tallest of these wrapped cells needs; no program works it out when it opens the file."""
    lines = [
        sum(len(wrap(part, width - 1)) or 1 for part in text.split("\n"))
        for text, width in zip(cells, _GUIDE_WIDTHS, strict=True)
    ]
    return min(_LINE_POINTS * max(lines), _TALLEST_POINTS)
