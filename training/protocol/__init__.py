"""The protocol: everything that was decided before the data were seen, read from one TOML file."""

from training.protocol.files import priors_document
from training.protocol.model import (
    CANDIDATES,
    ONE_STANDARD_ERROR,
    SHIPPABLE,
    CohortRules,
    Factor,
    FitRules,
    Form,
    FromRows,
    GateRules,
    Interaction,
    OutcomeRules,
    Predictor,
    Protocol,
    ReportRules,
    SmallCentres,
)
from training.protocol.read import from_document, read

__all__ = [
    "CANDIDATES",
    "ONE_STANDARD_ERROR",
    "SHIPPABLE",
    "CohortRules",
    "Factor",
    "FitRules",
    "Form",
    "FromRows",
    "GateRules",
    "Interaction",
    "OutcomeRules",
    "Predictor",
    "Protocol",
    "ReportRules",
    "SmallCentres",
    "from_document",
    "priors_document",
    "read",
]
