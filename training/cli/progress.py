"""A bar with the time left, on stderr."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from tqdm import tqdm


@contextmanager
def bar(total: int, says: str) -> Iterator[Callable[[int], object]]:
    """A bar that is moved on by calling what is yielded."""
    with tqdm(total=total, desc=says, unit="replay", dynamic_ncols=True) as shown:
        yield shown.update
