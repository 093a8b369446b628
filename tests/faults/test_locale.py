"""A locale whose decimal sign is a comma, made on the spot and set as a program with its own settings would."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.faults.commands import run, score

SET = "import locale; locale.setlocale(locale.LC_ALL, ''); assert locale.str(0.5) == '0,5'; "


def test_decimal_commas_of_the_locale_change_no_digit(tmp_path: Path) -> None:
    if shutil.which("localedef") is None:
        pytest.skip("needs localedef")
    made = tmp_path / "de_DE.UTF-8"
    subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", str(made)], capture_output=True, check=False)
    if not made.exists():
        pytest.skip("needs the sources of locales")
    plain = score(tmp_path)
    spoken = [sys.executable, "-c", SET + plain[2], *plain[3:]]
    held = run(spoken, variables={"LOCPATH": str(tmp_path), "LC_ALL": "de_DE.UTF-8"})
    assert held.returncode == 0, held.stderr
    assert held.stdout == run(plain).stdout
