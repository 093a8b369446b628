"""From a fit to a bundle: nothing leaves but numbers that no child can be read from."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from importlib.metadata import version
from typing import Any

import numpy as np

from riskmodel.bundle import FORMAT, Bundle, OutcomeText, Ranges, Support, Use
from riskmodel.cases.table import Floats
from riskmodel.dictionary import Dictionary, restricted
from riskmodel.documents.cautions import cautions
from riskmodel.missing import Moments
from riskmodel.model import Stability
from training.candidates import Fitted, draws
from training.cohort import Cohort
from training.features import Design
from training.fitting.coarse import coarse_means, coarse_moments, indicators, shown_children
from training.fitting.disclosure import cohort_facts, last_values, ranges, supports
from training.fitting.gates import gate_settings
from training.fitting.performance import performance
from training.fitting.shown import shown
from training.fitting.simulated import nearest
from training.outcome import Outcome, known_rate
from training.protocol import Protocol
from training.replay import ReplayResult

DRAWS = 400
# Gain in left-out log-likelihood over the rate that counts as a signal: chosen on simulated cohorts without one, so
# that about 1 in 20 of them is taken for one; in small cohorts, where little is heard at all, up to 1 in 10
# (docs/recovery.md).
SIGNAL_GAIN, SIGNAL_GAIN_SMALL, SMALL = 2.4, 2.0, 150
MADE_WITH = ("numpy", "scipy", "scikit-learn")


@dataclass(frozen=True, slots=True)
class Told:
    """What a bundle says beside its sum, coarse enough that no child stands out.

    `scored_at`: variables that every new child is scored at a fixed value of. The other fields are the bundle's.
    """

    ranges: Ranges
    support: tuple[Support, ...]
    cohort: Mapping[str, Any]
    cohort_rate: float
    performance: Mapping[str, Any]
    signal: bool
    stability: tuple[Stability, ...] = ()
    scored_at: Mapping[str, float] = field(default_factory=dict)


def assemble(
    cohort: Cohort,
    protocol: Protocol,
    outcome: Outcome,
    design: Design,
    fitted: Fitted,
    replays: ReplayResult,
    rng: np.random.Generator,
) -> Bundle:
    """Put the bundle of a fit together; its digest is made when it is written."""
    cohort_rate = known_rate(cohort.course, protocol.outcome)
    told = Told(
        ranges=ranges(cohort, protocol),
        support=supports(cohort, protocol, outcome),
        cohort=cohort_facts(cohort, protocol, outcome),
        cohort_rate=cohort_rate,
        performance={
            **performance(replays, outcome, design.columns_learned),
            **shown(cohort, protocol, outcome, design, fitted),
            # Measured with scales learned by evidence, and of nothing else.
            "simulated": nearest(len(cohort), cohort_rate) if protocol.fit.scale == "evidence" else None,
        },
        signal=has_signal(fitted, outcome),
        stability=replays.stability,
        scored_at=last_values(cohort, protocol),
    )
    return bundle_of(protocol, cohort.dictionary, design, fitted, told, rng)


def bundle_of(
    protocol: Protocol,
    dictionary: Dictionary,
    design: Design,
    fitted: Fitted,
    told: Told,
    rng: np.random.Generator,
) -> Bundle:
    """The bundle of a sum, whoever fitted it; `dictionary` knows the derived variables too."""
    used = _used_dictionary(dictionary, protocol, design)
    drawn = draws(design, fitted, DRAWS, rng, signal=told.signal)
    children = shown_children(told.cohort)
    return Bundle(
        format=FORMAT,
        id=protocol.name,
        title=protocol.title,
        demonstration=protocol.demonstration,
        use=Use.STUDY,
        released=protocol.released,
        review_by=protocol.review_by,
        parents=(),
        made_with={name: version(name) for name in ("riskmodel", *MADE_WITH)},
        protocol=protocol.document,
        dictionary=used,
        outcome=_outcome(protocol),
        terms=design.recipe.terms,
        derive=protocol.derive,
        intercept=float(fitted.intercept or 0.0),
        coefficients=_held(fitted),
        column_means=coarse_means(design.column_means, indicators(design.recipe.terms, used), children),
        draws=drawn,
        moments=_with_normals(coarse_moments(design.recipe.moments, children), len(drawn), rng),
        gates=gate_settings(protocol, used),
        published=protocol.outcome.published,
        advice={},
        local_checks=(),
        updates=(),
        cautions=cautions(demonstration=protocol.demonstration),
        **{spot.name: getattr(told, spot.name) for spot in fields(Told)},
    )


def has_signal(fitted: Fitted, outcome: Outcome) -> bool:
    """Whether the left-out predictions beat the rate by more than a threshold fixed beforehand."""
    return fitted.gain is not None and fitted.gain > gain_needed(int(np.count_nonzero(outcome.known)))


def gain_needed(children: int) -> float:
    """The gain that counts as a signal, with so many children whose outcome is known."""
    return SIGNAL_GAIN_SMALL if children <= SMALL else SIGNAL_GAIN


def _held(fitted: Fitted) -> Floats:
    if fitted.coefficients is None:
        raise TypeError(f"{fitted.name} is not a sum of terms: it gives no numbers for a child")
    return fitted.coefficients


def _with_normals(moments: Moments, count: int, rng: np.random.Generator) -> Moments:
    """The moments with the fixed normals of the draws, each block's scaled to mean 0 and SD 1 exactly."""
    normals = rng.standard_normal((count, len(moments.blocks)))
    return replace(moments, normals=(normals - normals.mean(axis=0)) / normals.std(axis=0))


def _used_dictionary(dictionary: Dictionary, protocol: Protocol, design: Design) -> Dictionary:
    names = dict.fromkeys(name for term in design.recipe.terms for name in term.variables)
    names |= dict.fromkeys(design.recipe.sources)
    names |= dict.fromkeys(name for derivation in protocol.derive for name in (derivation.name, *derivation.of))
    names |= dict.fromkeys(requirement.variable for requirement in protocol.cohort.only)
    names |= dict.fromkeys(name for combination in protocol.gates.like_cases for name in combination)
    return restricted(dictionary, names, protocol.outcome.name)


def _outcome(protocol: Protocol) -> OutcomeText:
    rules = protocol.outcome
    if rules.name is None:
        return OutcomeText(str(rules.column), f"{rules.column}: {rules.event_value}", None)
    held = protocol.dictionary.outcomes[rules.name]
    return OutcomeText(held.name, held.label, rules.horizon_months, held.text)
