"""Candidates: ways to turn a design and an outcome into probabilities, compared by the protocol's rule."""

from training.candidates.base import Candidate, FitLog, Fitted
from training.candidates.known import KNOWN, candidates, chosen
from training.candidates.terms import SumOfTerms, draws

__all__ = ["KNOWN", "Candidate", "FitLog", "Fitted", "SumOfTerms", "candidates", "chosen", "draws"]
