import hashlib
from pathlib import Path

from click.testing import CliRunner

from synthetic_cohort.__main__ import main

FOLDER = Path(__file__).parents[2] / "synthetic_cohort"


def test_the_shipped_cohort_is_made_again_byte_for_byte(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["--out", str(tmp_path)])
    assert result.exit_code == 0, result.output
    assert (tmp_path / "children.csv").read_bytes() == (FOLDER / "demonstration" / "children.csv").read_bytes()


def test_the_readme_names_the_digest_of_the_shipped_cohort() -> None:
    digest = hashlib.sha256((FOLDER / "demonstration" / "children.csv").read_bytes()).hexdigest()
    assert digest in (FOLDER / "README.md").read_text(encoding="utf-8")


def test_the_truth_is_never_among_the_shipped_files() -> None:
    assert not list((FOLDER / "demonstration").rglob("*truth*"))
