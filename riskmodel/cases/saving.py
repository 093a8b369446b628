"""A case as a case file: what `parse_case_file` reads back as the same values."""

import json
import re
from collections.abc import Iterator, Mapping

from riskmodel.cases.casefile import FORMAT, NO_KEY
from riskmodel.tables import Cell, as_text

_NUMBER = re.compile(r"-?(?:0|[1-9]\d{0,17})(?:\.\d{1,17})?", re.ASCII)
_PLAIN_KEY = re.compile(r"[A-Za-z0-9_-]+", re.ASCII)


def case_file_text(case_id: str, values: Mapping[str, Cell]) -> str:
    """The text of a case file. A value that reads back as the same text is written as a number, any other as a text.

    >>> print(case_file_text("TW-204", {"age_years": "9.2", "condition": "down", "adi_mm": 9.50}))
    format = 1
    case_id = "TW-204"
    <BLANKLINE>
    [values]
    age_years = 9.2
    condition = "down"
    adi_mm = 9.5
    <BLANKLINE>
    """
    return "\n".join(_lines(case_id, values)) + "\n"


def _lines(case_id: str, values: Mapping[str, Cell]) -> Iterator[str]:
    yield f"format = {FORMAT}"
    yield f"case_id = {quoted(case_id.strip() or NO_KEY)}"
    yield ""
    yield "[values]"
    for name, value in values.items():
        text = as_text(value)
        yield f"{_key(name)} = {text if _is_number(text) else quoted(text)}"


def _is_number(text: str) -> bool:
    if not _NUMBER.fullmatch(text):
        return False
    return as_text(float(text) if "." in text else int(text)) == text


def _key(name: str) -> str:
    return name if _PLAIN_KEY.fullmatch(name) else quoted(name)


def quoted(text: str) -> str:
    """A text as TOML writes it (a basic string): JSON's escapes are TOML's, but for DEL, which JSON leaves as it is."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
