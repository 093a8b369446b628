"""Names, numbers and free text stay in the hospital, whatever stands in the registry."""

from pathlib import Path

import pytest

from riskmodel.errors import Refused
from tests.training.registry.build import ON, book, column, cvj, map_of, one_sheet, refused, rules, tidied
from training.registry import files
from training.registry.draft import draft_map
from training.registry.tidying import tidy, write

SECRETS = ("Anna Example", "943 476 5919", "1 Some Street", "pls ask Dr Example about the halo", "2010-05-17")
REGISTRY = [
    ("Hosp No", "Patient name", "Address", "DOB", "Op", "ADI", "Notes"),
    (SECRETS[1], SECRETS[0], SECRETS[2], SECRETS[4], "2019-04-03", 4, SECRETS[3]),
]
MAP = one_sheet(
    """
[sheet.column."Hosp No"]
to = "case_id"
[sheet.column."Patient name"]
not_carried = "identifier"
[sheet.column."Address"]
not_carried = "identifier"
[sheet.column."DOB"]
to = "age_years"
reads = "birth_date"
[sheet.column."Op"]
to = "operation_date"
[sheet.column."ADI"]
to = "adi_mm"
[sheet.column."Notes"]
not_carried = "free_text"
""",
    'keys = "new"',
)


def test_nothing_that_points_at_a_child_is_written(tmp_path: Path) -> None:
    path = book(tmp_path / "registry.xlsx", {"Registry": REGISTRY})
    held = tidy(files.read(path), map_of(tmp_path, MAP), cvj(), on=ON)
    write(held, tmp_path / "cohort", tmp_path / "changes.csv")
    texts = [file.read_text() for file in (*(tmp_path / "cohort").iterdir(), tmp_path / "changes.csv")]
    assert column(held, "case_id") == ["K001"]
    for secret in SECRETS:
        assert not any(secret in text for text in texts), secret
    assert "Dr" not in "".join(texts)


def test_the_draft_of_the_map_holds_no_cell_of_a_child(tmp_path: Path) -> None:
    path = book(
        tmp_path / "registry.xlsx", {"Registry": [*REGISTRY, (*REGISTRY[1][:4], "2020-05-06", "rare word", "x")]}
    )
    draft = draft_map(files.read(path), cvj())
    for secret in (*SECRETS, "2019", "2020", "rare word"):
        assert secret not in draft, secret


def test_the_registry_is_not_touched(tmp_path: Path) -> None:
    path = book(tmp_path / "registry.xlsx", {"Registry": REGISTRY})
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    path.chmod(0o444)
    draft_map(files.read(path), cvj())
    tidy(files.read(path), map_of(tmp_path, MAP), cvj(), on=ON)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


@pytest.mark.parametrize(
    ("header", "text", "rule"),
    [
        ("Patient name", '[sheet.column."Patient name"]\nto = "centre_id"', "identifier_column"),
        ("Date of birth", '[sheet.column."Date of birth"]\nto = "last_scan_date"', "identifier_column"),
    ],
)
def test_a_map_cannot_let_identifiers_out(tmp_path: Path, header: str, text: str, rule: str) -> None:
    assert rule in rules(refused(tmp_path, (header,), [("A-1", "2019-04-03", "x")], text))


def test_a_hospital_number_is_no_key(tmp_path: Path) -> None:
    path = book(tmp_path / "registry.xlsx", {"Registry": REGISTRY})
    with pytest.raises(Refused) as caught:
        tidy(files.read(path), map_of(tmp_path, MAP.replace('keys = "new"', "")), cvj(), on=ON)
    assert "identifier_column" in rules(caught.value.findings)


def test_names_in_a_coded_column_are_found_and_said_by_kind_only(tmp_path: Path) -> None:
    dx = '[sheet.column."Dx"]\nto = "condition"\n'
    (finding,) = refused(tmp_path, ("Dx",), [("A-1", "2019-04-03", "write to a.b@example.org")], dx)
    assert finding.found == "a text that looks like an e-mail address"


def test_keys_that_look_like_names_are_refused(tmp_path: Path) -> None:
    assert rules(refused(tmp_path, (), [("Smith, Jane", "2019-04-03")], "")) != []


def test_new_keys_tell_the_children_apart_and_the_list_leads_back(tmp_path: Path) -> None:
    rows = [("B 17", "2019-04-03", 4), ("A 3", "2019-04-03", 5)]
    held = tidied(tmp_path, ("ADI",), rows, '[sheet.column."ADI"]\nto = "adi_mm"', sheet='keys = "new"')
    assert column(held, "case_id") == ["K001", "K002"]
    back = [(change.row, change.was, change.became) for change in held.changes if change.rule == "new key"]
    assert back == [(2, "(not shown)", "K001"), (3, "(not shown)", "K002")]
