"""The wheel, alone in an empty environment: it scores as it always did, draws its sheets and starts the app.

Once with the lowest direct dependencies that `pyproject.toml` allows and once with the newest, on each CPython at hand.
"""

import json
import re
import subprocess
import sys
import urllib.request
from datetime import date
from http.cookiejar import CookieJar
from itertools import product
from pathlib import Path

import openpyxl
import pytest

from riskmodel import bundle as bundles
from riskmodel import load
from tests import demonstration
from tests.architecture.project import ROOT, python
from tests.packaging import GOLDEN

pytestmark = pytest.mark.slow
UV = [sys.executable, "-m", "uv"]
CASE = {"Age": 60, "Number": 4, "Start": 10}
ENVIRONMENTS = list(product(("3.11", "3.12", "3.13"), ("lowest-direct", "highest")))


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("built")
    python("-m", "hatchling", "build", "-t", "wheel", "-d", str(folder))
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module", params=ENVIRONMENTS, ids=lambda held: " ".join(held))
def scripts(request: pytest.FixtureRequest, wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of programs of an environment with the wheel and what it asks for."""
    version, resolution = request.param
    found = subprocess.run([*UV, "python", "find", "--no-python-downloads", version], capture_output=True, check=False)
    if found.returncode:
        pytest.skip(f"no CPython {version} here")
    folder = tmp_path_factory.mktemp("alone")
    subprocess.run([*UV, "venv", "-q", "--python", found.stdout.decode().strip(), str(folder)], check=True)
    scripts = folder / "bin"
    install = [*UV, "pip", "install", "-q", "--no-config", "--python", str(scripts / "python")]
    subprocess.run([*install, "--resolution", resolution, str(wheel)], check=True)
    return scripts


def said(scripts: Path, folder: Path, *arguments: str) -> str:
    """What the installed `riskmodel` prints, from a folder that holds no source."""
    program = [str(scripts / "python"), "-W", "error", str(scripts / "riskmodel"), *arguments]
    done = subprocess.run(program, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_nothing_but_the_runtime_is_there(scripts: Path, tmp_path: Path) -> None:
    look = "from importlib.util import find_spec; print([n for n in %r if find_spec(n)])"
    names = ("riskmodel", "training", "synthetic_cohort", "tests", "scipy", "pandas", "sklearn")
    held = subprocess.run([scripts / "python", "-c", look % (names,)], cwd=tmp_path, capture_output=True, check=True)
    assert held.stdout.decode().strip() == "['riskmodel']"


def test_the_golden_bundle_is_scored_from_toml_and_from_a_workbook(scripts: Path, tmp_path: Path) -> None:
    expected = load(GOLDEN).score(CASE, on=date(2026, 12, 1))
    case, book = tmp_path / "child.toml", openpyxl.Workbook()
    lines = [f"{name} = {value}" for name, value in CASE.items()]
    case.write_text("\n".join(["format = 1", 'case_id = "K-1"', "[values]", *lines]), encoding="utf-8")
    for row in (list(CASE), list(CASE.values())):
        book.worksheets[0].append(row)
    book.save(tmp_path / "children.xlsx")
    for name in ("child.toml", "children.xlsx"):
        told = json.loads(said(scripts, tmp_path, "score", str(GOLDEN), name, "--on", "2026-12-01", "--json"))
        (result,) = told["results"]
        assert result["probability"] == pytest.approx(expected.probability, rel=1e-6)
        assert result["interval"]["low"] == pytest.approx(expected.low, rel=1e-6)
        assert result["interval"]["high"] == pytest.approx(expected.high, rel=1e-6)


def test_pages_are_drawn(scripts: Path, tmp_path: Path) -> None:
    case = ROOT / "synthetic_cohort" / "demonstration" / "cases" / "TW-204.toml"
    plans = ROOT / "synthetic_cohort" / "demonstration" / "plans" / "TW-204.toml"
    assert "TW-204" in said(scripts, tmp_path, "plans", str(case), str(plans), "--on", "2026-12-01")
    assert "condition" in said(scripts, tmp_path, "dictionary")
    bundles.write(demonstration.bundle(), tmp_path / "revision.json")
    arguments = ["--bundle", "revision.json", "--for", "family", "--out", "page.pdf", "--on", "2026-12-01"]
    said(scripts, tmp_path, "sheet", str(case), *arguments)
    assert (tmp_path / "page.pdf").read_bytes().startswith(b"%PDF-")


def test_the_app_starts_and_answers(scripts: Path, tmp_path: Path) -> None:
    command = [str(scripts / "riskmodel"), "serve", str(GOLDEN), "--port", "0"]
    with subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.PIPE, text=True) as app:
        try:
            assert app.stdout is not None
            link = next(line.strip() for line in app.stdout if line.strip().startswith("http"))
            assert re.match(r"http://127\.0\.0\.1:\d+/", link)
            browser = urllib.request.build_opener(
                urllib.request.ProxyHandler({}), urllib.request.HTTPCookieProcessor(CookieJar())
            )
            with browser.open(link, timeout=60) as answered:
                assert answered.status == 200
                assert b"<h1" in answered.read()
        finally:
            app.terminate()
