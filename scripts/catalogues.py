"""Bring the language catalogues up to date with the source, and compile them.

    python scripts/catalogues.py

New messages come in without a translation (a test fails until somebody writes one); messages that the source no longer
has are dropped. The compiled files are committed: the runtime reads them with the standard library alone.
"""

from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

DOCUMENTS = Path(__file__).parent.parent / "riskmodel" / "documents"
DOMAIN = "family"
# No date of the day: the same source gives the same files.
NO_DATE = datetime(2026, 1, 1, tzinfo=UTC)


def messages() -> list[str]:
    """Every message of the source, in its order, each once."""
    found: dict[str, None] = {}
    for path in (DOCUMENTS / "languages.py", *sorted((DOCUMENTS / "family").glob("*.py"))):
        with path.open("rb") as file:
            found |= dict.fromkeys(str(message) for _, message, *_ in extract("python", file, {"message": None}))
    return list(found)


def translated(path: Path) -> dict[str, str]:
    """What a catalogue translates, as message -> translation."""
    with path.open("rb") as file:
        held = read_po(file)
    return {str(message.id): str(message.string) for message in held if message.id}


def updated(path: Path) -> Catalog:
    """The catalogue with the messages of the source, and the translations that it already has for them."""
    known = translated(path)
    held = Catalog(
        locale=path.parent.name,
        project="riskmodel",
        version="family",
        header_comment="# Texts of the family's sheet.",
        msgid_bugs_address="-",
        last_translator="-",
        language_team="-",
        fuzzy=False,
        creation_date=NO_DATE,
        revision_date=NO_DATE,
    )
    for message in messages():
        held.add(message, known.get(message, ""))
    return held


def compiled(catalogue: Catalog) -> bytes:
    """The catalogue as the standard library reads it."""
    held = BytesIO()
    write_mo(held, catalogue)
    return held.getvalue()


def main() -> None:
    """Write every catalogue anew."""
    for path in sorted((DOCUMENTS / "locale").glob(f"*/{DOMAIN}.po")):
        catalogue = updated(path)
        with path.open("wb") as file:
            write_po(file, catalogue, width=120)
        path.with_suffix(".mo").write_bytes(compiled(catalogue))


if __name__ == "__main__":
    main()
