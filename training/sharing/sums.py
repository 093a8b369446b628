"""A centre's answer to a round that fits: log-likelihood, gradient and Hessian of its children, summed."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import Floats
from riskmodel.errors import Finding, SharesRefused
from training.cohort import Cohort
from training.outcome import Outcome, at_horizon
from training.protocol import Protocol
from training.sharing.agreement import common, declared, digest_of
from training.sharing.counts import sender
from training.sharing.files import digest, finding
from training.sharing.freeze import used_columns
from training.sharing.masking import Masks
from training.sharing.model import FitState, FitSums, Round, Stage, Sums


@dataclass(frozen=True, slots=True)
class Local:
    """A centre's children as the round asks for them: (n, k) columns with a constant first, offset, outcome."""

    design: Floats
    offset: Floats
    outcome: Outcome
    used: NDArray[np.bool_]

    def log_odds(self, modes: Floats) -> Floats:
        """(G, n) at (G, k) coefficients."""
        eta: Floats = modes @ self.design.T + self.offset
        return eta


def local(cohort: Cohort, protocol: Protocol, asked: Round) -> Local:
    """The centre's children under what the round has fixed; its own follow-up weighs them."""
    held = common(protocol)
    used = used_columns(held, asked.frozen)
    columns = declared(protocol, held, asked.frozen).recipe.expected(cohort.cases)
    fixed = np.where(used, 0.0, held.priors.mean) * held.uses_terms
    design = np.hstack([np.ones((len(cohort), 1)), columns[:, used]])
    return Local(design, columns @ fixed, at_horizon(cohort, protocol), used)


def add_up(cohort: Cohort, protocol: Protocol, asked: Round, masks: Masks) -> Sums:
    """What a centre sends to a round that fits.

    Raises
    ------
    SharesRefused
        When the round is of another protocol, does not know the centre, or asks for something else.
    """
    refuse_round(protocol, asked, masks, Stage.FIT)
    held, number = local(cohort, protocol, asked), digest(asked)
    fits = [fit for fit in asked.fits if not fit.done and fit.without != masks.centre]
    return Sums(
        sender=sender(protocol, masks),
        round=number,
        columns=masks.quantity(held.design.sum(axis=0), f"{number} columns"),
        fits=tuple(_sums(held, fit, masks, f"{number} {fit.without}") for fit in fits),
    )


def _sums(held: Local, fit: FitState, masks: Masks, label: str) -> FitSums:
    weights, y = held.outcome.weight, np.where(held.outcome.weight > 0.0, held.outcome.label, 0.0)
    eta = held.log_odds(fit.modes)
    small = np.exp(-np.abs(eta))
    p = np.where(eta > 0.0, 1.0, small) / (1.0 + small)
    likelihood = (y * eta - np.maximum(eta, 0.0) - np.log1p(small)) @ weights
    gradient = ((y - p) * weights) @ held.design
    upper, lower = np.triu_indices(held.design.shape[1])
    hessian = (p * (1.0 - p) * weights) @ (held.design[:, upper] * held.design[:, lower])
    return FitSums(
        without=fit.without,
        log_likelihood=masks.quantity(likelihood, f"{label} log_likelihood"),
        gradient=masks.quantity(gradient, f"{label} gradient"),
        hessian=masks.quantity(hessian, f"{label} hessian"),
    )


def refuse_round(protocol: Protocol, asked: Round, masks: Masks, stage: Stage) -> None:
    """Refuse a round that is not this centre's to answer.

    Raises
    ------
    SharesRefused
        With every finding at once.
    """
    found = list(_faults(protocol, asked, masks, stage))
    if found:
        raise SharesRefused(found)


def _faults(protocol: Protocol, asked: Round, masks: Masks, stage: Stage) -> Iterator[Finding]:
    name, own = asked.protocol, digest_of(protocol)
    if asked.digest != own:
        found = f"a round of another protocol or dictionary, {name}, digest {asked.digest[:12]}"
        yield finding(name, found, f"digest {own[:12]} of {protocol.name}", "other_protocol")
    if masks.centre not in asked.centres:
        yield finding(name, f"the centre {masks.centre}", f"one of {', '.join(asked.centres)}", "other_centre")
    others = sorted(set(asked.centres) - {masks.centre}) if asked.masked else []
    if sorted(masks.secrets) != others:
        found = f"secrets with {', '.join(sorted(masks.secrets)) or 'nobody'}"
        accepted = f"secrets with {', '.join(others)}" if others else "none: this pool is not masked"
        yield finding(name, found, accepted, "masks_differ")
    if asked.stage is not stage:
        yield finding(name, f"a round to {asked.stage.value}", f"a round to {stage.value}", "other_stage")
