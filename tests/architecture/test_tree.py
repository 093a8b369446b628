"""What holds for the files of the project as a whole."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from tests.architecture.project import PACKAGES, ROOT, tracked_files

LONGEST_FILE_LINES = 300

# Written in pieces, so that this file does not find itself.
MACHINE_PATH = re.compile(r"(?<![\w.~-])/(?:h" r"ome|r" r"oot|U" r"sers|w" r"ork)/[\w.]")
REGISTRY_HOST = re.compile("|".join((r"py" + r"pi\.org", r"python" + r"hosted\.org", r"npm" + r"js\.(?:org|com)")))
OUTSIDE = re.compile(r"\.\./" + "shared")


def _texts() -> Iterator[tuple[Path, str]]:
    for path in tracked_files():
        try:
            yield path, path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


def _package_files() -> list[Path]:
    return [path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))]


def test_no_file_holds_a_path_of_a_machine_a_registry_or_a_folder_outside() -> None:
    found = [
        f"{path.relative_to(ROOT)}: {hit.group()}"
        for path, text in _texts()
        for pattern in (MACHINE_PATH, REGISTRY_HOST, OUTSIDE)
        for hit in pattern.finditer(text)
    ]
    assert found == []


def test_the_patterns_find_what_they_are_for() -> None:
    assert MACHINE_PATH.search("read /" + "home/anna/x.csv")
    assert MACHINE_PATH.search('"/' + 'root/.cache"')
    assert not MACHINE_PATH.search("the surgeon's home/work balance, a/home/b.toml")
    assert REGISTRY_HOST.search("https:/" + "/py" + "pi.org/simple")
    assert OUTSIDE.search("see .." + "/shared/design.md")


def test_every_folder_of_tests_is_a_package() -> None:
    """Without `__init__.py`, tests/training would shadow the package training."""
    folders = {path.parent for path in (ROOT / "tests").rglob("*.py")}
    assert [folder for folder in sorted(folders) if not (folder / "__init__.py").is_file()] == []


def test_imports_are_written_out() -> None:
    """The import rules see statements only: a module loaded by name would pass them unseen."""
    found = [
        f"{path.relative_to(ROOT)}: {ast.unparse(node)}"
        for path in _package_files()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if _loads_by_name(node)
    ]
    assert found == []


def _loads_by_name(node: ast.AST) -> bool:
    if isinstance(node, ast.Attribute):
        return node.attr == "import_module"
    if isinstance(node, ast.Name):
        return node.id in ("import_module", "__import__")
    return isinstance(node, ast.ImportFrom) and any(name.name == "import_module" for name in node.names)


def test_loading_by_name_is_recognised() -> None:
    guilty = ("importlib.import_module('x')", "from importlib import import_module", "__import__('x')")
    for source in guilty:
        assert any(_loads_by_name(node) for node in ast.walk(ast.parse(source))), source
    assert not any(_loads_by_name(node) for node in ast.walk(ast.parse("from importlib import resources")))


def test_files_stay_short_enough_to_read() -> None:
    """A file that needs a table of contents is split."""
    long = {
        str(path.relative_to(ROOT)): lines
        for path in _package_files()
        if (lines := path.read_text(encoding="utf-8").count("\n")) > LONGEST_FILE_LINES
    }
    assert long == {}
