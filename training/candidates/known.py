"""The candidates by the names that a protocol writes."""

from collections.abc import Callable

from training.candidates.base import Candidate
from training.candidates.bias_reduced import BiasReduced
from training.candidates.choice import OneStandardError
from training.candidates.terms import SumOfTerms
from training.candidates.trees import BoostedTrees
from training.protocol import ONE_STANDARD_ERROR, SHIPPABLE, Protocol

KNOWN: dict[str, Callable[[Protocol], Candidate]] = {
    "rate": lambda protocol: SumOfTerms("rate", rank=0, uses_terms=False),
    "penalised": lambda protocol: SumOfTerms("penalised", rank=2, uses_terms=True, scale=protocol.fit.scale),
    "bias_reduced": lambda protocol: BiasReduced(),
    "trees_without_interactions": lambda protocol: BoostedTrees(
        "trees_without_interactions", rank=4, interactions=False
    ),
    "trees": lambda protocol: BoostedTrees("trees", rank=5, interactions=True),
}


def candidates(protocol: Protocol) -> tuple[Candidate, ...]:
    """The protocol's candidates, simplest first."""
    made = [KNOWN[name](protocol) for name in protocol.fit.candidates]
    return tuple(sorted(made, key=lambda candidate: candidate.rank))


def chosen(protocol: Protocol) -> Candidate:
    """The candidate that the protocol names, or the rule that chooses among those that can be shipped."""
    if protocol.fit.choose == ONE_STANDARD_ERROR:
        return OneStandardError(protocol, tuple(held for held in candidates(protocol) if held.name in SHIPPABLE))
    return KNOWN[protocol.fit.choose](protocol)
