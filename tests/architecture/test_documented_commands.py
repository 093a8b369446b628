"""Every command that README and docs show is run, as it stands there, and ends well."""

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskmodel.cli import commands as runtime
from riskmodel.cli.status import run
from tests import demonstration
from training.cli import commands as fellow
from training.report.folder import write

ROOT = Path(__file__).parents[2]
PAGES = ("README.md", "docs/fellow.md", "docs/surgeon.md", "docs/planning.md", "docs/counselling.md")
# What make does with its targets is proved by continuous integration, not from within a test.
NOT_HERE = re.compile(r"^make \w+$")
FEWER_REPLAYS = ("--replays", "20")


def shown(page: str) -> Iterator[str]:
    for block in re.findall(r"```console\n(.*?)```", (ROOT / page).read_text(encoding="utf-8"), flags=re.DOTALL):
        yield from (line for line in block.splitlines() if line.strip())


def call(line: str) -> int:
    words = shlex.split(line)
    if words[:3] == [".venv/bin/python", "-m", "training"]:
        fewer = FEWER_REPLAYS if words[3] == "fit" else ()
        return run(fellow, "python -m training", [*words[3:], *fewer])
    assert words[0] == ".venv/bin/riskmodel", f"no way to run: {line}"
    return run(runtime, "riskmodel", words[1:])


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration model's folder, written once."""
    folder = tmp_path_factory.mktemp("demo") / "revision_24m"
    write(demonstration.trained(), folder)
    return folder


@pytest.fixture
def checkout(tmp_path: Path, written: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that looks like the checkout after `make demo`."""
    for name in ("tests", "synthetic_cohort", "docs"):
        (tmp_path / name).symlink_to(ROOT / name)
    shutil.copytree(written, tmp_path / "demo" / "revision_24m")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("page", PAGES)
def test_every_command_of_the_page_ends_well(page: str, checkout: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = list(shown(page))
    assert lines
    for line in lines:
        if not NOT_HERE.match(line):
            status = call(line)
            assert status == 0, f"{line}: {capsys.readouterr().err}"


def test_the_readme_shows_the_two_commands() -> None:
    lines = list(shown("README.md"))
    assert lines[:2] == ["make demo", "make test"]
    targets = set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), flags=re.MULTILINE))
    assert {line.split()[1] for line in lines if NOT_HERE.match(line)} <= targets


def test_the_figures_of_the_worked_example_are_those_of_the_reference() -> None:
    """Source: stats::glm (a1) and rms::validate (a6) on the kyphosis data."""
    from tests.reference import reference

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    told = list(reference("a1_kyphosis_glm")["coef"].values())
    for words in (f"−{-told[0]:.3f}", f"{told[1]:.4f}", f"{told[2]:.3f}", f"−{-told[3]:.3f}"):
        assert words in text
    assert (
        f"`rms::validate` says\n{reference('a6_kyphosis_validate_mc')['monte_carlo_summary']['C']['mean']:.3f}" in text
    )
