"""What the boosted trees do with each column, explained with shap; in the report only, for no number of theirs is used.

Path-dependent explanations on the log-odds scale of columns held in single precision: the variant that adds up exactly
on this kind of trees. That they add up is checked here, not taken from the library.
"""

import warnings
from dataclasses import dataclass

import numpy as np

from riskmodel.cases.table import Floats
from training.candidates import KNOWN, BoostedTrees, GrownTrees
from training.fitting import Trained
from training.validation.refit import Examined

ADDS_UP = 1e-6


@dataclass(frozen=True, slots=True)
class Explained:
    """Boosted trees and what each column contributes, children by columns.

    `names` (k,) of the columns, the most telling first; `values` (n, k) as the trees see them, NaN where missing;
    `contributions` (n, k) log-odds, recalibrated like the trees; `importance` (k,) mean absolute contribution;
    `off`: the largest difference between a child's log-odds and the sum of its contributions. `reason`: why nothing
    is explained.
    """

    name: str
    rounds: int
    learning_rate: float
    slope: float
    names: tuple[str, ...]
    values: Floats
    contributions: Floats
    importance: Floats
    off: float
    reason: str | None = None


def explain(held: Examined, trained: Trained) -> tuple[Explained, ...]:
    """Explain every kind of trees that was compared."""
    names = {each.name for each in trained.comparison.replayed}
    made = [KNOWN[name](held.protocol) for name in KNOWN if name in names]
    kinds = [kind for kind in made if isinstance(kind, BoostedTrees)]
    counts = np.ones(len(held.cohort))
    return tuple(
        _explained(
            kind.name,
            kind.grow(held.design, held.cohort, held.outcome, counts=counts, rng=np.random.default_rng(0)),
        )
        for kind in kinds
    )


def _explained(name: str, grown: GrownTrees) -> Explained:
    # Large, and wanted by few: loaded only where there are trees to explain. What it says of its own pictures, which
    # are not used here, is no concern of a reader.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PendingDeprecationWarning)
        import shap

    values = grown.columns.values
    explainer = shap.TreeExplainer(grown.model, feature_perturbation="tree_path_dependent")
    raw = np.asarray(explainer.shap_values(values, check_additivity=False), dtype=np.float64)
    base = float(np.ravel(explainer.expected_value)[0])
    off = float(np.abs(base + raw.sum(axis=1) - grown.model.decision_function(values)).max())
    contributions = grown.slope * raw
    importance = np.abs(contributions).mean(axis=0)
    order = np.argsort(-importance, kind="stable")
    return Explained(
        name=name,
        rounds=grown.rounds,
        learning_rate=grown.learning_rate,
        slope=grown.slope,
        names=tuple(grown.columns.names[i] for i in order),
        values=values[:, order],
        contributions=contributions[:, order],
        importance=importance[order],
        off=off,
        reason=None if off < ADDS_UP else f"the contributions miss the trees' own log-odds by up to {off:.2g}",
    )
