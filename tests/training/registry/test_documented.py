"""The page about registries: its map works, and it speaks of every key that a map may have.

Its commands are typed in tests/architecture/test_documented_commands.py.
"""

import re
from datetime import datetime
from pathlib import Path

from tests.training.registry.build import ON, book, column, cvj, map_of
from training.registry import files
from training.registry.tidying import tidy

PAGE = Path(__file__).parents[3] / "docs" / "registry.md"
SOURCE = Path(__file__).parents[3] / "training" / "registry" / "mapping"
ROWS = [
    ("Patients of the unit",),
    ("Hosp No", "Name", "DOB", "Op date", "Dx", "ADI (cm)", "Levels", "VA", "Last seen", "Notes"),
    (
        4711,
        "A B",
        "3/10/2010",
        "3/4/19",
        "T21",
        0.95,
        datetime(2024, 2, 1),
        "R high, L normal",
        "3/4/2021",
        "long story",
    ),
    (4712, "C D", "3/10/2011", "3/5/19", "KFS + Goldenhar", "<0.2", "Oc-C2", "bilat normal", "Mar 2021", "-"),
    (4713, "E F", "3/10/2012", "3/6/19", "T21?", "nm", "C1-2", "NA", "3/6/2023", None),
    ("Total", 3),
]


def test_the_map_of_the_page_works(tmp_path: Path) -> None:
    (text,) = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)
    path = book(tmp_path / "registry.xlsx", {"Patients": ROWS, "Scratch": [("x", 1)]})
    held = tidy(files.read(path), map_of(tmp_path, text), cvj(), on=ON)
    assert column(held, "case_id") == ["K001", "K002", "K003"]
    assert column(held, "age_years") == ["8.5", "7.6", "6.7"]
    assert column(held, "condition") == ["down", "goldenhar_oavs", "down"]
    assert column(held, "adi_mm") == ["9.5", "2", "not_measurable"]
    assert column(held, "upper_level") == ["C1", "O", "C1"]
    assert column(held, "artery_right") == ["high_riding", "usual", ""]
    assert column(held, "last_contact_months") == ["24", "22.39", "48"]


def test_the_page_speaks_of_every_key() -> None:
    page = PAGE.read_text(encoding="utf-8")
    read = "".join((SOURCE / name).read_text(encoding="utf-8") for name in ("read.py", "column.py"))
    keys = set(re.findall(r"""(?:fields|inner)(?:\.\w+\(|, )"(\w+)\"""", read)) - {"format", "sheet"}
    assert len(keys) > 40
    unsaid = [key for key in sorted(keys) if not re.search(rf"`(?:\[sheet\.)?{key}\b|\b{key}`|^{key} = ", page, re.M)]
    assert unsaid == []
