"""Round 0: what a centre says of itself before anything is fitted."""

from collections import Counter
from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from riskmodel.cases.table import STATE_WORDS, Floats
from riskmodel.errors import SharesRefused
from riskmodel.missing import Block, Holds, Moments, coordinates
from riskmodel.model import Recipe
from training.cohort import Cohort
from training.features import FEWEST_CARRIERS
from training.features.declare import CODED, carriers, stored_codes
from training.fitting.disclosure import missing_share, ranges, rounded_down, supports
from training.outcome import Outcome, at_horizon, check_enough
from training.protocol import Protocol
from training.sharing.agreement import Common, common, digest_of, refuse_unfit
from training.sharing.files import finding, refused
from training.sharing.masking import Masks
from training.sharing.model import Counts, Sender

FEWEST_CHILDREN, CHILDREN_A_COLUMN = 30, 3
NOTHING = Moments((), np.empty(0), np.empty((0, 0)), np.empty((0, 0)), np.empty((0, 0)))
# Order of the numbers in the sum `outcome`.
OUTCOME = ("children", "of_known_course", "known", "events", "weight", "weight_squared", "weight_of_events")


def count(cohort: Cohort, protocol: Protocol, masks: Masks) -> Counts:
    """What a centre sends in round 0.

    Raises
    ------
    SharesRefused
        When the protocol leaves to the cohort what all centres must do alike, or the centre is too small: its sums
        would then tell of single children.
    OutcomeRefused
        When the centre has fewer than 5 known events or non-events, or too little follow-up.
    """
    refuse_unfit(protocol)
    held, outcome = common(protocol), at_horizon(cohort, protocol)
    check_enough(outcome)
    carried = carriers(cohort.take(outcome.known), protocol, held.terms) >= FEWEST_CARRIERS
    _refuse_small(cohort, protocol, int(np.count_nonzero(carried)))
    blocks = all_blocks(protocol, held)
    levels = {block.variable: dict(_levels(cohort, block)) for block in blocks if block.holds is not Holds.NUMBER}
    start = digest_of(protocol)
    sums = {"outcome": _outcome(outcome, cohort), **_moments(cohort, blocks, levels)}
    return Counts(
        sender=sender(protocol, masks),
        carried=tuple(carried.tolist()),
        levels=levels,
        ranges=ranges(cohort, protocol),
        support=supports(cohort, protocol, outcome),
        missing_share={p.variable: _twentieths(missing_share(cohort, p.variable)) for p in protocol.predictors},
        sums={name: masks.quantity(values, f"{start} counts {name}") for name, values in sums.items()},
    )


def sender(protocol: Protocol, masks: Masks) -> Sender:
    """Who sends, and under which protocol."""
    return Sender(masks.centre, protocol.name, digest_of(protocol), tuple(sorted(masks.secrets)))


def centre_name(cohort: Cohort, given: str | None) -> str:
    """The centre's name: as given, or the only one in the cohort.

    Raises
    ------
    SharesRefused
        When the cohort names several centres, or none and no name is given.
    """
    held = cohort.centre
    names = [] if held is None else [label for code, label in enumerate(held.labels) if (held.values == code).any()]
    if len(names) > 1:
        found = f"children of {len(names)} centres"
        raise refused("children", found, "the children of one centre; each centre sends its own file", "many_centres")
    if given is None and not names:
        raise refused("children", "no centre named", "--centre NAME, or a column that names it", "no_centre")
    return given or names[0]


def _refuse_small(cohort: Cohort, protocol: Protocol, columns: int) -> None:
    needed = max(FEWEST_CHILDREN, CHILDREN_A_COLUMN * columns)
    if len(cohort) < needed:
        found = f"{len(cohort)} children, and {columns} columns that at least {FEWEST_CARRIERS} of them carry"
        accepted = f"at least {needed} children, so that no sum tells of a single one; pool with a larger neighbour"
        raise SharesRefused([finding(protocol.name, found, accepted, "centre_too_small")])


def all_blocks(protocol: Protocol, held: Common) -> tuple[Block, ...]:
    """Coordinates of every variable, all levels and states of it: the same wherever they are made."""
    recipe = Recipe(held.terms, protocol.derive, held.dictionary, NOTHING)
    return tuple(block for name in recipe.sources for block in _blocks(name, protocol, held))


def _blocks(name: str, protocol: Protocol, held: Common) -> Iterator[Block]:
    variable = held.dictionary.variables[name]
    if variable.kind in CODED:
        codes = stored_codes(variable)
        yield Block(name, Holds.LEVEL, codes, "", codes)
        return
    states = next((p.states for p in protocol.predictors if p.variable == name), ())
    if states:
        yield Block(name, Holds.STATE, states, codes=states)
    yield Block(name, Holds.NUMBER, centre=variable.centre, scale=variable.scale, bounds=variable.hard)


def _levels(cohort: Cohort, block: Block) -> Iterator[tuple[str, int]]:
    """Children with each level or state, rounded down to multiples of 5."""
    held = cohort.cases[block.variable]
    if block.holds is Holds.STATE:
        counts = Counter({name: int(np.count_nonzero(held.states == STATE_WORDS[name])) for name in block.names})
    else:
        tally = np.bincount(held.values[held.present].astype(np.intp), minlength=len(block.codes))
        counts = Counter(dict(zip(block.codes, tally.tolist(), strict=True)))
    yield from ((name, rounded_down(counts[name])) for name in block.names)


def _outcome(outcome: Outcome, cohort: Cohort) -> Floats:
    weight = outcome.weight
    known = int(np.count_nonzero(outcome.known))
    course = int(np.count_nonzero(cohort.course.known))
    sums = (weight.sum(), weight @ weight, weight @ outcome.label)
    return np.array([len(cohort), course, known, outcome.events, *sums], dtype=np.float64)


def _moments(cohort: Cohort, blocks: tuple[Block, ...], levels: Mapping[str, Mapping[str, int]]) -> dict[str, Floats]:
    """Number of children of whom everything is known, and their first and second moments."""
    held = coordinates(cohort.cases, blocks)
    at = 0
    for block in blocks:
        span = slice(at, at + block.width)
        if block.holds is Holds.NUMBER:
            _settle_states(cohort, block, held[:, span])
        else:
            rare = np.array([levels[block.variable][name] < FEWEST_CARRIERS for name in block.names])
            # A level that fewer than 5 carry is summed as if nobody did; the pool leaves it to its group.
            held[:, span] = np.where(rare & ~np.isnan(held[:, span]), 0.0, held[:, span])
        at += block.width
    complete = held[~np.isnan(held).any(axis=1)]
    return {
        "complete": np.array([len(complete)], dtype=np.float64),
        "first": complete.sum(axis=0),
        "second": complete.T @ complete,
    }


def _settle_states(cohort: Cohort, block: Block, held: Floats) -> None:
    """A number that a word stands for counts as the dictionary's centre, as it does in the sum."""
    spoken: NDArray[np.bool_] = np.isin(cohort.cases[block.variable].states, list(STATE_WORDS.values()))
    held[spoken & np.isnan(held[:, 0])] = 0.0


def _twentieths(share: float) -> float:
    """In whole twentieths, so that no centre's size comes back from it; 0 for fewer than 5 children alone."""
    return round(max(1, round(20 * share)) / 20, 2) if share > 0.0 else 0.0
