"""The file with a centre's secrets: one phrase with every other centre, agreed between the two and told to nobody."""

from collections.abc import Iterator
from pathlib import Path

from riskmodel.dictionary.fields import Fields
from riskmodel.dictionary.files import parsed
from riskmodel.errors import Finding, SharesRefused, refuse_errors
from training.sharing.masking import Masks

FORMAT = 1
SHORTEST = 16


def read_secrets(path: Path, centre: str) -> Masks:
    """A centre's masks from its file of secrets.

    The file is TOML: `format = 1`, and under `[secret]` for each other centre its name and the phrase.

    Raises
    ------
    SharesRefused
        With every finding at once; no phrase is ever repeated in one.
    """
    findings: list[Finding] = []
    document = parsed(path, findings) or {}
    refuse_errors(findings, SharesRefused)
    fields = Fields(document, path.name, "", findings)
    if fields.raw("format") != FORMAT:
        fields.fault("format", "another format", f"format = {FORMAT}", "format")
    held = fields.raw("secret")
    table = held if isinstance(held, dict) else {}
    findings += _faults(table, path.name, centre)
    refuse_errors(findings, SharesRefused)
    fields.finish()
    refuse_errors(findings, SharesRefused)
    return Masks(centre, table)


def _faults(table: dict[str, object], sheet: str, centre: str) -> Iterator[Finding]:
    found: list[Finding] = []
    fields = Fields(table, sheet, "secret", found)
    if not table:
        fields.fault(None, "no secret", "[secret] with a phrase for every other centre", "no_secret")
    if centre in table:
        fields.fault(centre, "a secret with itself", "other centres only", "own_secret")
    for name, phrase in table.items():
        if not isinstance(phrase, str) or len(phrase) < SHORTEST:
            fields.fault(name, "a phrase that is too short", f"at least {SHORTEST} characters", "short_secret")
    yield from found
