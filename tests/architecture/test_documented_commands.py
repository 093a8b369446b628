"""Every command that a page shows is typed, as it stands there, and ends and prints as the page says."""

import re
import tomllib
from pathlib import Path

import pytest

from riskmodel import bundle as bundles
from riskmodel.cli.status import run
from tests import demonstration
from tests.architecture.pages import FILE, NOT_HERE, Reader, blocks, commands, document, program
from tests.architecture.project import ROOT
from tests.architecture.words import words
from training import protocol as protocols

PAGES = (
    "README.md",
    "DEVELOPERS.md",
    "docs/after.md",
    "docs/app.md",
    "docs/counselling.md",
    "docs/fellow.md",
    "docs/planning.md",
    "docs/registry.md",
    "docs/surgeon.md",
)
MODELS = ("fixation_failure_24m", "revision_24m")
TARGET = re.compile(r"^make ([a-z-]+)\b", re.MULTILINE)
IN_PASSING = re.compile(r"`([^`\n]+)`")
CALLED = re.compile(r"^(?:riskmodel|python -m (?:training|synthetic_cohort)) ")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The models that `make demo` leaves, written once."""
    folder = tmp_path_factory.mktemp("made")
    for name in MODELS:
        (folder / name).mkdir()
        bundles.write(demonstration.bundle(name), folder / name / f"{name}.riskmodel.json")
    return folder


@pytest.fixture
def checkout(tmp_path: Path, made: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that looks like the checkout after `make demo`."""
    for name in ("docs", "riskmodel", "synthetic_cohort", "tests", "training"):
        (tmp_path / name).symlink_to(ROOT / name)
    (tmp_path / "demo").mkdir()
    for name in MODELS:
        (tmp_path / "demo" / name).symlink_to(made / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def prose(page: str) -> str:
    """A page without its blocks."""
    return re.sub(r"^```.*?^```", "", (ROOT / page).read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.usefixtures("checkout")
def test_what_the_page_shows_is_what_happens(page: str, capsys: pytest.CaptureFixture[str]) -> None:
    reader = Reader(capsys)
    for example in document(page, reader):
        example.evaluate()
    assert reader.typed


@pytest.mark.slow
@pytest.mark.usefixtures("checkout")
def test_what_make_demo_runs_leaves_what_the_readme_says(capsys: pytest.CaptureFixture[str]) -> None:
    _, command, words = program([".venv/bin/python", "-m", "training", "demo", "--replays", "20", "--out", "made"])
    assert run(command, "demo", words) == 0
    told = capsys.readouterr().out
    assert "Look at made/PROTOCOL/*.card.html" in told
    assert told.count("no number is shown") == len(MODELS)
    assert len(list(Path("made/answers").glob("*.json"))) == 4 * len(MODELS)
    assert len(list(Path("made/sheets").glob("*.pdf"))) == 4 * 2


def test_no_page_shows_a_command_that_is_not_typed() -> None:
    """Pages with commands are those above, and their commands stand in blocks of the kind that is typed."""
    pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
    shown = {str(page.relative_to(ROOT)) for page in pages if "```console" in page.read_text(encoding="utf-8")}
    assert shown == set(PAGES)
    for page in pages:
        text = page.read_text(encoding="utf-8")
        for language, block in re.findall(r"^```(\w*)\n(.*?)^```", text, flags=re.DOTALL | re.MULTILINE):
            typed = re.search(r"^(?:\$ |\.venv/|make \w+$|python |riskmodel \w+ )", block, flags=re.MULTILINE)
            assert language == "console" or typed is None, f"{page.name}: {block}"


def test_what_is_not_typed_is_shown_and_is_a_target_of_make() -> None:
    shown = {line for page in PAGES for block in blocks(page, "console") for line, _ in commands(block)}
    assert set(NOT_HERE) <= shown
    assert {line.split()[1] for line in NOT_HERE} <= targets()
    assert [line for line, _ in commands(next(blocks("README.md", "console")))] == ["make demo", "make test"]


def targets() -> set[str]:
    """What `make` can be asked for."""
    return set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), flags=re.MULTILINE))


def test_contributors_are_told_of_every_target_of_make() -> None:
    told = set(TARGET.findall("\n".join(IN_PASSING.findall(prose("DEVELOPERS.md")))))
    assert targets() - told == {"help"}


@pytest.mark.parametrize("page", [*PAGES, "docs/hazards.md", "docs/method.md", "docs/recovery.md", "docs/mutants.md"])
def test_what_is_named_in_passing_is_there(page: str) -> None:
    """Targets, modules of the tests, commands and their options, in the running text."""
    said = IN_PASSING.findall(prose(page))
    assert set(TARGET.findall("\n".join(said))) <= targets()
    options = {word.split()[0] for word in said if word.startswith("--")}
    assert options <= {*words()["option"], "--help"}
    for module in re.findall(r"^python -m (tests[\w.]*)", "\n".join(said), flags=re.MULTILINE):
        place = ROOT / module.replace(".", "/")
        assert place.with_suffix(".py").is_file() or (place / "__main__.py").is_file(), module
    for line in said:
        if CALLED.match(line) and "--help" not in line:
            name, command, rest = program([f".venv/bin/{line.split()[0]}", *line.split()[1:]])
            known = {option for held in command.params for option in held.opts}
            assert {word for word in rest if word.startswith("--")} <= known, f"{line}: {name} has no such option"


def test_parts_of_a_protocol_on_the_fellows_page_are_read() -> None:
    short = protocols.read("revision_24m")
    parts = [block for block in blocks("docs/fellow.md", "toml") if not FILE.match(block)]
    assert len(parts) > 1
    for part in map(tomllib.loads, parts):
        whole = {**short.document, "predictor": [*short.document["predictor"], *part.pop("predictor", [])]}
        for name, table in part.items():
            whole[name] = {**whole[name], **table}
        protocols.from_document(whole, short.dictionary, sheet="docs/fellow.md")


def test_the_figures_of_the_worked_example_are_those_of_the_reference() -> None:
    """Source: stats::glm (a1) and rms::validate (a6) on the kyphosis data."""
    from tests.reference import reference

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    told = list(reference("a1_kyphosis_glm")["coef"].values())
    for said in (f"−{-told[0]:.3f}", f"{told[1]:.4f}", f"{told[2]:.3f}", f"−{-told[3]:.3f}"):
        assert said in text
    validated = reference("a6_kyphosis_validate_mc")["monte_carlo_summary"]["C"]["mean"]
    assert re.search(rf"`rms::validate` says\s+{validated:.3f}", text)
