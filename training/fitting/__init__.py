"""The whole way from a cohort to a bundle: outcome, design, candidate, replays, and what may leave the building."""

from training.fitting.comparison import Comparison, Rival
from training.fitting.pipeline import Trained, fit

__all__ = ["Comparison", "Rival", "Trained", "fit"]
