"""The atlas of one child: its arches, its lateral masses, and whether it is joined to the occiput."""

from enum import Enum

from riskmodel.anatomy.arches import Arch, Opening, opening, opening_words
from riskmodel.plans.child import Child
from riskmodel.plans.words import SIDES, Side


class ArchState(Enum):
    """What an arch is, whatever it is called at the age."""

    CLOSED = "closed"
    OPEN = "open"
    ABSENT = "absent"

    @property
    def broken(self) -> bool:
        """Whether the arch does not bridge from side to side."""
        return self is not ArchState.CLOSED


_DIRECT = {
    "closed": ArchState.CLOSED,
    "open": ArchState.OPEN,
    "open_beside": ArchState.OPEN,
    "partly_absent": ArchState.OPEN,
    "absent": ArchState.ABSENT,
}
_BY_RING = {
    Arch.POSTERIOR: {
        "posterior_open": ArchState.OPEN,
        "both_open": ArchState.OPEN,
        "posterior_absent": ArchState.ABSENT,
        "anterior_open": ArchState.CLOSED,
        "side_absent": ArchState.OPEN,
    },
    Arch.ANTERIOR: {
        "anterior_open": ArchState.OPEN,
        "both_open": ArchState.OPEN,
        "posterior_open": ArchState.CLOSED,
        "posterior_absent": ArchState.CLOSED,
    },
}


def arch_state(child: Child, arch: Arch) -> ArchState | None:
    """What an arch is: by its own variable, else by that of the ring; None when neither tells.

    A ring recorded as intact tells nothing of an arch that is usually still open at the age.
    """
    own = child.code(f"atlas_{arch.value}_arch")
    if own is not None:
        return _DIRECT[own]
    ring = child.code("atlas_ring")
    if ring == "intact":
        may_be_open = opening(arch, child.number("age_years")) in (None, Opening.USUAL)
        return None if may_be_open else ArchState.CLOSED
    return None if ring is None else _BY_RING[arch].get(ring)


def two_halves(child: Child) -> bool | None:
    """Whether both arches are open, so that the two halves can move separately; None when that is not known."""
    states = [arch_state(child, arch) for arch in Arch]
    if ArchState.CLOSED in states:
        return False
    return None if None in states else True


def arch_words(child: Child, arch: Arch) -> str:
    """An arch in words: closed, absent, not known, or what its opening is called at the age."""
    state = arch_state(child, arch)
    if state is ArchState.OPEN:
        return opening_words(arch, child.number("age_years"), child.code("biology_group"))
    return f"{arch.value} arch {'not known' if state is None else state.value}"


def sides_of(child: Child, name: str) -> frozenset[Side] | None:
    """The sides that a none/right/left/both variable names; None when it is not known."""
    code = child.code(name)
    if code is None or code == "not_imaged":
        return None
    if code == "none":
        return frozenset()
    return frozenset(SIDES) if code == "both" else frozenset({Side(code)})


def mass_absent(child: Child, side: Side) -> bool:
    """Whether the lateral mass of a side is recorded as absent or tiny."""
    return side in (sides_of(child, "c1_lateral_mass_absent") or ())


def assimilated(child: Child, side: Side) -> bool:
    """Whether the atlas is joined to the occiput on a side; wholly joined means both."""
    how = child.code("atlas_assimilation")
    if how in (None, "none"):
        return False
    return how == "complete" or side in (sides_of(child, "atlas_assimilation_side") or SIDES)
