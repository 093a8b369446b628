"""Whether a cohort can tell the outcome at its horizon at all, and what to say when it barely can."""

from riskmodel.errors import Finding, OutcomeRefused, Severity
from training.outcome.horizon import FEWEST_AT_RISK, Censoring, Outcome

FEWEST_EVENTS = 5
FEW_EVENTS = 10
MUCH_CENSORING = 0.20


def check_enough(outcome: Outcome) -> tuple[Finding, ...]:
    """Refuse an outcome that nothing can be learned from; return what should be said about one that barely can.

    For the cohort itself, not for its replays.

    Raises
    ------
    OutcomeRefused
        With fewer than 5 known events or 5 known non-events (both counts are named), or with fewer than 10 children
        still followed at the horizon.
    """
    refusals = [*_too_few_ends(outcome), *_too_short(outcome)]
    if refusals:
        raise OutcomeRefused("\n".join(refusals))
    return tuple(
        Finding("children", None, None, found, accepted, Severity.WARNING, rule)
        for found, accepted, rule in (*_few_events(outcome), *_much_censoring(outcome), *_pooled(outcome))
    )


def _when(outcome: Outcome) -> str:
    return "" if outcome.horizon_months is None else f" at {outcome.horizon_months:g} months"


def _too_few_ends(outcome: Outcome) -> list[str]:
    if min(outcome.events, outcome.non_events) >= FEWEST_EVENTS:
        return []
    return [
        f"the outcome needs at least {FEWEST_EVENTS} known events and {FEWEST_EVENTS} known non-events"
        f"{_when(outcome)}; found {outcome.events} and {outcome.non_events} among {len(outcome)} children"
    ]


def _too_short(outcome: Outcome) -> list[str]:
    if outcome.horizon_months is None or outcome.at_risk >= FEWEST_AT_RISK:
        return []
    return [
        f"the horizon needs at least {FEWEST_AT_RISK} children still followed and free just before it; found "
        f"{outcome.at_risk}{_when(outcome)}; accepted: a shorter horizon, or longer follow-up"
    ]


def _few_events(outcome: Outcome) -> list[tuple[str, str, str]]:
    if min(outcome.events, outcome.non_events) >= FEW_EVENTS:
        return []
    found = f"{outcome.events} known events and {outcome.non_events} known non-events{_when(outcome)}"
    return [(found, f"fewer than {FEW_EVENTS} of either make a model for study only", "few_events")]


def _much_censoring(outcome: Outcome) -> list[tuple[str, str, str]]:
    stated = len(outcome) - outcome.unstated
    share = outcome.censored_before / stated
    if share <= MUCH_CENSORING:
        return []
    found = f"{outcome.censored_before} of {stated} children ({share:.0%}) last seen free before the horizon"
    return [(found, f"at most {MUCH_CENSORING:.0%}, or a shorter horizon", "censored_before_horizon")]


def _pooled(outcome: Outcome) -> list[tuple[str, str, str]]:
    if outcome.censoring is not Censoring.POOLED_TOO_FEW:
        return []
    found = f"a centre with fewer than {FEWEST_AT_RISK} children still followed at the horizon"
    return [(found, "censoring is estimated over all children together instead", "censoring_pooled")]
