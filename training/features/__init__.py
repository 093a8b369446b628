"""From a cohort and its protocol to a design: terms, priors, moments and the columns of every child.

`declare` decides once, on the original cohort and without the outcome, what the columns are and which of them
enough children carry. `learn` is done again in every replay: moments, expected columns, means.
"""

from training.features.bounds import DEPTH, bounds
from training.features.declare import FEWEST_CARRIERS, Declared, declare
from training.features.design import Design, Prepared, learn, prepare

__all__ = ["DEPTH", "FEWEST_CARRIERS", "Declared", "Design", "Prepared", "bounds", "declare", "learn", "prepare"]
