"""What was believed of each effect, what the cohort made of it, and whether the two contradict each other."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from riskmodel.account import label
from riskmodel.cases.table import Floats
from riskmodel.documents.card.columns import column_words
from training.posterior import ColumnPriors, Posterior
from training.priors import Prior, base_belief, beliefs
from training.validation.refit import Examined

# Signs that the data spoke, in SDs of the prior: the mean moved by this much, or the SD shrank to less than this share.
MOVED, NARROWED = 0.5, 0.8
CONFLICT = 1.96
BASE = "base"


@dataclass(frozen=True, slots=True)
class Learned:
    """One effect (or the base) before and after, in log-odds for one step of its column.

    `prior_sd` is the one that was used: sourced, or learned with the scale it shares (`sd_learned`); None where the
    prior is flat. `moved`: (posterior mean - prior mean) / prior SD; `narrowed`: posterior SD / prior SD; `spoke`:
    whether the data moved the effect. `conflict`: how many SDs the posterior mean lies from where the prior and the
    design alone would put it; beyond 1.96 either way prior and data contradict each other. `if_mean_rose`: mean over
    children of how far their risk moves if the prior mean is raised by one SD. `carried`: whether enough children
    carry the column for the cohort to say anything of it.
    """

    term: str
    column: str
    label: str
    words: str
    prior_mean: float
    prior_sd: float | None
    sd_learned: bool
    source: str | None
    grounds: str | None
    posterior_mean: float
    posterior_sd: float
    carried: bool
    moved: float | None
    narrowed: float | None
    spoke: bool
    conflict: float | None
    in_conflict: bool
    if_mean_rose: float | None


def before_and_after(held: Examined) -> tuple[Learned, ...]:
    """Every column of the model, the base first; nothing for a model without terms."""
    found = held.fitted.posterior
    if found is None or found.modes.shape[1] == 1:
        return ()
    return (_base(held, found), *_columns(held, found))


def _base(held: Examined, found: Posterior) -> Learned:
    priors, entry = held.declared.priors, base_belief(held.protocol)
    prior = Normal(priors.base_mean, priors.base_sd if np.isfinite(priors.base_sd) else None)
    after = Normal(float(found.mean[0]), float(found.sd[0]))
    return _learned((BASE, "", "base", "log-odds with every column at its mean"), prior, after, entry)


@dataclass(frozen=True, slots=True)
class Normal:
    """Mean and SD; no SD where it is flat."""

    mean: float
    sd: float | None


def _columns(held: Examined, found: Posterior) -> Iterator[Learned]:
    declared, dictionary = held.declared, held.cohort.dictionary
    spoken = beliefs(held.protocol, dictionary, declared.recipe.terms)
    names = [(term, name) for term in declared.recipe.terms for name in term.basis.names]
    sds = used_sd(declared.priors, found)
    place = np.cumsum(declared.learned)
    for at, (term, name) in enumerate(names):
        told = (term.name, name, label(term, dictionary), column_words(term, name, dictionary))
        prior = Normal(float(declared.priors.mean[at]), float(sds[at]) if np.isfinite(sds[at]) else None)
        if declared.learned[at]:
            after = Normal(float(found.mean[place[at]]), float(found.sd[place[at]]))
            rose = _if_mean_rose(held, at, prior)
        else:
            after, rose = prior, None
        entry = None if (belief := spoken[at]) is None else belief.entry
        learned = _learned(told, prior, after, entry, carried=bool(declared.learned[at]))
        yield replace(learned, sd_learned=bool(np.isnan(declared.priors.sd[at])), if_mean_rose=rose)


def used_sd(priors: ColumnPriors, found: Posterior) -> Floats:
    """(C,) prior SDs as used: of a learned scale the root of its mean square over the posterior; infinite if flat."""
    scales = np.sqrt(found.weights @ found.scales**2)
    return np.where(np.isnan(priors.sd), scales[priors.block], priors.sd)


def _learned(
    told: tuple[str, str, str, str], prior: Normal, after: Normal, entry: Prior | None, *, carried: bool = True
) -> Learned:
    sd, spread = prior.sd, after.sd or 0.0
    moved = None if sd is None or not carried else (after.mean - prior.mean) / sd
    narrowed = None if sd is None or not carried else spread / sd
    conflict = _conflict(prior, after) if carried else None
    return Learned(
        term=told[0],
        column=told[1],
        label=told[2],
        words=told[3],
        prior_mean=prior.mean,
        prior_sd=sd,
        sd_learned=False,
        source=None if entry is None else entry.source,
        grounds=None if entry is None else entry.grounds.value,
        posterior_mean=after.mean,
        posterior_sd=spread,
        carried=carried,
        moved=moved,
        narrowed=narrowed,
        spoke=bool((moved is not None and abs(moved) > MOVED) or (narrowed is not None and narrowed < NARROWED)),
        conflict=conflict,
        in_conflict=conflict is not None and abs(conflict) > CONFLICT,
        if_mean_rose=None,
    )


def _conflict(prior: Normal, after: Normal) -> float | None:
    """(posterior mean - prior mean) / sqrt(prior variance - posterior variance).

    Under the prior the posterior mean varies around the prior mean with just this variance, by the law of total
    variance (Evans & Moshonov, Bayesian Analysis 2006;1:893, for a Gaussian approximation). None where the data say
    next to nothing.
    """
    if prior.sd is None or after.sd is None or after.sd >= 0.999 * prior.sd:
        return None
    return (after.mean - prior.mean) / float(np.sqrt(prior.sd**2 - after.sd**2))


def _if_mean_rose(held: Examined, at: int, prior: Normal) -> float | None:
    if prior.sd is None:
        return None
    mean = held.declared.priors.mean.copy()
    mean[at] += prior.sd
    priors = replace(held.declared.priors, mean=mean)
    risen = held.again(declared=replace(held.declared, priors=priors), candidate=held.kind.warmed(held.fitted))
    return float(np.abs(risen.fitted.probability - held.fitted.probability).mean())
