"""The shipped dictionary of the craniovertebral junction."""

import pytest

from riskmodel import dictionary
from riskmodel.dictionary.model import FoundBy, Kind, Moment, Role

CVJ = dictionary.read("cvj")

# Laxity of ligaments, dysplasia of bone and cartilage, storage of glycosaminoglycans, fragility, failed segmentation:
# the mechanism of each condition is textbook knowledge; the grouping itself is common practice, no source.
GROUP_OF = {
    "down": "laxity",
    "ehlers_danlos": "laxity",
    "sedc": "dysplasia",
    "diastrophic": "dysplasia",
    "mps_iva": "storage",
    "mps_vi": "storage",
    "osteogenesis_imperfecta": "fragility",
    "klippel_feil": "segmentation",
    "del_22q11": "segmentation",
    "non_syndromic": "none",
}


@pytest.mark.parametrize(("condition", "group"), GROUP_OF.items())
def test_a_condition_belongs_to_its_mechanism(condition: str, group: str) -> None:
    groups = {level.code: level.group for level in CVJ.variables["condition"].levels}
    assert groups[condition] == group


def test_every_group_has_a_condition_and_the_reference_comes_first() -> None:
    groups = CVJ.variables["biology_group"].codes
    assert {level.group for level in CVJ.variables["condition"].levels} == set(groups)
    assert groups[0] == "none"
    assert CVJ.variables["condition"].codes[0] == "non_syndromic"


def test_levels_run_from_the_occiput_down_so_that_their_places_count_segments() -> None:
    levels = ["O", *(f"C{n}" for n in range(1, 8)), *(f"T{n}" for n in range(1, 5))]
    assert list(CVJ.variables["upper_level"].codes) == levels
    assert CVJ.variables["lower_level"].codes == CVJ.variables["upper_level"].codes


def test_nothing_done_or_found_later_is_known_at_planning() -> None:
    for name, variable in CVJ.variables.items():
        if name.startswith("done_") or variable.role in (Role.EVENT, Role.SEEN_UNTIL):
            assert variable.moment.later_than(Moment.PLAN), name


def test_every_plan_of_the_core_has_its_deed() -> None:
    planned = [held for held in CVJ.variables.values() if held.core and held.moment is Moment.PLAN]
    assert len(planned) == 7
    for held in planned:
        assert held.deed is not None
        assert CVJ.variables[held.deed].codes == held.codes


def test_scans_tell_of_bone_and_metal_and_contact_of_the_rest() -> None:
    for outcome in CVJ.outcomes.values():
        wanted = "last_scan" if outcome.found_by is FoundBy.SCAN else "last_contact"
        assert outcome.seen_until == wanted, outcome.name


def test_planned_removal_ends_the_chance_of_failure_but_not_of_revision() -> None:
    assert set(CVJ.outcomes["fixation_failure"].competes) == {"death", "planned_removal"}
    assert set(CVJ.outcomes["revision"].competes) == {"death"}
    for name in ("fixation_failure", "revision"):
        assert "planned_removal" in CVJ.outcomes[name].never_counts


def test_death_competes_with_every_outcome_but_itself() -> None:
    assert all("death" in held.competes for name, held in CVJ.outcomes.items() if name != "death")


def test_no_column_names_a_surgeon() -> None:
    assert not [name for name in CVJ.variables if "surgeon" in name]


def test_scales_are_those_of_the_default_model() -> None:
    """Units of the default model: age from 8 years, mm as they are, anchors from 2, segments from 1, years by ten."""
    units = {name: (CVJ.variables[name].centre, CVJ.variables[name].scale) for name in CVJ.variables}
    assert units["age_years"] == (8.0, 1.0)
    assert units["adi_mm"] == (4.0, 1.0)
    assert units["weaker_end_anchors"] == (2.0, 1.0)
    assert units["n_segments"] == (1.0, 1.0)
    assert units["operation_year"][1] == 10.0


def test_numbers_say_their_unit_and_what_cannot_be_true() -> None:
    for name, held in CVJ.variables.items():
        if held.kind is Kind.NUMBER:
            assert held.unit or name.endswith("_ratio"), name
            assert held.hard is not None, name
