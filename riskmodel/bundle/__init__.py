"""A trained model as one canonical JSON document: what it is, how to write it, how to read it without trusting it."""

from riskmodel.bundle.file import read, write
from riskmodel.bundle.model import (
    COUNT_STEP,
    FORMAT,
    Bundle,
    GateSettings,
    LocalCheck,
    Moved,
    OutcomeText,
    Published,
    Ranges,
    Support,
    SupportCell,
    Update,
    Use,
)

__all__ = [
    "COUNT_STEP",
    "FORMAT",
    "Bundle",
    "GateSettings",
    "LocalCheck",
    "Moved",
    "OutcomeText",
    "Published",
    "Ranges",
    "Support",
    "SupportCell",
    "Update",
    "Use",
    "read",
    "write",
]
