"""Texts that nobody should type, models and conferences full of them, and the skeleton and the words of a page."""

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from html.parser import HTMLParser
from random import Random
from types import MappingProxyType
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.token import Token

from riskmodel.bundle import Bundle, LocalCheck, OutcomeText, Published
from riskmodel.dictionary.model import Dictionary, Variable
from riskmodel.documents.surgeon import Conference, PlanLine, Step
from tests.riskmodel.documents.builders import CHECKED, ON, bundle

Say = Callable[[], str]
_MARKUP = ("<b>", "</p>", "</style>", "<script>alert(1)</script>", "<!--", "]]>", "&amp;", "&lt", "&#60;", '"', "'")
_TEMPLATES = ("{{ x }}", "{total}", "{0}", "%s", "#let x = 1", "$y$", "#strong[z]", "@ref", "<label>", "//", "/*", "\\")
_MARKDOWN = (
    "*w*",
    "__v__",
    "`u`",
    "```",
    "|",
    "[a](b)",
    "![c](d)",
    "- e",
    "1. f",
    "# g",
    "> h",
    "---",
    "===",
    "~",
    "-2",
)
_CONTROL = (
    "\n\n",
    "\r\n",
    "\t",
    "  ",
    "\x00",
    "\x07",
    "\x1b[31m",
    "\x85",
    "\u2028",
    "\u202e",
    "\u2066",
    "\ufeff",
    "\u200b",
)
_LETTERS = (
    "\u05e9\u05dc\u05d5\u05dd",
    "\u0627\u0644\u0633\u0644\u0627\u0645",
    "\u74b0\u690e",
    "e\u0301",
    "\U0001f9b4",
    "=1+1",
)
PIECES = (*_MARKUP, *_TEMPLATES, *_MARKDOWN, *_CONTROL, *_LETTERS)
# What the fonts of the PDF have no sign for, or PDF/UA forbids: such a text is refused there, in words.
NOT_IN_PDF = ("\x00", "\x07", "\x1b[31m", "\ufeff", "\U0001f9b4", "\u74b0\u690e")


def strange(random: Random, *, pieces: tuple[str, ...] = PIECES) -> Say:
    """Strange texts, each another one; every one begins and ends with a letter, and now and then one is very long."""

    def say() -> str:
        held = "".join(random.choice(pieces) for _ in range(random.randint(1, 6)))
        return f"q{held * (200 if random.random() < 0.02 else 1)}z"

    return say


def harmless() -> Say:
    """Plain texts, as many as are asked for, each another one."""
    numbers = iter(range(10**6))
    return lambda: f"word{next(numbers)}"


def model(say: Say) -> Bundle:
    """The small bundle with every text in it said anew: title, outcome, labels, source, centre, cautions."""
    held = bundle()
    return bundle(
        title=say(),
        dictionary=_dictionary(held.dictionary, say),
        outcome=OutcomeText(held.outcome.name, say(), 24.0, say()),
        published=Published(say(), 0.05, 0.30, say()),
        local_checks=(replace(CHECKED, centre=say()), LocalCheck(ON, say(), 20, 3, None, None, None, None)),
        cautions=tuple(say() for _ in range(3)),
    )


def _dictionary(held: Dictionary, say: Say) -> Dictionary:
    return replace(held, variables=MappingProxyType({name: _label(each, say) for name, each in held.variables.items()}))


def _label(held: Variable, say: Say) -> Variable:
    levels = tuple(replace(level, label=say()) for level in held.levels)
    return replace(held, label=say(), unit=say() if held.unit else "", levels=levels)


def conference(say: Say) -> Conference:
    """A conference in which everything is said by these words."""
    return Conference(
        case_id=say(),
        on=ON,
        top=((say(), say()), (say(), say())),
        steps=tuple(Step(i, say(), (say(), say()), (say(),), (say(),), say()) for i in (1, 2)),
        plans=(PlanLine(say(), say(), say(), say(), (say(),)), PlanLine(say(), say(), say(), say(), ())),
        between=((bundle().digest, (say(),)),),
        rescue=((say(), say()),),
        kit=(say(), say()),
        stop_rules=(say(),),
        prompts=((say(), say()),),
        watch=((say(), say()),),
        doubts=(say(),),
        says=(say(),),
    )


def leaves(held: object) -> Iterator[str]:
    """Every text in a frozen value."""
    if isinstance(held, str):
        yield held
    elif isinstance(held, tuple):
        for part in held:
            yield from leaves(part)
    elif is_dataclass(held):
        for spot in fields(held):
            yield from leaves(getattr(held, spot.name))


def one_line(text: str) -> str:
    """As a page shows it: white space is one space, and NUL the sign for what cannot be shown (CommonMark, 2.3)."""
    return " ".join(text.split()).replace("\x00", "\ufffd")


class _Skeleton(HTMLParser):
    """The tags of a page with their attributes, and its words. The parser is the standard library's."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, Any]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        # A label for those who listen holds words, as a text does.
        self.words.extend(value or "" for name, value in attrs if name == "aria-label")
        self.tags.append((tag, [(name, value if name != "aria-label" else "") for name, value in attrs]))

    def handle_endtag(self, tag: str) -> None:
        self.tags.append((tag, "end"))

    def handle_comment(self, data: str) -> None:
        self.tags.append(("comment", data))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def of_html(page: str) -> tuple[list[tuple[str, Any]], str]:
    """Tags in their order, and all words on one line; what is drawn and what is style are words of nobody."""
    held = _Skeleton()
    held.feed(page)
    held.close()
    return held.tags, one_line(" ".join(held.words))


_COMMON = MarkdownIt("commonmark").enable(["table", "strikethrough"])


def of_markdown(page: str) -> tuple[list[str], str]:
    """Kinds of tokens in their order, and all words on one line, as CommonMark with GitHub's tables reads it."""
    tokens = list(_flat(_COMMON.parse(page)))
    return [token.type for token in tokens], one_line(
        "".join(token.content if token.type == "text" else " " for token in tokens)
    )


def _flat(tokens: list[Token]) -> Iterator[Token]:
    for token in tokens:
        if token.children is None:
            yield token
        else:
            yield from _flat(token.children)
