"""Two questions about other children: is a change of era found, and is the interval for a new centre honest?"""

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import Bundle
from riskmodel.cases.table import Floats
from riskmodel.errors import OutcomeRefused
from riskmodel.scoring import Scorer
from tests.recovery.ground import protocol, training, with_truth
from tests.recovery.judging import ON
from tests.recovery.settings import SEEDS_PER_SETTING, TEST_SEED, Setting
from tests.recovery.store import Row, Value
from training.cohort import Cohort
from training.fitting import fit
from training.updating import check_elsewhere, update
from training.updating.closed_test import Branch

NEW_ERA: Final = 2018  # in `drift` the risk halves from then on
CENTRES: Final = 14
TESTED: Final = 2_000
FEW_RESAMPLES: Final = 2  # the interval of observed/expected has a formula


def drift(setting: Setting, seed: int) -> Iterator[Row]:
    """Fit to the children before the new era, check and update on those after it, and look at new children."""
    under = protocol(setting.priors)
    cohort = training(setting, seed, under)
    late = _since(cohort)
    head: dict[str, Value] = {"setting": setting.name, "seed": seed}
    numbers: dict[str, Value] = dict.fromkeys(("ratio", "low", "high", "found", "updated", "true_before", "true_after"))
    try:
        bundle = fit(cohort.take(~late), under, times=1).bundle
        after = cohort.take(late)
        found = check_elsewhere(bundle, under, after, on=ON, times=FEW_RESAMPLES).performance.measures
        updated = update(bundle, under, after, on=ON)
    except OutcomeRefused:
        yield {**head, "refused": True, **numbers}
        return
    held = found["observed_expected"]
    tested, told = with_truth(setting.scenario, TEST_SEED, TESTED, under)
    new = _since(tested)
    numbers |= {
        "ratio": held.value,
        "low": held.low,
        "high": held.high,
        "found": held.low is not None and held.high is not None and not held.low <= 1.0 <= held.high,
        "updated": updated.chosen != Branch.ORIGINAL.value,
        "true_before": float(told[new].sum() / _risk(bundle, tested)[new].sum()),
        "true_after": float(told[new].sum() / _risk(updated.bundle, tested)[new].sum()),
    }
    yield {**head, "refused": False, **numbers}


def new_centre(setting: Setting, seed: int) -> Iterator[Row]:
    """Fit and check without one centre, and look where that centre's true observed/expected lies."""
    under = protocol(setting.priors)
    left = seed % CENTRES
    made, other = (_without(training(setting, each, under), left) for each in (seed, seed + SEEDS_PER_SETTING // 2))
    bundle = fit(made, under, times=1).bundle
    pooled = check_elsewhere(bundle, under, other, on=ON, times=FEW_RESAMPLES).between.get("log_observed_expected")
    tested, told = with_truth(setting.scenario, TEST_SEED, TESTED, under)
    own = _of(tested, left)
    ratio = float(told[own].sum() / _risk(bundle, tested)[own].sum())
    low, high = (None, None) if pooled is None else (pooled.prediction_low, pooled.prediction_high)
    yield {
        "setting": setting.name,
        "seed": seed,
        "pooled": 0 if pooled is None else pooled.centres,
        "true": float(np.log(ratio)),
        "low": low,
        "high": high,
        "holds": None if low is None or high is None else bool(low <= np.log(ratio) <= high),
    }


def _risk(bundle: Bundle, cohort: Cohort) -> Floats:
    """(n,) risk of complete children, whether or not a gate would show it."""
    model = Scorer(bundle).model
    return model.probability(model.recipe.expected(cohort.cases))


def _since(cohort: Cohort) -> NDArray[np.bool_]:
    assert cohort.year is not None
    return np.asarray(cohort.year.values >= NEW_ERA)


def _of(cohort: Cohort, place: int) -> NDArray[np.bool_]:
    """(n,) children of the centre with this place among the labels, which are in order."""
    assert cohort.centre is not None
    labels = sorted(cohort.centre.labels)
    return np.asarray(cohort.centre.values == cohort.centre.labels.index(labels[place]))


def _without(cohort: Cohort, place: int) -> Cohort:
    return cohort.take(~_of(cohort, place))
