"""The outcome at the horizon, with the censoring weights that let the children still followed stand for the lost."""

from training.outcome.curves import Steps, aalen_johansen, censoring_survival, median
from training.outcome.enough import check_enough
from training.outcome.horizon import Censoring, Outcome, at_horizon
from training.outcome.summary import OutcomeSummary, follow_up, kish, known_rate, rate, summarise

__all__ = [
    "Censoring",
    "Outcome",
    "OutcomeSummary",
    "Steps",
    "aalen_johansen",
    "at_horizon",
    "censoring_survival",
    "check_enough",
    "follow_up",
    "kish",
    "known_rate",
    "median",
    "rate",
    "summarise",
]
