"""The TOML files of a dictionary: a shipped one by name, one file, or a folder with one file per group."""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from riskmodel.errors import DictionaryRefused, Finding, Severity, refuse_errors

SHIPPED = Path(__file__).parent
_LARGEST_BYTES = 4 * 2**20


@dataclass(frozen=True, slots=True)
class Source:
    """A parsed file under its short name."""

    sheet: str
    table: dict[str, Any]


def shipped_names() -> tuple[str, ...]:
    """Names of the dictionaries that come with the package."""
    return tuple(sorted(folder.name for folder in SHIPPED.iterdir() if any(folder.glob("*.toml"))))


def sources(name_or_path: str | Path, base: Path | None) -> tuple[Source, ...]:
    """Every file of the dictionary, parsed, in the order of their names.

    Raises
    ------
    DictionaryRefused
        When there is no such dictionary, or a file cannot be read as TOML; all unreadable files are named.
    """
    findings: list[Finding] = []
    tables = [(path.name, parsed(path, findings)) for path in _paths(name_or_path, base)]
    refuse_errors(findings, DictionaryRefused)
    return tuple(Source(name, table) for name, table in tables if table is not None)


def _paths(name_or_path: str | Path, base: Path | None) -> list[Path]:
    if str(name_or_path) in shipped_names():
        return sorted((SHIPPED / str(name_or_path)).glob("*.toml"))
    path = (base or Path()) / name_or_path
    if path.is_file():
        return [path]
    if path.is_dir() and (files := sorted(path.glob("*.toml"))):
        return files
    found = "a folder without a .toml file" if path.is_dir() else "no such file"
    accepted = f"a shipped name ({', '.join(shipped_names())}), a .toml file, or a folder of them"
    raise DictionaryRefused([_finding(path.name, found, accepted, "no_dictionary")])


def parsed(path: Path, findings: list[Finding]) -> dict[str, Any] | None:
    """The parsed TOML file; None, and a finding added, when it cannot be read."""
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            findings.append(_finding(path.name, "a file over 4 MiB", "at most 4 MiB", "too_large"))
            return None
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except UnicodeDecodeError:
        findings.append(_finding(path.name, "bytes that are not UTF-8", "a UTF-8 text", "not_utf8"))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        findings.append(_finding(path.name, f"no TOML: {error}", "a TOML file", "not_toml"))
    except OSError as error:
        findings.append(_finding(path.name, f"a file that cannot be opened: {error.strerror}", "a readable file", "io"))
    return None


def _finding(sheet: str, found: str, accepted: str, rule: str) -> Finding:
    return Finding(sheet, None, None, found, accepted, Severity.ERROR, rule)
