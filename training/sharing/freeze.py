"""From the counts of all centres to what all do alike from then on, and to where the fits start."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.bundle import Bundle
from riskmodel.cases.table import Floats
from riskmodel.errors import Finding, SharesRefused, refuse_errors
from riskmodel.missing import Block, Holds, block_slices
from training.features import FEWEST_CARRIERS
from training.moments import PRIOR_CHILDREN
from training.protocol import Protocol
from training.sharing.agreement import Common, common, digest_of, learned
from training.sharing.counts import FEWEST_CHILDREN, OUTCOME, all_blocks
from training.sharing.files import finding, refused
from training.sharing.masking import total
from training.sharing.model import Counts, FitState, Frozen, Round, Stage

FEWEST_CENTRES, FEWEST_MASKED = 2, 3
LEAST_VARIANCE = 1e-3  # a coordinate that is constant still needs one to be conditioned on


def freeze(protocol: Protocol, parts: Sequence[Counts], moments: Bundle | None = None) -> Round:
    """The first round that fits.

    Parameters
    ----------
    parts
        Round 0 of every centre.
    moments
        A bundle whose moments are used in place of the complete children's.

    Raises
    ------
    SharesRefused
        When the counts are not all of this protocol, of different centres, and masked alike; or when too few children
        are complete to learn moments from.
    """
    held, parts = common(protocol), sorted(parts, key=lambda part: part.sender.centre)
    refuse_errors(_strangers(protocol, parts), SharesRefused)
    carried = np.all([part.carried for part in parts], axis=0)
    frozen = _from_bundle(held, protocol, moments) if moments else _from_sums(protocol, held, parts)
    frozen = replace(frozen, learned=tuple(carried.tolist()))
    masked = bool(parts[0].sender.masked_with)
    centres = tuple(part.sender.centre for part in parts)
    return Round(
        protocol=protocol.name,
        digest=digest_of(protocol),
        stage=Stage.FIT,
        number=1,
        centres=centres,
        masked=masked,
        frozen=frozen,
        fits=tuple(_start(protocol, held, frozen, parts, without) for without in (None, *(() if masked else centres))),
        totals={name: total([part.sums[name] for part in parts]) for name in ("outcome", "complete")},
        # The round goes to every centre: what one centre summed is no other's business.
        counts=tuple(replace(part, sums={}) for part in parts),
    )


def _strangers(protocol: Protocol, parts: Sequence[Counts]) -> Iterator[Finding]:
    digest, names = digest_of(protocol), [part.sender.centre for part in parts]
    for part in parts:
        if part.sender.digest != digest:
            found = f"counts under another protocol or dictionary, digest {part.sender.digest[:12]}"
            yield finding(part.sender.centre, found, f"digest {digest[:12]} of {protocol.name}", "other_protocol")
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield finding(name, f"{names.count(name)} files of one centre", "one file a centre", "double_centre")
    if len(set(names)) < FEWEST_CENTRES:
        yield finding(protocol.name, f"{len(set(names))} centre", f"at least {FEWEST_CENTRES}", "too_few_centres")
    yield from _masks(parts, names)


def _masks(parts: Sequence[Counts], names: list[str]) -> Iterator[Finding]:
    masked = [part for part in parts if part.sender.masked_with]
    if masked and len(names) < FEWEST_MASKED:
        accepted = f"at least {FEWEST_MASKED} centres: of two, each could read the other's sums from the total"
        yield finding("masks", f"{len(names)} centres", accepted, "too_few_masked")
    for part in parts if masked else ():
        others = tuple(sorted(set(names) - {part.sender.centre}))
        if part.sender.masked_with != others:
            found = f"sums masked with {', '.join(part.sender.masked_with) or 'nobody'}"
            yield finding(part.sender.centre, found, f"masked with {', '.join(others)}", "masks_differ")


def _from_sums(protocol: Protocol, held: Common, parts: Sequence[Counts]) -> Frozen:
    everything = all_blocks(protocol, held)
    children = float(total([part.sums["complete"] for part in parts])[0])
    if children < FEWEST_CHILDREN:
        found = f"{children:.0f} children of whom everything is known"
        accepted = f"at least {FEWEST_CHILDREN}, or --moments BUNDLE"
        raise refused(protocol.name, found, accepted, "too_few_complete")
    blocks, kept = _chosen(everything, parts)
    first = total([part.sums["first"] for part in parts])[kept]
    second = total([part.sums["second"] for part in parts])[np.ix_(kept, kept)]
    mean = first / children
    scatter = second - children * np.outer(mean, mean)
    alone = np.diag(np.maximum(np.diag(scatter) / children, LEAST_VARIANCE))
    covariance = (scatter + PRIOR_CHILDREN * alone) / (children + PRIOR_CHILDREN)
    return Frozen(blocks, mean, covariance, ())


def _chosen(everything: tuple[Block, ...], parts: Sequence[Counts]) -> tuple[tuple[Block, ...], NDArray[np.intp]]:
    """The blocks with the levels and states that at least 5 children of every centre carry, and their coordinates."""
    blocks: list[Block] = []
    kept: list[int] = []
    for block, span in block_slices(everything):
        if block.holds is Holds.NUMBER:
            blocks.append(block)
            kept.append(span.start)
            continue
        counts = [part.levels[block.variable] for part in parts]
        rest = _commonest(block, counts)
        names = [name for name in block.names if name != rest and min(held[name] for held in counts) >= FEWEST_CARRIERS]
        blocks.append(replace(block, names=tuple(names), rest=rest))
        kept += [span.start + block.names.index(name) for name in names]
    return tuple(blocks), np.array(kept, dtype=np.intp)


def _commonest(block: Block, counts: Sequence[Mapping[str, int]]) -> str:
    """The level that most children have; states have none."""
    if block.holds is Holds.STATE:
        return ""
    tally = {name: sum(held[name] for held in counts) for name in block.names}
    return max(tally, key=lambda name: tally[name])


def _from_bundle(held: Common, protocol: Protocol, bundle: Bundle) -> Frozen:
    moments = bundle.moments
    wanted, there = {block.variable for block in all_blocks(protocol, held)}, set(moments.variables)
    if wanted != there:
        found = f"moments of {', '.join(sorted(there))}"
        raise refused(bundle.id, found, f"moments of {', '.join(sorted(wanted))}", "other_moments")
    return Frozen(moments.blocks, moments.mean, moments.covariance, ())


def outcome_sums(parts: Sequence[Counts]) -> dict[str, float]:
    """The sums `outcome` of some centres, by name."""
    values: Floats = total([part.sums["outcome"] for part in parts])
    return dict(zip(OUTCOME, values.tolist(), strict=True))


def used_columns(held: Common, frozen: Frozen) -> NDArray[np.bool_]:
    """(C,) columns that the fit estimates."""
    return learned(frozen) & held.uses_terms


def _start(protocol: Protocol, held: Common, frozen: Frozen, parts: Sequence[Counts], without: str | None) -> FitState:
    sums = outcome_sums([part for part in parts if part.sender.centre != without])
    priors = held.priors.take(used_columns(held, frozen))
    grid = priors.grid(protocol.fit.scale if held.uses_terms else "evidence")
    kish = sums["weight"] / sums["weight_squared"] if protocol.fit.scale == "evidence" or not held.uses_terms else 1.0
    rate = (kish * sums["weight_of_events"] + 0.5) / (kish * sums["weight"] + 1.0)
    begin = np.concatenate([[np.log(rate / (1.0 - rate))], priors.mean])
    nothing = np.empty(0)
    return FitState(
        without=without,
        kish=kish,
        modes=np.tile(begin, (len(grid), 1)),
        settled=nothing,
        value=nothing,
        means=nothing,
        done=False,
        weights=nothing,
        hessians=nothing,
    )
