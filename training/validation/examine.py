"""Everything that is asked of a fit before anybody believes it."""

from dataclasses import dataclass

from training.fitting import Trained
from training.validation import beliefs, centres, definitions, eras, missing, sensitivity, specifications, subgroups
from training.validation.beliefs import Learned
from training.validation.centres import Centres
from training.validation.curves import Curves, curves
from training.validation.definitions import Definition, Window
from training.validation.eras import Eras
from training.validation.missing import MissingData
from training.validation.refit import Examined
from training.validation.specifications import Specifications
from training.validation.subgroups import Subgroups
from training.validation.trees import Explained, explain
from training.validation.variants import Variant


@dataclass(frozen=True, slots=True)
class Validation:
    """What the examination found, part by part; a number that could not be had is None, its reason beside it."""

    curves: Curves
    centres: Centres
    eras: Eras
    subgroups: tuple[Subgroups, ...]
    definitions: tuple[Definition, ...]
    windows: tuple[Window, ...]
    specifications: Specifications
    beliefs: tuple[Learned, ...]
    priors: tuple[Variant, ...]
    missing: MissingData
    trees: tuple[Explained, ...]


def examine(trained: Trained) -> Validation:
    """Examine a fit; takes a few seconds beside the replays."""
    held = Examined.of(trained)
    return Validation(
        curves=curves(trained.cohort, trained.protocol, trained.outcome, trained.replays),
        centres=centres.leave_one_out(held),
        eras=eras.before_and_after(held),
        subgroups=subgroups.by_kind(held),
        definitions=definitions.by_definition(held),
        windows=definitions.by_window(held),
        specifications=specifications.three(held),
        beliefs=beliefs.before_and_after(held),
        priors=sensitivity.of_priors(held),
        missing=missing.sensitivity(held, trained.bundle),
        trees=explain(held, trained),
    )
