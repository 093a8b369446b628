"""When an open arch of the atlas is called a cleft. The mechanics do not wait for the word."""

from enum import Enum

from riskmodel.anatomy.amounts import at_least

LATE = "dysplasia and storage disease ossify late"
LATE_GROUPS = ("dysplasia", "storage")


class Arch(Enum):
    """Which arch of the atlas."""

    POSTERIOR = "posterior"
    ANTERIOR = "anterior"


class Opening(Enum):
    """What an open arch is at an age."""

    USUAL = "open, usual for the age"
    LATE = "open, late for the age"
    UNCLEAR = "open: cannot be told from a late synchondrosis"
    CLEFT_DOUBTFUL = "cleft (doubtful until 13)"
    CLEFT = "cleft"


# (from this age in years, what it is); Karwacki & Schneider, AJNR 2012;33:1882 (550 CT) and Byun et al., J Korean
# Radiol Soc 2003;49:345-354 (n=200).
_BY_AGE = {
    Arch.POSTERIOR: ((13.0, Opening.CLEFT), (6.0, Opening.CLEFT_DOUBTFUL), (4.0, Opening.LATE), (0.0, Opening.USUAL)),
    Arch.ANTERIOR: ((12.0, Opening.CLEFT), (6.0, Opening.UNCLEAR), (0.0, Opening.USUAL)),
}


def opening(arch: Arch, age_years: float | None) -> Opening | None:
    """What an arch that is open in the midline is called at an age; None without the age.

    Posterior: under 4 years open is usual, 4 to under 6 late, from 6 a cleft, doubtful until 13. Anterior: under 6
    usual, 6 to under 12 not to be told from a late synchondrosis, from 12 a cleft. Sources: Karwacki & Schneider,
    AJNR 2012;33:1882; Byun et al., J Korean Radiol Soc 2003;49:345-354.
    """
    if age_years is None:
        return None
    return next(name for from_years, name in _BY_AGE[arch] if at_least(age_years, from_years))


def opening_words(arch: Arch, age_years: float | None, biology_group: str | None) -> str:
    """The same in words, with the tail for conditions that ossify late."""
    held = opening(arch, age_years)
    words = "open; the age is not known" if held is None else held.value
    doubtful = held not in (Opening.USUAL, None)
    tail = f"; {LATE}" if doubtful and biology_group in LATE_GROUPS else ""
    return f"{arch.value} arch {words}{tail}"
