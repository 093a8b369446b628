"""What a fit is worth beyond its replays: centres, eras, kinds of children, definitions, priors, missing values."""

from training.validation.examine import Validation, examine
from training.validation.stamp import stamped

__all__ = ["Validation", "examine", "stamped"]
