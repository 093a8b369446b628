"""Plan, stock and limits files: TOML, with every fault said at once."""

from collections.abc import Mapping
from pathlib import Path

from riskmodel.dictionary.fields import Fields
from riskmodel.dictionary.files import parsed
from riskmodel.errors import Finding, PlanRefused

FORMAT = 1
SHIPPED = Path(__file__).parent / "data"


def opened(path: Path, findings: list[Finding]) -> Fields:
    """The file as a table to be read key by key, its format looked at.

    Raises
    ------
    PlanRefused
        When it cannot be read as TOML, or is of another format.
    """
    document = parsed(path, findings)
    if document is None:
        raise PlanRefused(findings)
    return taken(document, path.name, findings)


def taken(document: Mapping[str, object], sheet: str, findings: list[Finding]) -> Fields:
    """A parsed document as a table to be read key by key, its format looked at.

    Raises
    ------
    PlanRefused
        When it is of another format.
    """
    fields = Fields(document, sheet, "", findings)
    if not fields.format(FORMAT):
        raise PlanRefused(findings)
    return fields
