"""One model of several centres, fitted from sums: no row leaves a department.

`count` and `freeze` fix what all do alike; `add_up` and `step` take turns until the fit has settled; `judge` and
`finish` say what it is worth and make the bundle.
"""

from training.sharing import files
from training.sharing.counts import centre_name, count
from training.sharing.finish import PooledFit, finish
from training.sharing.freeze import freeze
from training.sharing.judge import judge
from training.sharing.masking import Masks
from training.sharing.model import Counts, Judgement, Round, Stage, Sums
from training.sharing.pool import step
from training.sharing.rehearse import rehearse, settle
from training.sharing.sums import add_up

__all__ = [
    "Counts",
    "Judgement",
    "Masks",
    "PooledFit",
    "Round",
    "Stage",
    "Sums",
    "add_up",
    "centre_name",
    "count",
    "files",
    "finish",
    "freeze",
    "judge",
    "rehearse",
    "settle",
    "step",
]
