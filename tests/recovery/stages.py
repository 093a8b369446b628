"""The stages of the study: what is repeated, in which settings, on which seeds."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from synthetic_cohort.scenarios import Scenario
from tests.recovery import elsewhere, repeats
from tests.recovery.settings import (
    SEEDS_PER_SETTING,
    TUNING_SEED,
    VERDICT_SEED,
    Priors,
    Setting,
    sizes,
)
from tests.recovery.store import Row

Repeat = Callable[[Setting, int], Iterator[Row]]


@dataclass(frozen=True, slots=True)
class Stage:
    """Repeats of one kind: `repeat` in each of the settings, `count` times unless asked otherwise.

    `judged`: whether the repeats need the ground of their scenarios.
    """

    repeat: Repeat
    settings: tuple[Setting, ...]
    count: int
    first_seed: int = VERDICT_SEED
    judged: bool = True

    def tasks(self, count: int) -> Iterator[tuple[Setting, int]]:
        """Setting and seed of each repeat: the first of every setting, then the second, and so on."""
        for number in range(count):
            for place, setting in enumerate(self.settings):
                yield setting, self.first_seed + SEEDS_PER_SETTING * place + number


PLAIN_150: Final = 150
PRIORS: Final = tuple(Setting(f"plain-150-{each.value}", Scenario.PLAIN, PLAIN_150, each) for each in Priors)
CENSORED: Final = (
    Setting("plain-300-usual", Scenario.PLAIN, 300),
    Setting("plain-300-censored", Scenario.PLAIN, 300, censoring=2.4),
)
GAPS: Final = (
    Setting("plain-300-complete", Scenario.PLAIN, 300, missing=0.0),
    Setting("plain-300-emptied", Scenario.PLAIN, 300, missing=0.0, emptied=0.3),
)

STAGES: Final = {
    "coverage": Stage(repeats.coverage, (*sizes(Scenario.PLAIN), *sizes(Scenario.RARE)), 100),
    "noise": Stage(repeats.coverage, sizes(Scenario.NOISE), 100, VERDICT_SEED + 20_000),
    "signal": Stage(
        repeats.signal,
        (*sizes(Scenario.NOISE), *sizes(Scenario.PLAIN, (150, 300))),
        400,
        VERDICT_SEED + 30_000,
        judged=False,
    ),
    "optimism": Stage(repeats.optimism, sizes(Scenario.PLAIN, (300, 600)), 50, VERDICT_SEED + 40_000),
    "censoring": Stage(repeats.censoring, CENSORED, 100, VERDICT_SEED + 50_000),
    "missing": Stage(repeats.coverage, GAPS, 50, VERDICT_SEED + 60_000),
    "gaps": Stage(repeats.gaps, GAPS[:1], 50, VERDICT_SEED + 65_000),
    "priors": Stage(repeats.coverage, PRIORS, 50, VERDICT_SEED + 70_000),
    "drift": Stage(
        elsewhere.drift, (*sizes(Scenario.DRIFT, (600,)), *sizes(Scenario.PLAIN, (600,))), 50, VERDICT_SEED + 80_000
    ),
    "small_centres": Stage(elsewhere.new_centre, sizes(Scenario.SMALL_CENTRES, (1_200,)), 50, VERDICT_SEED + 95_000),
    "tuning": Stage(repeats.coverage, (*sizes(Scenario.STRONG_SYNDROME), *sizes(Scenario.WIRE_ERA)), 10, TUNING_SEED),
    "tuning_signal": Stage(repeats.signal, sizes(Scenario.NOISE, (150, 300)), 100, TUNING_SEED + 30_000, judged=False),
}
