"""One step of the pool: add up what the centres sent, and say at which coefficients to sum next."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from riskmodel.cases.table import Floats
from riskmodel.errors import Finding, FitRefused, SharesRefused, refuse_errors
from training.posterior import ColumnPriors, evidence
from training.protocol import Protocol
from training.sharing.agreement import common, digest_of
from training.sharing.files import digest, finding
from training.sharing.freeze import used_columns
from training.sharing.masking import total
from training.sharing.model import FitState, FitSums, Judgement, Round, Stage, Sums

MOST_ROUNDS = 12
# A squared Newton decrement below this: the modes are right to 3e-10 posterior SDs.
DONE = 1e-19


def step(protocol: Protocol, asked: Round, parts: Sequence[Sums]) -> Round:
    """The round that follows from every centre's sums.

    Raises
    ------
    SharesRefused
        When a file belongs to another round or protocol, or a centre is missing or twice.
    FitRefused
        When the fit has not settled after 12 rounds.
    """
    refuse_errors(strangers(protocol, asked, parts), SharesRefused)
    held = common(protocol)
    priors = held.priors.take(used_columns(held, asked.frozen))
    scales = priors.grid(protocol.fit.scale if held.uses_terms else "evidence")
    fits = tuple(fit if fit.done else _moved(fit, parts, priors, scales) for fit in asked.fits)
    done = all(fit.done for fit in fits)
    if not done and asked.number >= MOST_ROUNDS:
        raise FitRefused(
            f"the fit must settle within {MOST_ROUNDS} rounds and has not: with a flat scale the events may be "
            'separated; accepted: scale = "evidence", or fewer predictors'
        )
    return replace(asked, stage=Stage.JUDGE if done else Stage.FIT, number=asked.number + 1, fits=fits)


def strangers(protocol: Protocol, asked: Round, parts: Sequence[Sums | Judgement]) -> Iterator[Finding]:
    """Everything by which answers do not belong to the round, or are not all there."""
    own, number = digest_of(protocol), digest(asked)
    if asked.digest != own:
        found = f"a round of another protocol or dictionary, digest {asked.digest[:12]}"
        yield finding(asked.protocol, found, f"digest {own[:12]} of {protocol.name}", "other_protocol")
    for part in parts:
        if part.sender.digest != asked.digest:
            found = f"sums under another protocol or dictionary, digest {part.sender.digest[:12]}"
            yield finding(part.sender.centre, found, f"digest {asked.digest[:12]}", "other_protocol")
        elif part.round != number:
            found, accepted = "an answer to another round", f"an answer to round {asked.number}, {number[:12]}"
            yield finding(part.sender.centre, found, accepted, "other_round")
    names = sorted(part.sender.centre for part in parts)
    if names != sorted(asked.centres):
        accepted = f"one file of each: {', '.join(asked.centres)}"
        yield finding(asked.protocol, f"files of {', '.join(names) or 'nobody'}", accepted, "centres_differ")


def _moved(fit: FitState, parts: Sequence[Sums], priors: ColumnPriors, scales: Floats) -> FitState:
    """A Newton step of one fit at all grid points, half of the last where it went too far."""
    taking = [part for part in parts if part.sender.centre != fit.without]
    sums = [next(held for held in part.fits if held.without == fit.without) for part in taking]
    columns = total([part.columns for part in taking])
    means = columns[1:] / columns[0]
    posterior = _Posterior(fit, sums, priors.precision(scales), priors, means)
    value = posterior.value
    if len(fit.value):
        fell = value < fit.value - 1e-12 * np.abs(fit.value)
        if fell.any():
            halved = np.where(fell[:, None], 0.5 * (fit.modes + fit.settled), fit.modes)
            return replace(fit, modes=halved, means=means)
    move, decrement = posterior.newton()
    if decrement < DONE:
        weights = evidence(scales, priors.precision(scales), value, posterior.hessians)
        return replace(
            fit, settled=fit.modes, value=value, means=means, done=True, weights=weights, hessians=posterior.hessians
        )
    return replace(fit, modes=fit.modes + move, settled=fit.modes, value=value, means=means)


class _Posterior:
    """Objective, gradient and Hessian (G, ...) of one fit at its modes, the priors in them.

    Priors are of the base, the log-odds with every column at its mean, and of the coefficients; the modes are of the
    intercept: `turn` (k, k) makes the one of the other.
    """

    def __init__(
        self, fit: FitState, sums: Sequence[FitSums], precision: Floats, priors: ColumnPriors, means: Floats
    ) -> None:
        turn = np.eye(len(means) + 1)
        turn[0, 1:] = means
        away = fit.modes @ turn.T - np.concatenate([[priors.base_mean], priors.mean])
        likelihood = fit.kish * total([held.log_likelihood for held in sums])
        self.value: Floats = likelihood - 0.5 * (precision * away**2).sum(axis=1)
        self.gradient: Floats = fit.kish * total([held.gradient for held in sums]) - (precision * away) @ turn
        packed = fit.kish * total([held.hessian for held in sums])
        self.hessians: Floats = _square(packed, len(turn)) + np.einsum("ji,gj,jk->gik", turn, precision, turn)

    def newton(self) -> tuple[Floats, float]:
        """(G, k) steps, and the largest squared decrement."""
        move: Floats = np.linalg.solve(self.hessians, self.gradient[:, :, None])[:, :, 0].astype(np.float64)
        return move, float((move * self.gradient).sum(axis=1).max())


def _square(packed: Floats, width: int) -> Floats:
    """(G, k, k) from the upper triangles (G, k (k + 1) / 2)."""
    upper, lower = np.triu_indices(width)
    square = np.empty((len(packed), width, width))
    square[:, upper, lower] = square[:, lower, upper] = packed
    return square
