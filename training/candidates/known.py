"""The candidates by the names that a protocol writes."""

from collections.abc import Callable

from training.candidates.base import Candidate
from training.candidates.terms import SumOfTerms
from training.protocol import Protocol

KNOWN: dict[str, Callable[[Protocol], Candidate]] = {
    "rate": lambda protocol: SumOfTerms("rate", rank=0, uses_terms=False),
    "penalised": lambda protocol: SumOfTerms("penalised", rank=2, uses_terms=True, scale=protocol.fit.scale),
}


def candidates(protocol: Protocol) -> tuple[Candidate, ...]:
    """The protocol's candidates, simplest first."""
    made = [KNOWN[name](protocol) for name in protocol.fit.candidates]
    return tuple(sorted(made, key=lambda candidate: candidate.rank))


def chosen(protocol: Protocol) -> Candidate:
    """The candidate that the protocol's rule names."""
    return KNOWN[protocol.fit.choose](protocol)
