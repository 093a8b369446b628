"""The invented centres of the demonstration, pooled as real ones would be: from their sums."""

from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np

from riskmodel.documents.words import fixed
from riskmodel.errors import RiskmodelError
from training import cohort as cohorts
from training import protocol as protocols
from training.cli.pool import fill
from training.cohort import Cohort
from training.protocol import Protocol
from training.report.whole import put
from training.sharing import Masks, PooledFit, count, rehearse


def pool_centres(cohort: Path, name: str, out: Path) -> Iterator[str]:
    """Pool the centres of a cohort that are large enough, write the model under `out`, and say what came out."""
    protocol = protocols.read(name)
    held = _by_centre(cohorts.read(cohort, protocol))
    small = {centre: reason for centre, each in held.items() if (reason := _refusal(centre, each, protocol))}
    made = rehearse({centre: each for centre, each in held.items() if centre not in small}, protocol)
    put(out, lambda folder: fill(folder, made), replace_it=True)
    yield ""
    yield f"The same model from the sums of {len(held) - len(small)} invented centres, no row leaving any of them"
    yield from (f"  {centre} sends nothing: {reason}" for centre, reason in small.items())
    yield f"  {_told(made)}"


def _by_centre(cohort: Cohort) -> dict[str, Cohort]:
    centre = cohort.centre
    if centre is None:
        return {}
    return {label: cohort.take(np.flatnonzero(centre.values == code)) for code, label in enumerate(centre.labels)}


def _refusal(centre: str, held: Cohort, protocol: Protocol) -> str | None:
    try:
        count(held, protocol, Masks(centre, {}))
    except RiskmodelError as refused:
        return str(refused)
    return None


def _told(made: PooledFit) -> str:
    measures = made.bundle.performance["measures"]
    c, ratio = (_span(measures[name]) for name in ("c", "observed_expected"))
    return f"each centre under the model of the others: c {c}, observed over expected {ratio}"


def _span(held: Mapping[str, float | None]) -> str:
    return f"{fixed(held['apparent'])} ({fixed(held['low'])} to {fixed(held['high'])})"
