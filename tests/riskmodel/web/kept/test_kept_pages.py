"""Keeping an answer, and what is done with it later, as a person does it."""

import csv
import io
import re
from datetime import date
from pathlib import Path

import pytest

from riskmodel.tables import read
from riskmodel.web.kept import Event, KeptChild, Store
from riskmodel.web.kept.export import HEAD, to_csv
from tests.riskmodel.web.cases import typed
from tests.riskmodel.web.client import ON, Client, client
from tests.riskmodel.web.kept.builders import answer, kept, since

AGREED = {"initials": "ab", "agreed": "yes"}


@pytest.fixture
def inside(tmp_path: Path) -> Client:
    return client(kept=tmp_path / "kept.sqlite3").let_in()


def stored(inside: Client) -> Store:
    held: Store = inside.app.state.held.kept
    return held


def one_kept(inside: Client) -> str:
    """Keep an answer and return the path of its page."""
    at = inside.new_child(typed("TW-204"))
    assert inside.post(f"{at}/keep", AGREED).status == 303
    return f"/kept/{stored(inside).all()[0].kept.id}"


def test_nothing_is_kept_unless_somebody_asks_for_it(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    inside.get(f"{at}/estimate")
    assert "0 of 0 answers" in inside.get("/kept").words
    assert not stored(inside).path.exists()


def test_each_models_answer_is_kept_with_inputs_digest_and_initials(inside: Client) -> None:
    at = inside.new_child(typed("TW-204"))
    inside.post(f"{at}/keep", AGREED)
    held = [child.kept for child in stored(inside).all()]
    assert {kept.model for kept in held} == {"revision_24m", "fixation_failure_24m"}
    for one in held:
        scorer = next(s for s in inside.app.state.held.models.scorers if s.bundle.id == one.model)
        values = {name: text for name, text in typed("TW-204").items() if name != "case_id"}
        assert dict(one.values) == values
        assert (one.digest, one.kept_by, one.kept_on) == (scorer.bundle.digest, "AB", ON)
        assert one.probability == scorer.score(values, on=ON).probability


@pytest.mark.parametrize(
    ("values", "sent", "says"),
    [
        ({}, {"initials": "ab"}, "the tick that this child's answers may be kept"),
        ({}, {"agreed": "yes", "initials": "a1"}, "Missing: your initials: 2 to 4 letters"),
        ({}, {"agreed": "yes", "initials": "Smithson"}, "Missing: your initials"),
        ({"case_id": ""}, AGREED, "needs a key, a pseudonym"),
        ({"adi_mm": "18"}, AGREED, "Unusual values have to be confirmed first"),
        ({"age_years": "99"}, AGREED, "no answer to keep"),
    ],
)
def test_what_stands_in_the_way_is_said_and_nothing_is_kept(
    inside: Client, values: dict[str, str], sent: dict[str, str], says: str
) -> None:
    at = inside.new_child({**typed("TW-204"), **values})
    answered = inside.post(f"{at}/keep", sent)
    assert answered.status == 422
    if values != {"age_years": "99"}:
        assert says in answered.words
    assert not stored(inside).path.exists()


def test_a_refused_number_is_kept_as_refused(inside: Client) -> None:
    at = inside.new_child(typed("HS-009"))
    inside.post(f"{at}/keep", AGREED)
    assert [child.kept.probability for child in stored(inside).all()] == [None, None]
    assert inside.get("/kept").text.count("<td>no number</td>") == 2


def test_what_cannot_be_written_is_not_confirmed(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    inside = client(kept=tmp_path / "file" / "kept.sqlite3").let_in()
    at = inside.new_child(typed("TW-204"))
    answered = inside.post(f"{at}/keep", AGREED)
    assert answered.status == 422
    assert "Nothing was kept: the file of kept answers cannot be used" in answered.words


def test_a_kept_answer_shows_inputs_in_words_and_the_answer(inside: Client) -> None:
    words = inside.get(one_kept(inside)).words
    for part in ("TW-204", "Age at the operation 9.2 years", "Main condition Down syndrome", "Range between", "AB"):
        assert part in words


def test_the_outcome_is_added_later_and_the_last_line_holds(inside: Client) -> None:
    page = one_kept(inside)
    inside.post(f"{page}/since", {"initials": "cd", "event": "not known", "operated": ""})
    inside.post(f"{page}/since", {"initials": "cd", "event": "no", "operated": "2026-12"})
    child = stored(inside).all()[0]
    assert child.since is not None
    assert (child.since.event, child.since.operated) == (Event.NO, date(2026, 12, 31))
    words = inside.get(page).words
    assert words.index("no, operated 2026-12 (this holds)") < words.index("not known")


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"initials": "", "event": "no", "operated": "2026-11"}, "Missing: your initials"),
        ({"initials": "cd", "event": "", "operated": "2026-11"}, "Missing: whether it happened"),
        ({"initials": "cd", "event": "no", "operated": ""}, "its month is missing"),
        ({"initials": "cd", "event": "no", "operated": "11/2026"}, "Found 11/2026; accepted: the month"),
        ({"initials": "cd", "event": "no", "operated": "2027-01"}, "Found 2027-01; accepted: the month"),
        ({"initials": "cd", "event": "maybe", "operated": ""}, "Missing: whether it happened"),
    ],
)
def test_a_note_that_says_too_little_is_refused(inside: Client, sent: dict[str, str], says: str) -> None:
    page = one_kept(inside)
    answered = inside.post(f"{page}/since", sent)
    assert answered.status == 422
    assert says in answered.words
    assert stored(inside).all()[0].since is None


