"""What holds for every test."""

import os

from hypothesis import settings

# Without it scikit-learn skips one of its estimator checks; scipy reads it when it is first imported.
os.environ.setdefault("SCIPY_ARRAY_API", "1")

# No test is timed: a slow machine is no failure.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
