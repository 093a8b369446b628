"""Honest files to start from, and the corpus: small files that once were, or nearly were, too much for a reader."""

import csv
import io
import json
from pathlib import Path
from typing import Any

from tests.packaging import GOLDEN
from tests.training.cohort import further
from tests.training.cohort.children import Columns, children

CORPUS = Path(__file__).parent / "corpus"


def seeds(target: str) -> list[bytes]:
    """Honest inputs and the corpus of a target."""
    honest = [GOLDEN.read_bytes()] if target == "bundle" else _cohorts()
    return honest + [expanded(path) for path in sorted((CORPUS / target).iterdir())]


def expanded(path: Path) -> bytes:
    """An entry of the corpus as bytes; a `.patch.json` is the golden bundle with another value at a place."""
    if not path.name.endswith(".patch.json"):
        return path.read_bytes()
    patch = json.loads(path.read_text(encoding="utf-8"))
    document = json.loads(GOLDEN.read_text(encoding="utf-8"))
    place: Any = document
    for key in patch["at"][:-1]:
        place = place[key]
    place[patch["at"][-1]] = "%here%"
    text = json.dumps(document, sort_keys=True, indent=1, ensure_ascii=False) + "\n"
    return text.replace('"%here%"', patch["raw"]).encode()


def _cohorts() -> list[bytes]:
    plain = _csv(children(24))
    screws = _csv(further.screws(("X-001", "c2_pedicle", "right", "C2", "3.5")))
    events = _csv(further.events(("X-001", "non_union", "10")))
    measured = _csv(further.measures(("X-001", "0", "4.5", "ct", "A"), ("X-001", "0", "4.8", "ct", "B")))
    whole = [plain, b"", b"", measured, b"", screws, events]
    return [plain, b"\x1c".join(whole)]


def _csv(columns: Columns) -> bytes:
    held = io.StringIO(newline="")
    writer = csv.writer(held)
    writer.writerow(columns)
    writer.writerows(zip(*columns.values(), strict=True))
    return held.getvalue().encode()
