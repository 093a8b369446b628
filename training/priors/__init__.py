"""Priors: what was published or held of each effect, as a file, and as means and SDs of a model's columns."""

from training.priors.columns import Belief, base_belief, beliefs, column_priors
from training.priors.model import BASE, Confidence, Grounds, Per, Prior
from training.priors.read import parse, read

__all__ = [
    "BASE",
    "Belief",
    "Confidence",
    "Grounds",
    "Per",
    "Prior",
    "base_belief",
    "beliefs",
    "column_priors",
    "parse",
    "read",
]
