"""What a protocol may speak of: the dictionary's variables, derived ones among them, and when each is known."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from riskmodel.dictionary.coding import codes_of
from riskmodel.dictionary.model import Kind, Moment, Role, Variable
from riskmodel.dictionary.names import suggestion
from riskmodel.errors import Finding, Severity

_DESCRIBES_A_CHILD = (Role.PREDICTOR, Role.OTHER, Role.CENTRE)
_SPLITS = (Kind.LEVEL, Kind.YES_NO, Kind.ORDINAL)


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong at one place of a protocol, such as `predictor[3].variable`."""

    place: str
    found: str
    accepted: str
    rule: str

    def finding(self, sheet: str) -> Finding:
        """The fault as a finding about a file."""
        return Finding(sheet, None, self.place, self.found, self.accepted, Severity.ERROR, self.rule)


@dataclass(frozen=True, slots=True)
class Known:
    """All variables by name, and the moment at which a number is asked for."""

    variables: Mapping[str, Variable]
    moment: Moment

    def unknown(self, place: str, name: str) -> Iterator[Fault]:
        """A fault when there is no such variable; an empty name has been found already."""
        if name and name not in self.variables:
            yield Fault(place, f"the unknown variable {name}", suggestion(name, self.variables), "unknown_variable")

    def in_time(self, place: str, name: str) -> Iterator[Fault]:
        """A fault when the variable is unknown, or known only after the protocol's moment."""
        yield from self.unknown(place, name)
        variable = self.variables.get(name)
        if variable is not None and variable.moment.later_than(self.moment):
            found = f"{name}, known only from {variable.moment.value} on"
            yield Fault(place, found, f"a variable known at {self.moment.value}{self._twin(name)}", "known_too_late")

    def may_predict(self, place: str, name: str) -> Iterator[Fault]:
        """A fault when the variable cannot predict: unknown, no predictor, or known too late."""
        variable = self.variables.get(name)
        if variable is not None and variable.role is not Role.PREDICTOR:
            found = f"{name}, whose role is {variable.role.value}"
            yield Fault(place, found, "a variable whose role is predictor", "no_predictor")
        else:
            yield from self.in_time(place, name)

    def may_split(self, place: str, name: str) -> Iterator[Fault]:
        """A fault when the variable cannot divide children into kinds: it needs levels, or yes and no."""
        yield from self.in_time(place, name)
        variable = self.variables.get(name)
        if variable is not None and not _splits(variable):
            found = f"{name}, a {variable.kind.value} whose role is {variable.role.value}"
            yield Fault(place, found, "a level or yes_no variable that describes the child", "cannot_split")

    def _twin(self, name: str) -> str:
        """The plan of a deed: what was probably meant."""
        planned = [twin.name for twin in self.variables.values() if twin.deed == name]
        return f", such as {planned[0]}" if planned else ""


def _splits(variable: Variable) -> bool:
    return bool(codes_of(variable)) and variable.kind in _SPLITS and variable.role in _DESCRIBES_A_CHILD
