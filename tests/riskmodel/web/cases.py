"""Children of the demonstration, as a form sends them."""

from riskmodel.cases import read_case_file
from riskmodel.tables import as_text
from tests import demonstration


def content(name: str) -> bytes:
    """A case file of the demonstration."""
    return (demonstration.CASES / f"{name}.toml").read_bytes()


def typed(name: str) -> dict[str, str]:
    """Its key and values as texts."""
    held = read_case_file(demonstration.CASES / f"{name}.toml")
    return {"case_id": held.case_id, **{key: as_text(value) for key, value in held.values.items()}}  # type: ignore[arg-type]
