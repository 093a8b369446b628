"""Candidates: ways to turn a design and an outcome into probabilities, compared by the protocol's rule."""

from training.candidates.base import Candidate, FitLog, Fitted
from training.candidates.bias_reduced import BiasReduced
from training.candidates.choice import OneStandardError, paired_difference
from training.candidates.known import KNOWN, candidates, chosen
from training.candidates.terms import SumOfTerms, draws
from training.candidates.trees import BoostedTrees, GrownTrees

__all__ = [
    "KNOWN",
    "BiasReduced",
    "BoostedTrees",
    "Candidate",
    "FitLog",
    "Fitted",
    "GrownTrees",
    "OneStandardError",
    "SumOfTerms",
    "candidates",
    "chosen",
    "draws",
    "paired_difference",
]
