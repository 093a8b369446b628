"""What becomes of the estimates if the priors had been other ones."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from training.posterior import ColumnPriors
from training.priors import column_priors, parse
from training.protocol import priors_document
from training.validation.beliefs import used_sd
from training.validation.refit import Examined
from training.validation.variants import Variant, attempt

VAGUE = "vague.toml"


def of_priors(held: Examined) -> tuple[Variant, ...]:
    """The same fit under other priors; nothing for a model without terms or without priors."""
    found = held.fitted.posterior
    if found is None or found.modes.shape[1] == 1 or held.protocol.fit.scale == "flat":
        return ()
    return tuple(
        attempt(held, name, declared=replace(held.declared, priors=priors))[0] for name, priors in _others(held)
    )


def _others(held: Examined) -> Iterator[tuple[str, ColumnPriors]]:
    priors = held.declared.priors
    sourced = int(np.count_nonzero(~np.isnan(priors.sd)))
    if sourced:
        yield f"SDs of the {sourced} sourced priors halved", replace(priors, sd=0.5 * priors.sd)
        yield f"SDs of the {sourced} sourced priors doubled", replace(priors, sd=2.0 * priors.sd)
    if np.isfinite(priors.base_sd):
        yield "nothing held of the base", replace(priors, base_mean=0.0, base_sd=np.inf)
    if held.protocol.fit.scale == "evidence" and np.isnan(priors.sd).any():
        yield "scales held to be half as large (half-normal, SD 0.5)", replace(priors, hyper_sd=0.5)
        yield "scales held to be twice as large (half-normal, SD 2)", replace(priors, hyper_sd=2.0)
    yield from _moved_means(held)
    yield "vague: nothing held of any effect, scales learned", _vague(held)


def _moved_means(held: Examined) -> Iterator[tuple[str, ColumnPriors]]:
    """Every prior mean away from 0 and towards it by one SD, a mean of 0 staying where it is."""
    priors, found = held.declared.priors, held.fitted.posterior
    if found is None or not priors.mean.any():
        return
    step = np.sign(priors.mean) * used_sd(priors, found)
    yield "every prior mean one SD further from 0", replace(priors, mean=priors.mean + step)
    yield "every prior mean one SD towards 0, and past it", replace(priors, mean=priors.mean - step)


def _vague(held: Examined) -> ColumnPriors:
    document = priors_document(VAGUE)
    parse(document, held.protocol.outcome.name)
    asked = replace(held.protocol, priors=document)
    return column_priors(asked, held.cohort.dictionary, held.declared.recipe.terms, held.declared.priors.block)
