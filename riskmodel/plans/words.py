"""The closed choices of a plan: levels, sides, kinds of anchor, grafts, support, removal of bone, and how a screw fits.

Values are the words that a plan file holds; `label` is for people.
"""

from enum import Enum


class Level(Enum):
    """Levels from above down; `index` 0 is the occiput, and segments spanned are a difference of indices."""

    O = "O"  # noqa: E741 - the level's own name
    C1 = "C1"
    C2 = "C2"
    C3 = "C3"
    C4 = "C4"
    C5 = "C5"
    C6 = "C6"
    C7 = "C7"
    T1 = "T1"
    T2 = "T2"
    T3 = "T3"
    T4 = "T4"

    @property
    def index(self) -> int:
        """0 for the occiput, 1 for C1, ... 11 for T4."""
        return LEVELS.index(self)


LEVELS = tuple(Level)


class Side(Enum):
    """The child's own side."""

    RIGHT = "right"
    LEFT = "left"
    MIDLINE = "midline"


SIDES = (Side.RIGHT, Side.LEFT)


class Kind(Enum):
    """Kinds of anchor."""

    MIDLINE_SCREW = "midline_screw"
    PARAMEDIAN_SCREW = "paramedian_screw"
    CONDYLE_SCREW = "condyle_screw"
    LATERAL_MASS_SCREW = "lateral_mass_screw"
    ARCH_SCREW = "arch_screw"
    PEDICLE_SCREW = "pedicle_screw"
    PARS_SCREW = "pars_screw"
    LAMINA_SCREW = "lamina_screw"
    SUBFACETAL_SCREW = "subfacetal_screw"
    TRANSARTICULAR_SCREW = "transarticular_screw"
    OCCIPUT_TRANSARTICULAR_SCREW = "occiput_transarticular_screw"
    HOOK = "hook"
    WIRE = "wire"
    BAND = "band"

    @property
    def label(self) -> str:
        """In words."""
        return self.value.replace("_", " ")

    def at(self, level: Level, side: Side) -> str:
        """An anchor of this kind at a place, in words: "C2 right pedicle screw"."""
        where = level.value if self is Kind.MIDLINE_SCREW else f"{level.value} {side.value}"
        return f"{where} {self.label}"

    @property
    def screw(self) -> bool:
        """Whether it is a bone screw; hooks, wires and bands are half anchors."""
        return self not in HALF_KINDS

    @property
    def levels(self) -> tuple[Level, ...]:
        """Levels that it can be entered at."""
        return _LEVELS[self]

    @property
    def sides(self) -> tuple[Side, ...]:
        """Sides that it can stand on."""
        if self is Kind.MIDLINE_SCREW:
            return (Side.MIDLINE,)
        return (*SIDES, Side.MIDLINE) if self in PASSED_KINDS else SIDES


# Passed under an arch; screws that hold two bones across a joint; screws of the occiput's own plate.
PASSED_KINDS = (Kind.WIRE, Kind.BAND)
HALF_KINDS = (Kind.HOOK, *PASSED_KINDS)
ACROSS_KINDS = (Kind.TRANSARTICULAR_SCREW, Kind.OCCIPUT_TRANSARTICULAR_SCREW)
PLATE_KINDS = (Kind.MIDLINE_SCREW, Kind.PARAMEDIAN_SCREW)
Place = tuple[Level, Side, Kind]
_LEVELS = {
    Kind.MIDLINE_SCREW: (Level.O,),
    Kind.PARAMEDIAN_SCREW: (Level.O,),
    Kind.CONDYLE_SCREW: (Level.O,),
    Kind.LATERAL_MASS_SCREW: (Level.C1, *LEVELS[3:8]),
    Kind.ARCH_SCREW: (Level.C1,),
    Kind.PEDICLE_SCREW: LEVELS[2:],
    Kind.PARS_SCREW: (Level.C2,),
    Kind.LAMINA_SCREW: (Level.C2,),
    Kind.SUBFACETAL_SCREW: (Level.C2,),
    Kind.TRANSARTICULAR_SCREW: (Level.C2,),
    Kind.OCCIPUT_TRANSARTICULAR_SCREW: (Level.C2,),
    Kind.HOOK: LEVELS[1:],
    Kind.WIRE: LEVELS[1:],
    Kind.BAND: LEVELS[1:],
}


