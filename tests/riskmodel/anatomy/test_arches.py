"""The arches of the atlas by age.

Sources: Karwacki & Schneider, AJNR 2012;33:1882 (550 CT); Byun et al., J Korean Radiol Soc 2003;49:345-354 (n=200);
the ring closes at 4 to 6 years: Skeletal Radiol 1984;12:12-20.
"""

import pytest

from riskmodel.anatomy.arches import LATE, Arch, Opening, opening, opening_words


@pytest.mark.parametrize(
    ("age", "posterior", "anterior"),
    [
        (0.0, Opening.USUAL, Opening.USUAL),
        (3.9, Opening.USUAL, Opening.USUAL),
        (4.0, Opening.LATE, Opening.USUAL),
        (5.9, Opening.LATE, Opening.USUAL),
        (6.0, Opening.CLEFT_DOUBTFUL, Opening.UNCLEAR),
        (11.9, Opening.CLEFT_DOUBTFUL, Opening.UNCLEAR),
        (12.0, Opening.CLEFT_DOUBTFUL, Opening.CLEFT),
        (12.9, Opening.CLEFT_DOUBTFUL, Opening.CLEFT),
        (13.0, Opening.CLEFT, Opening.CLEFT),
    ],
)
def test_each_arch_has_its_own_age(age: float, posterior: Opening, anterior: Opening) -> None:
    assert opening(Arch.POSTERIOR, age) is posterior
    assert opening(Arch.ANTERIOR, age) is anterior


def test_without_an_age_no_word_is_given() -> None:
    assert opening(Arch.POSTERIOR, None) is None
    assert opening_words(Arch.POSTERIOR, None, "dysplasia") == "posterior arch open; the age is not known"


def test_late_bone_is_said_where_it_matters() -> None:
    assert opening_words(Arch.POSTERIOR, 8.1, "dysplasia") == f"posterior arch cleft (doubtful until 13); {LATE}"
    assert LATE in opening_words(Arch.ANTERIOR, 7.0, "storage")
    assert LATE not in opening_words(Arch.ANTERIOR, 7.0, "laxity")
    assert LATE not in opening_words(Arch.POSTERIOR, 2.0, "dysplasia")
