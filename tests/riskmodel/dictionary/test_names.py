"""Names that point at a person, and the nearest known name."""

import pytest

from riskmodel.dictionary.names import nearest, points_at_person, suggestion


@pytest.mark.parametrize(
    "name",
    [
        "name", "Surname", "first name", "LastName", "patient_name", "mother's name", "initials", "DOB",
        "date of birth", "dateOfBirth", "birth_year", "Birthday", "born", "Address", "street", "post code",
        "postcode", "ZIP", "phone",
        "Mobile no", "tel. / fax", "e-mail", "E_Mail", "email_parent", "MRN", "NHS number", "hospital no.",
        "hospital_id", "PatientID", "national id", "Passport", "social security number", "medical record number",
        "insurance no", "father", "GUARDIAN",
    ],
)  # fmt: skip
def test_a_direct_identifier_is_known_by_its_name(name: str) -> None:
    assert points_at_person(name)


@pytest.mark.parametrize(
    "name",
    [
        "case_id", "centre_id", "age_years", "birth_weight_g", "gestation_at_birth_weeks", "Number", "n_segments",
        "patient_height_cm", "last_contact_months", "operation_date", "reader_id", "nurick_grade", "Start", "mobility",
        "emailed_report", "hospital_days", "unit", "record",
    ],
)  # fmt: skip
def test_a_plain_column_is_not_taken_for_an_identifier(name: str) -> None:
    assert not points_at_person(name)


def test_the_nearest_name_is_found_and_a_far_one_is_not() -> None:
    assert nearest("adi_m", ["adi_mm", "padi_mm"]) == "adi_mm"
    assert nearest("zzz", ["adi_mm", "padi_mm"]) is None
    assert suggestion("zzz", ["adi_mm", "padi_mm"]) == "one of adi_mm, padi_mm"
    assert suggestion("zzz", [f"variable_{n}" for n in range(50)]) == "one of 50 known names, variable_0 the first"
