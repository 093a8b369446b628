"""Everything that the pipeline did once is done again in each bootstrap replay: what comes out is not flattered."""

from training.replay.engine import prepare, run
from training.replay.one import Study
from training.replay.result import Corrected, ReplayResult

__all__ = ["Corrected", "ReplayResult", "Study", "prepare", "run"]
