"""What holds for every test."""

import os

# Without it scikit-learn skips one of its estimator checks; scipy reads it when it is first imported.
os.environ.setdefault("SCIPY_ARRAY_API", "1")
