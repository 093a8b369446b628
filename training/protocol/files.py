"""The TOML files of a protocol: its own, and its priors."""

import tomllib
from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from riskmodel.errors import Finding, PriorsRefused, Refused, Severity

SHIPPED_PRIORS = Path(__file__).parents[1] / "priors"
SHIPPED_PROTOCOLS = Path(__file__).parents[1] / "protocols"
_LARGEST_BYTES = 4 * 2**20


def toml_document(path: Path, refused: type[Refused]) -> dict[str, Any]:
    """The parsed file.

    Raises
    ------
    Refused
        `refused`, when the file is not there, too large, not UTF-8, or not TOML.
    """
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise refused([_finding(path, "a file over 4 MiB", "at most 4 MiB", "too_large")])
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except UnicodeDecodeError:
        problem = _finding(path, "bytes that are not UTF-8", "a UTF-8 text", "not_utf8")
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        problem = _finding(path, f"no TOML: {error}", "a TOML file", "not_toml")
    except OSError as error:
        problem = _finding(path, f"a file that cannot be opened: {error.strerror}", "a readable file", "io")
    raise refused([problem])


def priors_document(name: str, beside: Path | None = None) -> dict[str, Any]:
    """The parsed priors file: a path (from the folder `beside`, if given), else a shipped name.

    Raises
    ------
    PriorsRefused
        When there is no such file, or it cannot be read as TOML.
    """
    own = (beside or Path()) / name
    shipped = SHIPPED_PRIORS / name
    if not own.is_file() and Path(name).name == name and shipped.is_file():
        return toml_document(shipped, PriorsRefused)
    if not own.is_file():
        names = ", ".join(sorted(path.name for path in SHIPPED_PRIORS.glob("*.toml")))
        accepted = f"a file beside the protocol, or a shipped name ({names})"
        raise PriorsRefused([_finding(own, "no such file", accepted, "no_priors")])
    return toml_document(own, PriorsRefused)


def plain(value: Any) -> Any:
    """A parsed TOML value with nothing in it but what JSON knows: days become texts such as 2026-11-25."""
    if isinstance(value, Mapping):
        return {key: plain(held) for key, held in value.items()}
    if isinstance(value, list):
        return [plain(held) for held in value]
    return value.isoformat() if isinstance(value, date | datetime | time) else value


def _finding(path: Path, found: str, accepted: str, rule: str) -> Finding:
    return Finding(path.name, None, None, found, accepted, Severity.ERROR, rule)
