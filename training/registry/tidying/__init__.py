"""From the registry and its map to a de-identified cohort and the list of what was changed."""
