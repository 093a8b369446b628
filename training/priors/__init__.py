"""Priors: what was published or held of each effect, as a file, and as means and SDs of a model's columns."""

from training.priors.columns import column_priors
from training.priors.model import BASE, Confidence, Grounds, Per, Prior
from training.priors.read import parse, read

__all__ = ["BASE", "Confidence", "Grounds", "Per", "Prior", "column_priors", "parse", "read"]
