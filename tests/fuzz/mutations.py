"""Mutants that know what they spoil: a cell of a table, a value of a document; and bytes, now and then."""

import csv
import hashlib
import io
import json
from copy import deepcopy
from random import Random
from typing import Any

from riskmodel.bundle.canonical import canonical

CELLS = (
    *("", " ", "nan", "NaN", "inf", "-inf", "1e400", "-1e308", "0", "-1", "1.5", "1,5", "99999999999999999999"),
    *("yes", "no", "unknown", "not_tested", "not_measurable", "not_applicable", "2020-02-30", "0000-00-00"),
    *("31/12/2019", "9999-12-31", "\u0661\u0662", "\u202e12", "\ufeff", "a\u0301", "O", "C1", "C2", "=1+1", "'=1"),
    *('"', '""', "a\nb", "a\rb", "\x00", "\x1c", "\u2028", "TW", "case_id", "x" * 70_000, "1_000", "0x1f", "1e5"),
)
VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, 1, -1, 2, 10**20, 10**400, 0.0, -0.0, 0.5, 1.0, 1e308, -1e308, 5e-324),
    *("", "0", "linear", "\ud800", "\x00", "2026-11-25", "9999-12-31", "x" * 5000, [], {}, [[]], [1.0], [{}]),
    *({"kind": []}, {"kind": "linear"}, {"kind": "product", "parts": []}, [None], [[1.0], [1.0, 2.0]], ["a", "a"]),
)
SCRAPS = (b"1e999", b"NaN", b"-Infinity", b'"\\ud800"', b"[" * 30, b"\xff\xfe", b"\xef\xbb\xbf", b"\x1c", b"\r", b'"')


def resealed(raw: bytes) -> bytes:
    """The document under a digest that fits it; the bytes as they are when they are no document."""
    try:
        held = json.loads(raw)
        body = canonical({key: value for key, value in held.items() if key != "digest"})
        return canonical({**held, "digest": hashlib.sha256(body).hexdigest()})
    except (ValueError, AttributeError, RecursionError):
        return raw


def cohort_mutant(raw: bytes, rng: Random) -> bytes:
    """Spoil cells, rows or columns of the first table, or bytes anywhere."""
    if rng.random() < 0.2:
        return bytes_mutant(raw, rng)
    tables = raw.split(b"\x1c")
    at = rng.randrange(len(tables))
    try:
        rows = list(csv.reader(io.StringIO(tables[at].decode(), newline="")))
    except (UnicodeDecodeError, csv.Error):
        return bytes_mutant(raw, rng)
    if not rows or not all(rows):
        return bytes_mutant(raw, rng)
    for _ in range(rng.choice((1, 1, 2, 5))):
        _spoil_rows(rows, rng)
    held = io.StringIO(newline="")
    csv.writer(held).writerows(rows)
    tables[at] = held.getvalue().encode("utf-8", "replace")
    return b"\x1c".join(tables)


def _spoil_rows(rows: list[list[str]], rng: Random) -> None:
    row, what = rng.choice(rows), rng.randrange(10)
    if what == 0:
        rows.append(list(row))
    elif what == 1 and len(rows) > 1:
        rows.remove(row)
    elif what == 2 and row:
        row.pop()
    elif what == 3 and rows[0]:
        rows[0][rng.randrange(len(rows[0]))] = rng.choice((*CELLS, *rows[0]))
    elif row:
        row[rng.randrange(len(row))] = rng.choice((*CELLS, *rng.choice(rows)))


def bundle_mutant(raw: bytes, rng: Random) -> bytes:
    """Put another value at a place of the document, take the place away, or spoil bytes."""
    if rng.random() < 0.1:
        return bytes_mutant(raw, rng)
    try:
        held = json.loads(raw)
    except (ValueError, RecursionError):
        return bytes_mutant(raw, rng)
    for _ in range(rng.choice((1, 1, 2, 4))):
        _spoil_document(held, rng)
    return (json.dumps(held, sort_keys=True, indent=1) + "\n").encode()


def _spoil_document(held: Any, rng: Random) -> None:
    """Walk down at random and change what is there."""
    while isinstance(held, dict | list) and held:
        key = rng.choice(list(held)) if isinstance(held, dict) else rng.randrange(len(held))
        inner = held[key]
        if not isinstance(inner, dict | list) or not inner or rng.random() < 0.2:
            _put(held, key, rng)
            return
        held = inner


def _put(held: Any, key: Any, rng: Random) -> None:
    what = rng.randrange(8)
    if what == 0:
        del held[key]
    elif what == 1 and isinstance(held, list):
        held.insert(key, deepcopy(held[key]))
    elif what == 2 and isinstance(held[key], int | float):
        held[key] = -held[key]
    else:
        held[key] = deepcopy(rng.choice(VALUES))  # spoilt further, the value itself would be another one next time


def bytes_mutant(raw: bytes, rng: Random) -> bytes:
    """Flip, cut, double or insert bytes."""
    at, length = rng.randrange(len(raw) + 1), rng.choice((1, 1, 4, 64, 1000))
    what = rng.randrange(4)
    if what == 0:
        return raw[:at] + raw[at + length :]
    if what == 1:
        return raw[:at] + rng.choice(SCRAPS) + raw[at:]
    if what == 2:
        return raw[: at + length] + raw[at:]
    return raw[:at] + bytes(rng.randrange(256) for _ in range(min(length, 8))) + raw[at + length :]
