"""What a cohort can carry, before anything is fitted to it for use, and which step that leaves open."""

from training.advice.advise import advise
from training.advice.model import Advice, Beforehand, Path, Spread
from training.advice.words import document, lines, verdict

__all__ = ["Advice", "Beforehand", "Path", "Spread", "advise", "document", "lines", "verdict"]
