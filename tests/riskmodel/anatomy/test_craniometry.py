"""Lines and angles against published values, the source beside each."""

import tomllib
from pathlib import Path

import pytest

from riskmodel import dictionary as dictionaries
from riskmodel.anatomy.craniometry import SHIPPED, Image, Place, compared, norms, read_norms
from riskmodel.errors import DictionaryRefused

CT = Image("ct", "neutral")
FILM = Image("film", "neutral")
MRI = Image("mri", "neutral")


def places(name: str, value: float, image: Image = CT, *, age: float | None = 8.0, **given: str) -> dict[str, Place]:
    """Where a value lies, by the author named first in the source."""
    held = compared(name, value, age_years=age, image=image, given=given)
    return {f"{part.norm.source.split(',')[0]}: {part.norm.text}": part.place for part in held}


def limits(name: str, value: float, image: Image = CT, *, age: float | None = 8.0, **given: str) -> list[Place]:
    """Where it lies against the limits that hold."""
    return [place for place in places(name, value, image, age=age, **given).values() if place is not Place.NOT_COMPARED]


@pytest.mark.parametrize(
    ("name", "value", "image", "expected"),
    [
        ("adi_mm", 2.6, CT, Place.WITHIN),  # Bertozzi et al., AJR 2009;192:26-31: 97.5th centile on CT
        ("adi_mm", 2.7, CT, Place.ABOVE),
        ("adi_mm", 4.0, FILM, Place.WITHIN),  # Locke et al., AJR 1966;97:135: up to 4 lying, one 5 upright
        ("adi_mm", 5.0, FILM, Place.WITHIN),
        ("adi_mm", 5.1, FILM, Place.ABOVE),
        ("adi_mm", 9.8, FILM, Place.ABOVE),  # mean of operated children with Down syndrome (Nakamura et al.)
        ("powers_ratio", 0.9, CT, Place.WITHIN),  # Rojas et al., AJNR 2007;28:1819
        ("powers_ratio", 0.95, CT, Place.ABOVE),
        ("powers_ratio", 0.95, FILM, Place.WITHIN),
        ("mcrae_mm", 0.0, CT, Place.WITHIN),
        ("mcrae_mm", 0.1, CT, Place.ABOVE),
        ("basal_angle_deg", 146.0, FILM, Place.ABOVE),
        ("dura_to_basion_c2_line_mm", 9.0, MRI, Place.ABOVE),  # J Neurosurg Pediatr 2012;10:134-141: 9 or more
        ("dura_to_basion_c2_line_mm", 8.9, MRI, Place.WITHIN),
    ],
)
def test_a_single_limit(name: str, value: float, image: Image, expected: Place) -> None:
    assert limits(name, value, image) == [expected]


def test_the_basion_dens_interval_depends_on_the_ossicle() -> None:
    """Source: Bertozzi et al., AJR 2009;192:26-31: 9.5 mm with the terminal ossicle ossified, 11.6 without."""
    assert limits("bdi_mm", 10.0, os_terminale_ossified="yes") == [Place.ABOVE, Place.WITHIN]
    assert limits("bdi_mm", 11.0, os_terminale_ossified="no") == [Place.WITHIN, Place.ABOVE]
    assert limits("bdi_mm", 7.28) == [Place.WITHIN]  # the mean of Vachhrajani et al., J Neurosurg Pediatr 2014;14:425
    unknown = compared("bdi_mm", 10.0, age_years=8.0, image=CT, given={})
    assert [part.why for part in unknown][:2] == ["depends on os_terminale_ossified, which is not known"] * 2


def test_the_condyle_interval_has_two_limits() -> None:
    """Sources: Bertozzi et al. (2.5 mm); Corcoran et al., AJNR 2016;37:958-962 (4 mm or more after injury)."""
    assert limits("cci_right_mm", 2.5) == [Place.WITHIN, Place.WITHIN]
    assert limits("cci_left_mm", 3.0) == [Place.ABOVE, Place.WITHIN]
    assert limits("cci_left_mm", 4.0) == [Place.ABOVE, Place.ABOVE]
    widest = "condyle-C1 interval by age: widest at 2 to 4 years in normal growth"
    assert widest in places("cci_left_mm", 2.0, age=3.0)
    assert widest not in places("cci_left_mm", 2.0, age=8.0)


def test_the_distance_to_mcraes_line_by_age() -> None:
    """Source: CT of 238 children (PMC4414772): 8.5, 8.0, 7.5 mm at up to 2, 2 to 5, from 5 years."""
    for age, mean in ((1.0, -8.5), (2.0, -8.0), (4.9, -8.0), (5.0, -7.5), (12.0, -7.5)):
        held = compared("mcrae_mm", -7.0, age_years=age, image=CT, given={})
        assert [part.norm.mean for part in held if part.norm.mean is not None] == [mean]


def test_another_modality_or_position_is_shown_and_not_compared() -> None:
    assert limits("adi_mm", 4.0, MRI) == []
    why = [part.why for part in compared("adi_mm", 4.0, age_years=8.0, image=Image("ct", "flexion"), given={})]
    assert why[0] == "holds for position neutral; this position is flexion"
    why = [part.why for part in compared("adi_mm", 4.0, age_years=8.0, image=Image(None, None), given={})]
    assert why[0] == "holds for modality ct; this modality is not stated"


def test_without_an_age_a_norm_with_an_age_is_not_compared() -> None:
    """A newborn's canal is 12.4 mm on average, below the mark of 13 (121 MRI): no mark under 1 year."""
    assert limits("padi_mm", 12.4, MRI, age=0.1) == []
    assert limits("padi_mm", 12.4, MRI, age=8.0) == [Place.BELOW]
    assert limits("padi_mm", 12.4, MRI, age=None) == []


def test_every_norm_speaks_of_the_dictionary_and_has_a_source() -> None:
    held = dictionaries.read("cvj").variables
    for norm in norms():
        assert set(norm.of) <= set(held)
        assert set(norm.given) <= set(held)
        assert norm.source
        assert norm.confidence in ("H", "M", "L")
        assert norm.modality in (None, "ct", "film", "mri")


def test_a_faulty_file_of_norms_names_every_fault(tmp_path: Path) -> None:
    path = tmp_path / "norms.toml"
    path.write_text('format = 1\n[[norm]]\nof = "adi_mm"\nhihg = 2\nwho = "x"\ntext = "y"\nsource = "z"\n')
    with pytest.raises(DictionaryRefused) as refused:
        read_norms(path)
    rules = {finding.rule for finding in refused.value.findings}
    assert rules == {"unknown_key", "unknown_source", "missing_key"}
    assert "high (the nearest known name)" in str(refused.value)
    path.write_text("format = 2\n")
    with pytest.raises(DictionaryRefused, match="found 2; accepted: format = 1"):
        read_norms(path)
    path.unlink()
    with pytest.raises(DictionaryRefused) as refused:
        read_norms(path)
    assert [finding.rule for finding in refused.value.findings] == ["io"]


def test_the_shipped_norms_are_those_of_the_file_in_its_order() -> None:
    """Read beside with the parser of the standard library."""
    written = tomllib.loads(SHIPPED.read_text(encoding="utf-8"))["norm"]
    of = [((part["of"], *part.get("also", ())), part.get("low"), part.get("high"), part["text"]) for part in written]
    assert [(norm.of, norm.low, norm.high, norm.text) for norm in norms()] == of
