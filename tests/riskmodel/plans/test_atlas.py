"""The arches of the atlas as the planning rules see them."""

import pytest

from riskmodel.anatomy.arches import Arch
from riskmodel.plans.atlas import ArchState, arch_state, sides_of, two_halves
from riskmodel.plans.words import SIDES, Side
from tests.riskmodel.plans.builders import case, child

CLOSED = ArchState.CLOSED


@pytest.mark.parametrize(
    ("age", "posterior", "anterior"),
    [(3.9, None, None), (4.0, CLOSED, None), (5.9, CLOSED, None), (6.0, CLOSED, CLOSED), (None, None, None)],
)
def test_an_intact_ring_tells_of_an_arch_once_it_is_usually_closed(
    age: float | None, posterior: ArchState | None, anterior: ArchState | None
) -> None:
    """Source: Karwacki & Schneider, AJNR 2012;33:1882 (550 CT): the posterior arch by 4, the anterior by 6 years."""
    held = child(case(atlas_ring="intact", age_years=age))
    assert (arch_state(held, Arch.POSTERIOR), arch_state(held, Arch.ANTERIOR)) == (posterior, anterior)


def test_an_arch_of_its_own_leads_and_the_ring_stands_in() -> None:
    assert arch_state(child(case(atlas_ring="intact", atlas_posterior_arch="open", age_years=9)), Arch.POSTERIOR) is (
        ArchState.OPEN
    )
    assert two_halves(child(case(atlas_ring="both_open"))) is True
    assert two_halves(child(case(atlas_ring="posterior_open"))) is False
    assert two_halves(child(case(atlas_ring="side_absent"))) is None


@pytest.mark.parametrize(
    ("code", "sides"),
    [("none", set()), ("right", {Side.RIGHT}), ("left", {Side.LEFT}), ("both", set(SIDES)), (None, None)],
)
def test_a_variable_of_sides_names_them(code: str | None, sides: set[Side] | None) -> None:
    assert sides_of(child(case(c1_lateral_mass_absent=code)), "c1_lateral_mass_absent") == sides


def test_a_side_that_was_not_looked_at_is_not_known() -> None:
    assert sides_of(child(case(carotid_medial="not_imaged")), "carotid_medial") is None