class Graft(Enum):
    """Kinds of graft."""

    ILIAC_STRUCTURAL = "iliac_structural"
    ILIAC_CHIPS = "iliac_chips"
    RIB = "rib"
    SKULL_STRUCTURAL = "skull_structural"
    SKULL_CHIPS = "skull_chips"
    LOCAL = "local"
    DONOR_STRUCTURAL = "donor_structural"
    DONOR_CHIPS = "donor_chips"
    DEMINERALISED = "demineralised"

    @property
    def structural_own(self) -> bool:
        """Whether it is a piece of the child's own bone that bears load."""
        return self in (Graft.ILIAC_STRUCTURAL, Graft.RIB, Graft.SKULL_STRUCTURAL)

    @property
    def own(self) -> bool:
        """Whether it is the child's own bone."""
        return self not in (Graft.DONOR_STRUCTURAL, Graft.DONOR_CHIPS, Graft.DEMINERALISED)

    @property
    def label(self) -> str:
        """In words."""
        return self.value.replace("_", " ")


class GraftHold(Enum):
    """What holds the graft."""

    NONE = "none"
    CABLE_OR_WIRE = "cable_or_wire"
    SUTURE = "suture"
    SCREW = "screw"


class Support(Enum):
    """Support worn afterwards."""

    NONE = "none"
    COLLAR = "collar"
    RIGID = "rigid"
    HALO = "halo"


class Removal(Enum):
    """Sites where bone is to be removed."""

    FORAMEN_MAGNUM = "foramen_magnum"
    C1_ARCH = "c1_arch"
    C2_LAMINA = "c2_lamina"
    BELOW_C2 = "below_c2"
    VENTRAL = "ventral"

    @property
    def label(self) -> str:
        """In words."""
        return _REMOVAL[self]


_REMOVAL = {
    Removal.FORAMEN_MAGNUM: "foramen magnum",
    Removal.C1_ARCH: "posterior arch of C1",
    Removal.C2_LAMINA: "lamina of C2",
    Removal.BELOW_C2: "laminae below C2",
    Removal.VENTRAL: "from in front",
}


class JointsPrepared(Enum):
    """C1-C2 joints whose cartilage is to be removed."""

    NONE = "none"
    ONE_SIDE = "one_side"
    BOTH = "both"


class Fit(Enum):
    """How an anchor fits by the measurements; a prompt for the conference, never an instruction."""

    WITH_ROOM = "fits with room"
    FITS = "fits"
    BARELY = "fits barely"
    NOT = "does not fit"
    UNKNOWN = "not measured"

    @property
    def holds(self) -> bool:
        """Whether it fits without being bare."""
        return self in (Fit.WITH_ROOM, Fit.FITS)

    @property
    def possible(self) -> bool:
        """Whether it fits at all, barely included."""
        return self.holds or self is Fit.BARELY


class Because(Enum):
    """Why an anchor has its class."""

    NARROW = "narrow"
    THIN = "thin"
    SHORT = "short"
    BONE_MISSING = "bone missing"
    ARCH_OPEN = "arch open"
    LAMINA_OPEN = "lamina open"
    ENTRY_LOW = "entry low: undercut the arch or move the C2 root"
    ARTERY = "artery"
    NERVE = "hypoglossal canal in the path"
    REMOVED_HERE = "removed in this plan"
    REMOVED_EARLIER = "removed earlier"
    NOT_REDUCED = "joint not reduced"
    DRILL_LINE = "the line of the drill does not clear the back"
    SLICES = "slices too thick"
    BRIDGE = "a bony bridge may stand for the arch"


class Step(Enum):
    """The seven steps in which the conference thinks."""

    INSTABILITY = "instability"
    REDUCTION = "reduction"
    CORD = "cord"
    LEVELS = "levels"
    ANCHORS = "anchors"
    HEALING = "healing"
    RESCUE = "rescue"

    @property
    def number(self) -> int:
        """1 to 7."""
        return tuple(Step).index(self) + 1

    @property
    def question(self) -> str:
        """What the step asks."""
        return _QUESTIONS[self]


_QUESTIONS = {
    Step.INSTABILITY: "What is unstable, and why now?",
    Step.REDUCTION: "Does it reduce, how was that tested, what is left?",
    Step.CORD: "Is the cord free once reduced; decompression by which route?",
    Step.LEVELS: "Which fewest levels hold?",
    Step.ANCHORS: "Which anchors, by level and side?",
    Step.HEALING: "What will make it heal?",
    Step.RESCUE: "What if it fails in theatre?",
}
