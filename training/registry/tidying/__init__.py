"""From the registry and its map to a de-identified cohort and the list of what was changed."""

from training.registry.tidying.run import RegistryRefused, Tidied, tidy
from training.registry.tidying.write import write

__all__ = ["RegistryRefused", "Tidied", "tidy", "write"]
