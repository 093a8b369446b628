"""What a form sends: texts by variable, each empty or filled; nothing is judged here."""

from collections.abc import Mapping
from dataclasses import dataclass

from starlette.datastructures import FormData
from starlette.requests import Request

from riskmodel.dictionary.model import Dictionary, Kind

# A form names each field at most three times: value, word, confirmation.
MOST_FIELDS = 2000
KEY = "case_id"
CONFIRM = "confirm"
WORD = ".word"


@dataclass(frozen=True, slots=True)
class Sent:
    """A form as sent: the key, texts of the fields that it showed, names confirmed, and the button pressed."""

    case_id: str
    values: Mapping[str, str]
    confirmed: frozenset[str]
    pressed: Mapping[str, str]


async def read(request: Request) -> FormData:
    """The fields and files of a request; how much may be sent is limited by the guard."""
    return await request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=2**20)


def text(held: FormData, name: str) -> str:
    """One field as trimmed text; empty when it was not sent, or when a file stands in its place."""
    value = held.get(name)
    return value.strip() if isinstance(value, str) else ""


def sent(held: FormData, dictionary: Dictionary) -> Sent:
    """A child's form; fields that the dictionary does not know are passed over."""
    known = dictionary.variables
    names = dict.fromkeys(name.removesuffix(WORD) for name in held if name.removesuffix(WORD) in known)
    values = {name: _value(held, name, flags=known[name].kind is Kind.FLAGS) for name in names}
    values.pop(KEY, None)
    confirmed = frozenset(name for name in held.getlist(CONFIRM) if isinstance(name, str))
    pressed = {name: text(held, name) for name in ("open", "close", "leave_out") if name in held}
    return Sent(text(held, KEY), values, confirmed, pressed)


def _value(held: FormData, name: str, *, flags: bool) -> str:
    """A number and a word side by side are kept side by side: the check then says that only one can be true."""
    typed = [value.strip() for value in held.getlist(name) if isinstance(value, str)]
    if flags:
        return "+".join(value for value in typed if value)
    return " ".join(value for value in (*typed[:1], text(held, name + WORD)) if value)
