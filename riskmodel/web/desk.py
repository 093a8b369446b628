"""The children in hand: held in memory under an address that says nothing, gone when the app ends."""

from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from secrets import token_urlsafe
from types import MappingProxyType

from riskmodel.documents.family import FamilyOptions
from riskmodel.scoring import RiskEstimate
from riskmodel.web.assess import Assessment, Typed, assess
from riskmodel.web.models import Models
from riskmodel.web.planning import Asked, Planning

# Children in hand at once; the one that was touched longest ago is put away for a further one.
MOST_CASES = 256


@dataclass(frozen=True, slots=True)
class Case:
    """One child in hand.

    `values`: what was typed, by variable, nothing empty. `confirmed`: pairs of variable and text that were asked
    about and confirmed. `opened`: numbers of the groups of fields that are laid open. `notices`: what to say on the
    next page. `earlier`: the last answers, while the values of now give none. `read_back_by`: initials of who read
    sides and values back against the images; `family`: ticks of the family's sheet. Both lose their initials when a
    value or a plan changes.
    """

    assessment: Assessment
    case_id: str = ""
    values: Typed = field(default_factory=dict)
    confirmed: frozenset[tuple[str, str]] = frozenset()
    opened: frozenset[int] = frozenset()
    notices: tuple[str, ...] = ()
    earlier: tuple[RiskEstimate, ...] = ()
    planning: Planning = field(default_factory=Planning)
    read_back_by: str = ""
    family: FamilyOptions = field(default_factory=FamilyOptions)

    @property
    def asked(self) -> Asked:
        """What a planning conference is about."""
        return Asked(self.case_id, self.values, self.planning)

    def unsigned(self) -> "Case":
        """The case with nobody's initials: what was read back or talked through is no longer what stands there."""
        return replace(self, read_back_by="", family=replace(self.family, initials="", talked_on=None))

    @property
    def unconfirmed(self) -> tuple[str, ...]:
        """Variables with an unusual value that nobody has confirmed yet."""
        asked = (held.column for held in self.assessment.doubts if held.column is not None)
        return tuple(name for name in asked if (name, self.values.get(name, "")) not in self.confirmed)


@dataclass(frozen=True, slots=True)
class Desk:
    """Children in hand by the opaque part of their address."""

    models: Models
    _held: OrderedDict[str, Case] = field(default_factory=OrderedDict)

    def __iter__(self) -> Iterator[tuple[str, Case]]:
        """Addresses and cases, the last touched first."""
        return reversed(self._held.items())

    def __len__(self) -> int:
        return len(self._held)

    def get(self, address: str) -> Case | None:
        """The case at an address, now the last touched; None when there is none, or no longer."""
        if address in self._held:
            self._held.move_to_end(address)
        return self._held.get(address)

    def take_up(self, case_id: str, values: Mapping[str, str], *, on: date, notices: tuple[str, ...] = ()) -> str:
        """Take a child in hand and return its address."""
        address = token_urlsafe(9)
        self.put(address, replace(self._case(case_id, values, on=on), notices=notices))
        return address

    def put(self, address: str, case: Case) -> None:
        """Hold a case at an address in place of what was there."""
        self._held[address] = case
        self._held.move_to_end(address)
        while len(self._held) > MOST_CASES:
            self._held.popitem(last=False)

    def put_away(self, address: str) -> None:
        """Hold a case no longer."""
        self._held.pop(address, None)

    def changed(self, case: Case, case_id: str, values: Mapping[str, str], *, on: date, measuring: bool = True) -> Case:
        """The case with other values, assessed anew; answers that these do not bear are kept as earlier ones."""
        fresh = self._case(case_id, values, on=on, measuring=measuring)
        earlier = () if fresh.assessment.estimates else case.assessment.estimates or case.earlier
        changed = replace(case, assessment=fresh.assessment, case_id=case_id, values=fresh.values, earlier=earlier)
        return changed if changed.asked == case.asked else changed.unsigned()

    def _case(self, case_id: str, values: Mapping[str, str], *, on: date, measuring: bool = True) -> Case:
        held = MappingProxyType({name: text for name, text in values.items() if text})
        assessment = assess(self.models, case_id, held, on=on, measuring=measuring)
        return Case(assessment, case_id=case_id, values=held)
