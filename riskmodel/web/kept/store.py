"""The file of kept answers: SQLite with a write-ahead log and full synchronisation, readable by its owner only.

A save is confirmed after its transaction is on the disk. The file is made when the first answer is kept, not before.
"""

import json
import os
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import date
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from riskmodel.web.kept.records import Event, Kept, KeptChild, NotKept, Outcome

FORMAT = 1
APPLICATION = 0x524D4B41  # tells a file of ours from another program's
OWNER_ONLY = 0o600
_HEAD = b"SQLite format 3\0"
_ACCEPTED = "accepted: a file that this app made, or a name not yet taken in a folder that may be written to"
_KEEP = "INSERT INTO answer VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_NOTE = """
    INSERT INTO since (case_id, outcome, horizon_months, event, operated, noted_by, noted_on)
    VALUES (?, ?, ?, ?, ?, ?, ?)
"""
_SINCE = "SELECT case_id, outcome, horizon_months, event, operated, noted_by, noted_on FROM since ORDER BY line"
Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Store:
    """Kept answers in the file at `path`; every call opens and closes it, so that nothing is left half-written."""

    path: Path

    def keep(self, answers: Iterable[Kept]) -> None:
        """Keep answers, all or none; when this returns they are on the disk.

        Raises
        ------
        NotKept
            When the file cannot be written.
        """
        with self._open(make=True) as held, held:
            held.execute("BEGIN IMMEDIATE")
            held.executemany(_KEEP, map(_row, answers))

    def note(self, kept: Kept, outcome: Outcome) -> None:
        """Note what became of a child; it holds for every answer about the same outcome.

        Raises
        ------
        NotKept
            When the file cannot be written.
        """
        operated = outcome.operated.isoformat() if outcome.operated else None
        row = (*_about(kept), outcome.event.value, operated, outcome.noted_by, outcome.noted_on.isoformat())
        with self._open(make=True) as held, held:
            held.execute(_NOTE, row)

    def take_out(self, case_id: str) -> None:
        """Forget a child: its answers, and what became of it.

        Raises
        ------
        NotKept
            When the file cannot be written.
        """
        with self._open(make=True) as held, held:
            held.execute("BEGIN IMMEDIATE")
            held.execute("DELETE FROM answer WHERE case_id = ?", (case_id,))
            held.execute("DELETE FROM since WHERE case_id = ?", (case_id,))

    def all(self) -> tuple[KeptChild, ...]:
        """Every kept answer, the last kept first.

        Raises
        ------
        NotKept
            When the file cannot be read.
        """
        with self._open() as held:
            rows = held.execute("SELECT * FROM answer ORDER BY kept_on DESC, rowid DESC").fetchall()
            last = {line[:3]: _outcome(line) for line in held.execute(_SINCE)}
        answers = map(_kept, rows)
        return tuple(KeptChild(kept, last.get(_about(kept))) for kept in answers)

    def one(self, identity: str) -> tuple[Kept, tuple[Outcome, ...]] | None:
        """One answer, and everything noted about the child since, the last first; None when there is none.

        Raises
        ------
        NotKept
            When the file cannot be read.
        """
        with self._open() as held:
            row = held.execute("SELECT * FROM answer WHERE id = ?", (identity,)).fetchone()
            lines = held.execute(_SINCE).fetchall()
        if row is None:
            return None
        kept = _kept(row)
        return kept, tuple(_outcome(line) for line in reversed(lines) if line[:3] == _about(kept))

    @contextmanager
    def _open(self, *, make: bool = False) -> Iterator[sqlite3.Connection]:
        """The file, or an empty one in memory when there is none and none is to be made."""
        try:
            if make:
                _made(self.path)
            place = self.path if _is_ours(self.path) else ":memory:"
            with closing(sqlite3.connect(place, isolation_level=None, timeout=5.0)) as held:
                _prepare(held)
                yield held
        except (sqlite3.Error, OSError) as error:
            reason = error.strerror if isinstance(error, OSError) else str(error)
            raise NotKept(f"the file of kept answers cannot be used: {reason}; {_ACCEPTED}") from None


def _is_ours(path: Path) -> bool:
    """Whether there is a file; SQLite itself would write over a short one of another kind."""
    if not path.exists():
        return False
    with path.open("rb") as file:
        head = file.read(len(_HEAD))
    if head not in (b"", _HEAD):
        raise sqlite3.DatabaseError("file is not a database")
    return True


def _made(path: Path) -> None:
    """The file, readable by its owner only from the first moment on; SQLite gives its side files the same mode."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    os.close(os.open(path, os.O_CREAT | os.O_RDWR, OWNER_ONLY))
    path.chmod(OWNER_ONLY)


def _prepare(held: sqlite3.Connection) -> None:
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "secure_delete = ON"):
        held.execute(f"PRAGMA {pragma}")
    (found,) = held.execute("PRAGMA user_version").fetchone()
    (owner,) = held.execute("PRAGMA application_id").fetchone()
    (tables,) = held.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if (owner, found, tables) == (0, 0, 0):
        schema = (resources.files("riskmodel.web.kept") / "schema.sql").read_text(encoding="utf-8")
        stamp = f"PRAGMA application_id = {APPLICATION}; PRAGMA user_version = {FORMAT};"
        held.executescript(f"BEGIN IMMEDIATE; {schema} {stamp} COMMIT;")
    elif (owner, found) != (APPLICATION, FORMAT):
        raise sqlite3.DatabaseError("it is no file of kept answers, or of another version of this program")


def _about(kept: Kept) -> tuple[str, str, float | None]:
    return kept.case_id, kept.outcome, kept.horizon_months


def _row(kept: Kept) -> Row:
    return (
        kept.id,
        kept.case_id,
        kept.kept_by,
        kept.kept_on.isoformat(),
        kept.model,
        kept.title,
        kept.digest,
        kept.outcome,
        kept.horizon_months,
        int(kept.demonstration),
        json.dumps(dict(kept.values), ensure_ascii=False),
        json.dumps(dict(kept.answer), ensure_ascii=False, allow_nan=False),
    )


def _kept(row: Row) -> Kept:
    return Kept(
        id=row[0],
        case_id=row[1],
        kept_by=row[2],
        kept_on=date.fromisoformat(row[3]),
        model=row[4],
        title=row[5],
        digest=row[6],
        outcome=row[7],
        horizon_months=row[8],
        demonstration=bool(row[9]),
        values=MappingProxyType(json.loads(row[10])),
        answer=MappingProxyType(json.loads(row[11])),
    )


def _outcome(line: Row) -> Outcome:
    event, operated, noted_by, noted_on = line[3:]
    return Outcome(
        event=Event(event),
        operated=date.fromisoformat(operated) if operated else None,
        noted_by=noted_by,
        noted_on=date.fromisoformat(noted_on),
    )
