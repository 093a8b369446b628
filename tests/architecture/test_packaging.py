"""What is built holds what it should and nothing else; built without the net."""

import shutil
import tarfile
import zipfile
from pathlib import Path, PurePosixPath

import pytest

from tests.architecture.project import ROOT, python, tracked_files

Members = list[PurePosixPath]

STRAYS = ("patients.csv", "riskmodel/patients.csv", "training/patients.csv", "registry.xlsx", "tests/registry.xlsx")
TOP_OF_SDIST = {
    *("riskmodel", "training", "synthetic_cohort", "model_cards", "tests", "docs", "scripts"),
    *(
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "CITATION.cff",
        "LICENSE",
        "Makefile",
        "pyproject.toml",
        "PKG-INFO",
        ".gitignore",
    ),
    *("requirements.lock", "requirements-extra.lock"),
}


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the tracked files with stray tables of patients lying about."""
    folder = tmp_path_factory.mktemp("checkout")
    for path in tracked_files():
        target = folder / path.relative_to(ROOT)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    for stray in STRAYS:
        (folder / stray).write_text("name,born\n")
    python("-m", "hatchling", "build", "-d", "built", at=folder)
    return folder


@pytest.fixture(scope="module")
def wheel(checkout: Path) -> Members:
    (built,) = (checkout / "built").glob("*.whl")
    with zipfile.ZipFile(built) as archive:
        return [PurePosixPath(name) for name in archive.namelist()]


@pytest.fixture(scope="module")
def sdist(checkout: Path) -> Members:
    (built,) = (checkout / "built").glob("*.tar.gz")
    with tarfile.open(built) as archive:
        return [PurePosixPath(*PurePosixPath(name).parts[1:]) for name in archive.getnames()]


def test_the_wheel_holds_the_runtime_only(wheel: Members) -> None:
    tops = {path.parts[0] for path in wheel}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"riskmodel"}
    assert PurePosixPath("riskmodel/py.typed") in wheel


def test_the_wheel_holds_the_whole_runtime(wheel: Members) -> None:
    tracked = {PurePosixPath(path.relative_to(ROOT).as_posix()) for path in tracked_files()}
    assert {path for path in tracked if path.parts[0] == "riskmodel"} - set(wheel) == set()


def test_no_stray_table_is_built_in(wheel: Members, sdist: Members) -> None:
    assert [path for path in (*wheel, *sdist) if path.name in ("patients.csv", "registry.xlsx")] == []


def test_the_sdist_holds_what_is_listed(sdist: Members) -> None:
    assert {path.parts[0] for path in sdist} <= TOP_OF_SDIST
    assert PurePosixPath("training/__init__.py") in sdist
    assert PurePosixPath("tests/reference/kyphosis/kyphosis.csv") in sdist


def test_the_wheel_asks_for_no_fitting_library(checkout: Path) -> None:
    (built,) = (checkout / "built").glob("*.whl")
    with zipfile.ZipFile(built) as archive:
        (name,) = (name for name in archive.namelist() if name.endswith(".dist-info/METADATA"))
        metadata = archive.read(name).decode()
    asked = [line for line in metadata.splitlines() if line.startswith("Requires-Dist:")]
    assert asked
    for library in ("scikit-learn", "pandas", "scipy", "matplotlib", "shap", "joblib"):
        assert not any(library in line for line in asked), library
