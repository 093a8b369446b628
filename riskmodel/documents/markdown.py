"""Pages as Markdown: for reading in a repository, or as plain text."""

import re
from collections.abc import Iterator

from riskmodel.documents.blocks import Block, Bullets, Facts, Figures, Page, Paragraph, Section, Table

# Characters that Markdown, or the HTML that it lets through, would take for markup.
_MARKUP = re.compile(r"([\\`*_{}\[\]<>#|~&])")
_LINE_MARKUP = re.compile(r"^(\s*)([-+=]|\d+[.)])(?=\s|$)")


def to_markdown(page: Page) -> str:
    """A page of blocks as Markdown; every text prints as it was typed."""
    return "\n".join(_lines(page)).rstrip("\n") + "\n"


def text(words: str) -> str:
    """Words with every character of markup escaped, on one line."""
    line = _MARKUP.sub(r"\\\1", " ".join(words.split()))
    return _LINE_MARKUP.sub(lambda m: f"{m[1]}{m[2][:-1]}\\{m[2][-1]}", line)


def _lines(page: Page) -> Iterator[str]:
    yield from (f"# {text(page.title)}", "")
    yield from ((f"**{text(page.band)}**", "") if page.band else ())
    yield from (text(page.subtitle), "")
    for section in page.sections:
        yield from _section(section)
    yield from ("---", "", text(page.foot))


def _section(section: Section) -> Iterator[str]:
    yield from (f"## {text(section.title)}", "") if section.title else ()
    for block in section.blocks:
        yield from _block(block)
        yield ""


def _block(block: Block) -> Iterator[str]:
    match block:
        case Paragraph():
            yield f"**{text(block.text)}**" if block.strong else text(block.text)
        case Bullets():
            yield from (f"- {text(item)}" for item in block.items)
        case Facts():
            yield from (f"- {text(name)}: {text(held)}" for name, held in block.rows)
        case Figures():
            for figure in block.held:
                yield from (f"**{text(figure.caption)}**", "", text(figure.words), "")
        case Table():
            yield from _table(block)


def _table(block: Table) -> Iterator[str]:
    yield from (f"**{text(block.caption)}**", "")
    yield _row(block.head)
    yield _row_of("---:" if i in block.numbers else "---" for i in range(len(block.head)))
    yield from (_row(row) for row in block.rows)


def _row(cells: tuple[str, ...]) -> str:
    return _row_of(text(cell) for cell in cells)


def _row_of(cells: Iterator[str]) -> str:
    return f"| {' | '.join(cells)} |"
