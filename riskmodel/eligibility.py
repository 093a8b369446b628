"""Who a model is for: conditions on single variables, the same at fitting (flow) and at scoring (gate)."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Requirement:
    """One condition: `variable` at least / at most a number, or one of some levels or yes/no words."""

    variable: str
    at_least: float | None = None
    at_most: float | None = None
    one_of: tuple[str, ...] = ()
