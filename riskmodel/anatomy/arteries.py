"""The adult rule for a high-riding vertebral artery, and what overrides it."""

from riskmodel.anatomy.amounts import at_least

# Yeom et al., Spine J 2013;13:775-785: on the slice 3 mm lateral to the wall of the canal.
ISTHMUS_MM = 5.0
INTERNAL_MM = 2.0
# Under this age the tail is always said (own proposal, no source).
OFTEN_MET_UNDER_YEARS = 8.0

MEETS = "meets the adult rule for a high-riding artery"
TAIL = "small children meet it often"


def meets_adult_rule(
    isthmus_mm: float | None,
    internal_mm: float | None,
    *,
    isthmus_at_most_mm: float = ISTHMUS_MM,
    internal_at_most_mm: float = INTERNAL_MM,
) -> bool | None:
    """Whether a C2 meets the adult rule for a high-riding artery on one side.

    Isthmus height at most 5 mm, or internal height at most 2 mm (Yeom et al., Spine J 2013;13:775-785, adults). One
    height that meets it is enough; None when none does and one is not measured. It never rules an anchor out by
    itself: 31% of such adult pedicles were placed safely (Marco et al., Int J Spine Surg 2018;12:30).
    """
    met = (_at_most(isthmus_mm, isthmus_at_most_mm), _at_most(internal_mm, internal_at_most_mm))
    if True in met:
        return True
    return None if None in met else False


def rule_words(age_years: float | None) -> str:
    """The rule in words; under 8 years, or with the age not known, always with its tail."""
    if age_years is not None and at_least(age_years, OFTEN_MET_UNDER_YEARS):
        return MEETS
    return f"{MEETS}; {TAIL}"


def _at_most(value: float | None, limit: float) -> bool | None:
    return None if value is None else at_least(limit, value)