def test_a_child_is_taken_out_only_with_the_tick(inside: Client) -> None:
    page = one_kept(inside)
    assert inside.post(f"{page}/take-out").status == 422
    assert len(stored(inside).all()) == 2
    assert inside.post(f"{page}/take-out", {"sure": "yes"}).status == 303
    assert stored(inside).all() == ()
    assert inside.get(page).status == 404


def test_the_list_is_filtered_by_key_and_by_what_is_due(inside: Client) -> None:
    stored(inside).keep([kept(1, case_id="AA-1"), kept(2, case_id="BB-2"), kept(3, case_id="bb-3")])
    stored(inside).note(kept(2, case_id="BB-2"), since(Event.UNKNOWN, date(2024, 1, 31)))
    assert "2 of 3 answers" in inside.post("/kept", {"key": "BB", "which": "all"}).words
    assert "2 of 3 answers" in inside.post("/kept", {"key": "", "which": "nothing noted since"}).words
    due = inside.post("/kept", {"which": "horizon passed, outcome not known"})
    assert "1 of 3 answers" in due.words
    assert "BB-2" in due.words
    assert "3 of 3 answers" in inside.post("/kept", {"which": "nonsense"}).words


def test_the_export_is_a_table_that_the_project_reads_and_no_spreadsheet_takes_for_formulas(
    inside: Client, tmp_path: Path
) -> None:
    stored(inside).keep([kept(1, case_id="=1+1", values={"age_years": "9.2", "note": "@x"}), kept(2)])
    stored(inside).note(kept(2), since(Event.YES))
    file = tmp_path / "kept.csv"
    file.write_bytes(inside.get("/kept.csv").body)
    rows = list(csv.DictReader(io.StringIO(file.read_text())))
    assert [row["case_id"] for row in rows] == ["C-2", "'=1+1"]
    assert rows[1]["note"] == "'@x"
    (table,) = read(file)
    held = dict(zip(table.header, table.rows[1], strict=True))
    assert (held["case_id"], held["age_years"], held["probability"]) == ("=1+1", "9.2", "0.2")
    first = dict(zip(table.header, table.rows[0], strict=True))
    assert (first["event"], first["operated_month"]) == ("yes", "2026-12")


def test_an_answer_without_a_number_exports_empty_cells() -> None:
    (row,) = csv.DictReader(io.StringIO(to_csv([KeptChild(kept(1, answer=answer(None)), None)])))
    assert (row["shown"], row["probability"], row["low"], row["event"]) == ("no", "", "", "")
    assert set(HEAD) <= set(row)


def test_observed_and_expected_stand_on_the_page_by_half_year(tmp_path: Path) -> None:
    inside = client(kept=tmp_path / "kept.sqlite3", clock=lambda: date(2029, 2, 1)).let_in()
    held = [kept(i, answer=answer(0.2)) for i in range(10)]
    stored(inside).keep(held)
    for i, one in enumerate(held):
        stored(inside).note(one, since(Event.YES if i < 2 else Event.NO))
    words = inside.get("/kept").words
    assert re.search(r"2026, second half 10 0 2 2\.0 1\.00 0 to 5 as many as chance allows", words), words


def test_a_file_that_cannot_be_read_is_said_on_the_page(tmp_path: Path) -> None:
    (tmp_path / "kept.sqlite3").write_bytes(b"something else" * 100)
    inside = client(kept=tmp_path / "kept.sqlite3").let_in()
    assert "the file of kept answers cannot be used: file is not a database" in inside.get("/kept").words
    assert inside.get("/kept/x").status == 404
    assert inside.get("/kept.csv").status == 200
