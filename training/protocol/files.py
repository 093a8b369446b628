"""The TOML files of a protocol: its own, and its priors."""

from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from riskmodel.dictionary.files import parsed
from riskmodel.errors import Finding, PriorsRefused, Refused, Severity

SHIPPED_PRIORS = Path(__file__).parents[1] / "priors"
SHIPPED_PROTOCOLS = Path(__file__).parents[1] / "protocols"


def toml_document(path: Path, refused: type[Refused]) -> dict[str, Any]:
    """The parsed file.

    Raises
    ------
    Refused
        `refused`, when the file is not there, too large, not UTF-8, or not TOML.
    """
    findings: list[Finding] = []
    table = parsed(path, findings)
    if table is None:
        raise refused(findings)
    return table


def priors_document(name: str, beside: Path | None = None) -> dict[str, Any]:
    """The parsed priors file: a path (from the folder `beside`, if given), else a shipped name.

    Raises
    ------
    PriorsRefused
        When there is no such file, or it cannot be read as TOML.
    """
    own, shipped = (beside or Path()) / name, SHIPPED_PRIORS / Path(name).name
    if own.is_file():
        return toml_document(own, PriorsRefused)
    if Path(name).name == name and shipped.is_file():
        return toml_document(shipped, PriorsRefused)
    names = ", ".join(sorted(path.name for path in SHIPPED_PRIORS.glob("*.toml")))
    accepted = f"a file beside the protocol, or a shipped name ({names})"
    raise PriorsRefused([Finding(own.name, None, None, "no such file", accepted, Severity.ERROR, "no_priors")])


def plain(value: Any) -> Any:
    """A parsed TOML value with nothing in it but what JSON knows: days become texts such as 2026-11-25."""
    if isinstance(value, Mapping):
        return {key: plain(held) for key, held in value.items()}
    if isinstance(value, list):
        return [plain(held) for held in value]
    return value.isoformat() if isinstance(value, date | datetime | time) else value


def with_days(document: Mapping[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    """The values of `plain` with the texts under these keys as days again, where they are days."""
    return {key: _day(value) if key in keys else value for key, value in document.items()}


def _day(value: Any) -> Any:
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        return value
