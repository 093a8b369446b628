"""What must hold for every input of a kind: round trips, and changes that change nothing."""

from hypothesis import settings

# The same examples every time: a failure in one run is a failure in all.
FEW = settings(max_examples=6, derandomize=True, deadline=None, database=None)
SOME = settings(max_examples=20, derandomize=True, deadline=None, database=None)
MANY = settings(max_examples=40, derandomize=True, deadline=None, database=None)
