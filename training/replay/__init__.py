"""Everything that the pipeline did once is done again in each bootstrap replay: what comes out is not flattered."""

from training.replay.engine import prepare, run, run_all
from training.replay.one import Study
from training.replay.result import Corrected, NotReplayed, ReplayResult

__all__ = ["Corrected", "NotReplayed", "ReplayResult", "Study", "prepare", "run", "run_all"]
