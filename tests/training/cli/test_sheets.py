"""Both sheets of the demonstration children, as `make demo` writes them."""

from pathlib import Path

import pypdfium2

from riskmodel import bundle as bundles
from riskmodel.documents.cautions import DEMONSTRATION
from riskmodel.documents.family import wording
from tests import demonstration
from training.cli.demo import DEMONSTRATION_FOLDER
from training.cli.sheets import write_sheets


def test_every_child_has_both_sheets_and_all_say_that_they_are_invented(tmp_path: Path) -> None:
    held = demonstration.trained()
    bundles.write(held.bundle, tmp_path / "model.json")
    write_sheets(DEMONSTRATION_FOLDER, [tmp_path / "model.json"], tmp_path / "sheets", on=held.protocol.released)
    made = {path.name for path in (tmp_path / "sheets").iterdir()}
    cases = {path.stem for path in (DEMONSTRATION_FOLDER / "cases").glob("*.toml")}
    assert made == {f"{case}.{reader}.pdf" for case in cases for reader in ("surgeon", "family")}
    for name in made:
        document = pypdfium2.PdfDocument(tmp_path / "sheets" / name)
        mark = DEMONSTRATION if "surgeon" in name else wording.DEMONSTRATION
        for page in document:
            assert mark in page.get_textpage().get_text_range()
        document.close()
