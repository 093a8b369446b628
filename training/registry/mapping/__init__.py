"""The map: how the sheets and columns of a registry become a cohort. Drafted by the program, answered by a person."""

from training.registry.mapping.errors import MapRefused
from training.registry.mapping.model import ColumnRule, RegistryMap, SheetRule
from training.registry.mapping.read import read

__all__ = ["ColumnRule", "MapRefused", "RegistryMap", "SheetRule", "read"]
