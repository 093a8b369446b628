"""Fit a protocol to a cohort: one pass for the numbers, the replays for what they are worth."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from riskmodel.bundle import Bundle
from riskmodel.errors import Finding
from training.advice import Advice, advise, document
from training.candidates import Fitted, candidates, chosen
from training.cohort import Cohort
from training.features import Declared, Design, declare, learn
from training.fitting.assemble import assemble
from training.fitting.comparison import Comparison, compare
from training.fitting.performance import performance
from training.outcome import Outcome, at_horizon, check_enough
from training.protocol import Protocol
from training.replay import ReplayResult, prepare, run_all
from training.replay.engine import Progress


@dataclass(frozen=True, slots=True)
class Trained:
    """Everything that a fit made: the bundle to ship, and what the report shows beside it."""

    bundle: Bundle
    advice: Advice
    cohort: Cohort
    protocol: Protocol
    outcome: Outcome
    declared: Declared
    design: Design
    fitted: Fitted
    replays: ReplayResult
    comparison: Comparison
    warnings: tuple[Finding, ...]

    def performance(self, replays: ReplayResult) -> Mapping[str, Any]:
        """The numbers of the validation of a candidate, as plain JSON; of the shipped one those that its bundle holds.

        `leads` among them is the correction of optimism to read first: "harrell" or "point632plus".
        """
        if replays is self.replays:
            return self.bundle.performance
        return performance(replays, self.outcome, self.design.columns_learned)


def fit(
    cohort: Cohort,
    protocol: Protocol,
    *,
    times: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
) -> Trained:
    """Fit the protocol's chosen candidate to the cohort, and replay it together with the others.

    Parameters
    ----------
    times
        Replays; the protocol's number when not given.
    workers
        Processes for the replays; the result does not depend on it.
    progress
        Called with the number of replays just finished.

    Raises
    ------
    OutcomeRefused
        When the cohort cannot tell the outcome at the horizon.
    FitRefused
        When no model can be fitted as asked.
    """
    outcome = at_horizon(cohort, protocol)
    warnings = (*cohort.findings, *check_enough(outcome))
    declared = declare(cohort, protocol)
    advice = advise(cohort, protocol, outcome, declared)
    # One generator for each stage: drawing more in one never moves another.
    draw_rng, replay_rng = np.random.default_rng(protocol.seed).spawn(2)
    others = [held for held in candidates(protocol) if held.name != protocol.fit.choose]
    study = prepare(cohort, protocol, candidates=[chosen(protocol), *others], declared=declared, smooth=True)
    count = protocol.replays if times is None else times
    found = run_all(study, times=count, rng=replay_rng, workers=workers, progress=progress)
    comparison = compare(found, outcome)
    replays = comparison.replayed[0]
    design = learn(cohort, protocol, declared=declared)
    bundle = replace(
        assemble(cohort, protocol, outcome, design, replays.fitted, replays, draw_rng), advice=document(advice)
    )
    return Trained(
        bundle, advice, cohort, protocol, outcome, declared, design, replays.fitted, replays, comparison, warnings
    )
