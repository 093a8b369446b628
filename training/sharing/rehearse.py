"""All rounds in one place, for centres whose rows are at hand: to rehearse a pool before anybody sends anything."""

from collections.abc import Mapping

from riskmodel.bundle import Bundle
from training.cohort import Cohort
from training.protocol import Protocol
from training.sharing.counts import count
from training.sharing.finish import PooledFit, finish
from training.sharing.freeze import freeze
from training.sharing.judge import judge
from training.sharing.masking import Masks
from training.sharing.model import Round, Stage
from training.sharing.pool import step
from training.sharing.sums import add_up


def rehearse(
    centres: Mapping[str, Cohort],
    protocol: Protocol,
    *,
    secrets: Mapping[str, Mapping[str, str]] | None = None,
    moments: Bundle | None = None,
) -> PooledFit:
    """Every round from the counts to the bundle.

    Parameters
    ----------
    centres : name -> its children
    secrets : name -> its secrets with every other centre; None: nothing is masked

    Raises
    ------
    SharesRefused, OutcomeRefused, FitRefused
        As the steps on the way.
    """
    masks = _masks(centres, secrets)
    asked = settle(centres, protocol, masks, moments)
    return finish(protocol, asked, [judge(held, protocol, asked, masks[name]) for name, held in centres.items()])


def settle(
    centres: Mapping[str, Cohort],
    protocol: Protocol,
    masks: Mapping[str, Masks] | None = None,
    moments: Bundle | None = None,
) -> Round:
    """The rounds up to the one that asks for judgement."""
    masks = masks or _masks(centres, None)
    asked = freeze(protocol, [count(held, protocol, masks[name]) for name, held in centres.items()], moments)
    while asked.stage is Stage.FIT:
        asked = step(protocol, asked, [add_up(held, protocol, asked, masks[name]) for name, held in centres.items()])
    return asked


def _masks(centres: Mapping[str, Cohort], secrets: Mapping[str, Mapping[str, str]] | None) -> dict[str, Masks]:
    return {name: Masks(name, {} if secrets is None else secrets[name]) for name in centres}
