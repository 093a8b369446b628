"""The files that travel: canonical JSON under a digest, read without being believed."""

import hashlib
import json
from pathlib import Path
from typing import Any, TypeVar

from riskmodel.bundle.canonical import canonical, canonical_if_ours
from riskmodel.bundle.codec import decode
from riskmodel.documents.plain import plain
from riskmodel.errors import BundleError, Finding, Severity, SharesRefused
from training.sharing.model import CAUTION, FORMAT, Counts, Judgement, Round, Sums

LARGEST_BYTES = 256 * 2**20
KINDS = {"counts": Counts, "sums": Sums, "judgement": Judgement, "round": Round}
Held = TypeVar("Held", Counts, Sums, Judgement, Round)
AnyFile = Counts | Sums | Judgement | Round


def text(held: AnyFile) -> bytes:
    """The file's bytes, its digest in them."""
    body = _body(held)
    return canonical({**body, "digest": _digest(body)})


def digest(held: AnyFile) -> str:
    """SHA-256 of the document without its digest: what an answer to it refers to."""
    return _digest(_body(held))


def _body(held: AnyFile) -> dict[str, Any]:
    kind = next(name for name, wanted in KINDS.items() if isinstance(held, wanted))
    return {"format": FORMAT, "kind": kind, "caution": CAUTION, "content": plain(held)}


def _digest(body: dict[str, Any]) -> str:
    return hashlib.sha256(canonical(body)).hexdigest()


def read(path: Path) -> AnyFile:
    """Read a file of any kind.

    Raises
    ------
    SharesRefused
        When it is absent, too large, cut short, altered, or not of a kind and format that is known.
    """
    document = _parsed(path)
    held = document.pop("digest", None)
    ours = canonical_if_ours(document)
    if ours is None or held != hashlib.sha256(ours).hexdigest():
        raise refused(path.name, "a file that was changed after it was written", "the file as it was sent", "altered")
    wanted = KINDS.get(str(document.get("kind")))
    if wanted is None or document.get("format") != FORMAT:
        accepted = f"a file of format {FORMAT}: {', '.join(KINDS)}"
        raise refused(path.name, "a file of another kind or version", accepted, "other_kind")
    try:
        content: AnyFile = decode(wanted, document.get("content"), "content")
    except BundleError as error:
        raise refused(path.name, str(error), "what share and pool write", "bad_content") from None
    return content


def _parsed(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise refused(path.name, "a file that is too large", f"at most {LARGEST_BYTES // 2**20} MiB", "too_large")
        document = json.loads(path.read_bytes())
    except OSError as error:
        raise refused(path.name, f"a file that cannot be read: {error.strerror}", "a readable file", "io") from None
    except (ValueError, RecursionError):
        found = "a file that is cut short, or no JSON"
        raise refused(path.name, found, "the whole file, sent again", "cut_short") from None
    if not isinstance(document, dict):
        raise refused(path.name, "JSON of another kind", "what share and pool write", "other_kind")
    return document


def refused(sheet: str, found: str, accepted: str, rule: str) -> SharesRefused:
    """A refusal with one finding."""
    return SharesRefused([finding(sheet, found, accepted, rule)])


def finding(sheet: str, found: str, accepted: str, rule: str) -> Finding:
    """An error about a file of this kind."""
    return Finding(sheet, None, None, found, accepted, Severity.ERROR, rule)
