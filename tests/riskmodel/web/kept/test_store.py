"""The file of kept answers: what goes in comes out, readable by its owner only, and nothing else is made of it."""

import sqlite3
import stat
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.web.kept import Event, KeptChild, NotKept, Store
from riskmodel.web.kept.records import month_end
from tests.riskmodel.web.kept.builders import KEPT, kept, since

TEXTS = st.text(st.characters(codec="utf-8"))


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "folder" / "kept.sqlite3")


def test_what_is_kept_is_read_back_as_it_was(store: Store) -> None:
    store.keep([KEPT])
    assert store.all() == (KeptChild(KEPT, None),)
    assert store.one(KEPT.id) == (KEPT, ())
    assert store.one("other") is None


@given(values=st.dictionaries(TEXTS, TEXTS), key=TEXTS)
def test_any_text_is_kept_as_it_was_typed(
    tmp_path_factory: pytest.TempPathFactory, values: dict[str, str], key: str
) -> None:
    store = Store(tmp_path_factory.mktemp("kept") / "kept.sqlite3")
    held = kept(1, case_id=key, values=values)
    store.keep([held])
    assert store.one("id-1") == (held, ())


def test_nothing_is_made_by_looking(store: Store) -> None:
    assert store.all() == ()
    assert store.one("x") is None
    assert not store.path.parent.exists()


def test_the_file_and_its_companions_are_for_their_owner_only(store: Store) -> None:
    store.keep([KEPT])
    reader = sqlite3.connect(store.path)  # holds the companions of the write-ahead log in place
    reader.execute("SELECT * FROM answer").fetchall()
    store.keep([kept(2)])
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in store.path.parent.iterdir()}
    reader.close()
    assert len(modes) == 3
    assert set(modes.values()) == {0o600}
    assert stat.S_IMODE(store.path.parent.stat().st_mode) == 0o700


def test_a_file_that_others_could_read_is_closed_to_them(store: Store) -> None:
    store.keep([KEPT])
    store.path.chmod(0o644)
    store.keep([kept(2)])
    assert stat.S_IMODE(store.path.stat().st_mode) == 0o600


def test_the_log_is_written_ahead_and_fully_synchronised(store: Store) -> None:
    """Values of `PRAGMA synchronous`: 2 is FULL (SQLite's documentation of pragmas)."""
    store.keep([KEPT])
    with store._open() as held:
        assert held.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert held.execute("PRAGMA synchronous").fetchone() == (2,)


def test_answers_are_kept_all_or_none(store: Store) -> None:
    store.keep([KEPT])
    with pytest.raises(NotKept):
        store.keep([kept(2), KEPT])  # the second has an id that is taken
    assert [child.kept.id for child in store.all()] == ["one"]


def test_the_last_line_about_a_child_holds_and_the_earlier_ones_stay(store: Store) -> None:
    store.keep([KEPT, kept(2, case_id=KEPT.case_id), kept(3, case_id=KEPT.case_id, outcome="fixation_failure")])
    store.note(KEPT, since(Event.UNKNOWN))
    store.note(KEPT, since(Event.YES))
    held = {child.kept.id: child.since for child in store.all()}
    assert held == {"one": since(Event.YES), "id-2": since(Event.YES), "id-3": None}
    found = store.one("one")
    assert found is not None
    assert found[1] == (since(Event.YES), since(Event.UNKNOWN))


def test_outcomes_without_a_horizon_are_noted_too(store: Store) -> None:
    plain = kept(1, horizon_months=None)
    store.keep([plain])
    store.note(plain, since(Event.NO))
    assert store.all() == (KeptChild(plain, since(Event.NO)),)


def test_a_child_that_is_taken_out_leaves_no_trace_in_the_file(store: Store) -> None:
    key = "ZQ-77313-marker"
    store.keep([kept(1, case_id=key), kept(2)])
    store.note(kept(1, case_id=key), since(Event.YES))
    store.take_out(key)
    assert [child.kept.case_id for child in store.all()] == ["C-2"]
    assert key.encode() not in b"".join(path.read_bytes() for path in store.path.parent.iterdir())


@pytest.mark.parametrize("content", [b"not a database, but longer than a header of sqlite " * 4, b"x"])
def test_a_file_of_another_kind_is_refused_and_left_alone(store: Store, content: bytes) -> None:
    store.path.parent.mkdir()
    store.path.write_bytes(content)
    for act in (store.all, lambda: store.keep([KEPT])):
        with pytest.raises(NotKept, match="the file of kept answers cannot be used"):
            act()
    assert store.path.read_bytes() == content


def test_a_database_of_another_program_or_version_is_refused(store: Store) -> None:
    store.path.parent.mkdir()
    for statement in ("CREATE TABLE other (x)", "PRAGMA user_version = 9"):
        store.path.unlink(missing_ok=True)
        with sqlite3.connect(store.path) as held:
            held.execute(statement)
        held.close()
        with pytest.raises(NotKept, match="or of another version of this program"):
            store.keep([KEPT])


def test_a_place_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(NotKept, match=r"cannot be used: (Not a directory|File exists)"):
        Store(tmp_path / "file" / "kept.sqlite3").keep([KEPT])


@pytest.mark.parametrize(("text", "end"), [("2024-02", date(2024, 2, 29)), ("2026-12", date(2026, 12, 31))])
def test_a_month_ends_on_its_last_day(text: str, end: date) -> None:
    assert month_end(text) == end
