"""The protocol: everything that was decided before the data were seen, read from one TOML file."""

from training.protocol.model import (
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
)

__all__ = [
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
]
