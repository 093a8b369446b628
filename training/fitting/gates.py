"""What the gates of a bundle need to know."""

from riskmodel.bundle import GateSettings
from riskmodel.dictionary import Dictionary
from riskmodel.dictionary.model import Moment, Role, Variable
from training.protocol import Protocol

# Keys, centres and dates say where a case comes from, not what happened to the child.
NOT_TOLD = (Role.KEY, Role.CENTRE, Role.DATE)


def gate_settings(protocol: Protocol, used: Dictionary) -> GateSettings:
    """Sort the dictionary's names into those known too late, and those that the model does not use."""
    later = tuple(name for name, variable in protocol.dictionary.variables.items() if _late(variable, protocol.moment))
    spoken = {*used.variables, *later}
    return GateSettings(
        moment=protocol.moment,
        known_later=later,
        known_else=tuple(name for name in protocol.dictionary.variables if name not in spoken),
        only=protocol.cohort.only,
        like_cases_at_least=protocol.gates.like_cases_at_least,
    )


def _late(variable: Variable, moment: Moment) -> bool:
    return variable.role not in NOT_TOLD and variable.moment.later_than(moment)
