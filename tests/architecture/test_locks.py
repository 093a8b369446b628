"""The locks: names, versions and hashes; no address; everything that the project asks for."""

import re
import tomllib

import pytest

from tests.architecture.project import ROOT

LOCKS = ("requirements.lock", "requirements-extra.lock")
GROUPS = {"requirements.lock": "dev", "requirements-extra.lock": "extra"}


def _entries(lock: str) -> list[str]:
    """Each pinned requirement with its hashes, continuation lines joined."""
    text = (ROOT / lock).read_text(encoding="utf-8").replace("\\\n", " ")
    return [line for line in text.splitlines() if line.strip()]


def _normal(requirement: str) -> str:
    """The name of a requirement, as registries compare names."""
    name = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert name is not None, requirement
    return re.sub(r"[-_.]+", "-", name.group()).lower()


def _asked_for(group: str) -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    names = {_normal(requirement) for requirement in project["project"]["dependencies"]}
    pending = [group]
    while pending:
        for part in project["dependency-groups"][pending.pop()]:
            if isinstance(part, dict):
                pending.append(part["include-group"])
            else:
                names.add(_normal(part))
    return names


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_holds_no_address(lock: str) -> None:
    assert "://" not in (ROOT / lock).read_text(encoding="utf-8")


@pytest.mark.parametrize("lock", LOCKS)
def test_every_entry_has_one_version_and_its_hashes(lock: str) -> None:
    for entry in _entries(lock):
        assert re.match(r"[a-z0-9][a-z0-9.-]*==[^\s;]+", entry), entry
        assert re.search(r"--hash=sha256:[0-9a-f]{64}\b", entry), entry


@pytest.mark.parametrize("lock", LOCKS)
def test_everything_asked_for_is_locked(lock: str) -> None:
    assert _asked_for(GROUPS[lock]) - {_normal(entry) for entry in _entries(lock)} == set()


def test_the_heavy_oracles_are_not_needed_by_the_fast_tests() -> None:
    locked = {_normal(entry) for entry in _entries("requirements.lock")}
    assert locked.isdisjoint({"scikit-survival", "dcurves", "atheris", "mutmut"})
