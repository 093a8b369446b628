"""What must hold for every input of a kind: round trips, and changes that change nothing."""

from collections.abc import Callable
from random import Random
from typing import TypeVar

from hypothesis import Phase, settings
from hypothesis import strategies as st

Made = TypeVar("Made")

# The same examples every time: a failure in one run is a failure in all.
FEW = settings(max_examples=6, derandomize=True, deadline=None, database=None)
SOME = settings(max_examples=20, derandomize=True, deadline=None, database=None)
# For what a seed draws: a smaller seed makes no smaller example, so none is looked for.
MANY = settings(SOME, max_examples=40, phases=(Phase.explicit, Phase.generate))
HARDLY = settings(MANY, max_examples=8)


def seeded(make: Callable[[Random], Made]) -> st.SearchStrategy[Made]:
    """Whatever a seed makes."""
    return st.integers(0, 2**32).map(lambda seed: make(Random(seed)))  # noqa: S311 - examples, no secrets
