"""`python -m scripts.bad_files [--anew]`: the table of bad files in docs/, from the tests' messages.

With `--anew` the messages are first taken from the program as it is: read the difference before committing it.
"""

import json
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
MESSAGES = ROOT / "tests" / "bad_input" / "messages.json"
DOCUMENT = ROOT / "docs" / "bad_files.md"
Messages = Mapping[str, Mapping[str, list[str]]]
HEAD = """# Bad files, and what the program says

Whatever a file lacks or contradicts is said at once, one line for each thing: where, what was found, what would be
accepted. Nothing is written then, and the exit status is 1 (2 for a wrong option). A line that begins with `warning`
alone would not stop anything. The table is made of the tests in `tests/bad_input/` by `python -m scripts.bad_files`.
"""


def document(messages: Messages) -> str:
    """The page."""
    return "\n".join(_lines(messages))


def _lines(messages: Messages) -> Iterator[str]:
    yield HEAD
    for kind, held in messages.items():
        yield f"## {kind[0].upper()}{kind[1:]}\n"
        yield "| what is wrong | what is said |"
        yield "|---|---|"
        yield from (f"| {what} | {'<br>'.join(map(_cell, lines))} |" for what, lines in held.items())
        yield ""


def _cell(line: str) -> str:
    return f"`{line}`".replace("|", "\\|")


def _anew() -> Messages:
    from tests.bad_input.catalogue import catalogue

    held: dict[str, dict[str, list[str]]] = {}
    for bad in catalogue():
        held.setdefault(bad.kind, {})[bad.what] = bad.told()
    return held


def main() -> None:
    """Write the page, and with `--anew` the messages."""
    if "--anew" in sys.argv[1:]:
        MESSAGES.write_text(json.dumps(_anew(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    DOCUMENT.write_text(document(json.loads(MESSAGES.read_text(encoding="utf-8"))), encoding="utf-8")


if __name__ == "__main__":
    main()
