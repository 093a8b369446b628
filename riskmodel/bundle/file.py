"""Writing and reading the document: canonical bytes out, nothing but canonical bytes in.

The way in: size and depth -> JSON -> written again and compared byte for byte -> digest -> values of their types
(`codec`) -> held against each other (`checks`) -> `Bundle`.
"""

import hashlib
import json
import os
import re
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

from riskmodel.bundle.canonical import canonical, canonical_if_ours
from riskmodel.bundle.checks import check_parts
from riskmodel.bundle.codec import decode, encode
from riskmodel.bundle.model import FORMAT, Bundle
from riskmodel.errors import BundleError

LARGEST_BYTES = 16 * 1024 * 1024
DEEPEST = 24
_BRACKET = re.compile(r"[\[\]{}]")


def write(bundle: Bundle, path: Path) -> str:
    """Write the bundle under its digest, by way of a sibling file, and return the digest (64 hexadecimal digits).

    Raises
    ------
    ValueError
        When a number of the bundle is not finite.
    OSError
        When the file cannot be written; an earlier file at `path` then stands as it was.
    """
    digest, text = sealed(bundle)
    handle, held = tempfile.mkstemp(dir=path.parent, prefix=path.name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(held).replace(path)
    except BaseException:
        Path(held).unlink(missing_ok=True)
        raise
    return digest


def sealed(bundle: Bundle) -> tuple[str, bytes]:
    """The digest of the bundle, and the bytes of its document with that digest in it.

    Raises
    ------
    ValueError
        When a number of the bundle is not finite.
    """
    text = canonical(encode(replace(bundle, digest="")))
    digest = _digest(text, "")
    return digest, text.replace(_line(""), _line(digest), 1)


def _digest(text: bytes, held: str) -> str:
    """SHA-256 of the canonical document without the line that holds its digest."""
    return hashlib.sha256(text.replace(_line(held), b"\n", 1)).hexdigest()


def _line(digest: str) -> bytes:
    """The digest's line; one space of indent is the document's own level, and other keys come after it."""
    return f'\n "digest": "{digest}",\n'.encode()


def read(path: Path) -> Bundle:
    """Read a bundle; nothing in it runs, and nothing in it is believed before it was checked.

    Raises
    ------
    BundleError
        When the file is absent, too large, not JSON, of another format, altered, or does not fit together.
    """
    try:
        text = _bytes(path)
        document = _parse(text)
    except (OSError, UnicodeDecodeError) as error:
        raise BundleError(
            f"{path.name} cannot be read: {getattr(error, 'strerror', None) or 'it is not text'}"
        ) from None
    held = document.get("digest")
    if not isinstance(held, str) or canonical_if_ours(document) != text or _digest(text, held) != held:
        raise BundleError(
            f"{path.name} was changed after it was written: a bundle must be, byte for byte, what its digest says; "
            "ask for it again from where it was fitted"
        )
    bundle: Bundle = decode(Bundle, document, "bundle")
    check_parts(bundle)
    return bundle


def _bytes(path: Path) -> bytes:
    if path.stat().st_size > LARGEST_BYTES:
        raise BundleError(f"{path.name} must be at most {LARGEST_BYTES // 2**20} MiB to be a bundle")
    return path.read_bytes()


def _parse(text: bytes) -> Any:
    plain = text.decode()
    _refuse_depth(plain)
    try:
        document = json.loads(plain, object_pairs_hook=_no_doubles, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise BundleError("a bundle must be one JSON document; this file is not, or is cut short") from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        told = str(document.get("format", "nothing"))[:20] if isinstance(document, dict) else "nothing"
        raise BundleError(f"a bundle must say format {FORMAT}; this file says {told}: another kind or another version")
    return document


def _refuse_depth(text: str) -> None:
    """Nesting is counted before parsing, brackets inside texts too: no honest bundle comes near the limit."""
    depth = 0
    for bracket in _BRACKET.finditer(text):
        depth += 1 if bracket[0] in "[{" else -1
        if depth > DEEPEST:
            raise BundleError(f"a bundle must not be nested deeper than {DEEPEST}; this file is")


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    held = dict(pairs)
    if len(held) != len(pairs):
        (double, _), *_ = Counter(name for name, _ in pairs).most_common(1)
        raise BundleError(f"a bundle must not name a key twice; found {double[:40]!r} twice")
    return held


def _no_constant(word: str) -> Any:
    raise BundleError(f"a bundle must hold finite numbers only; found {word}")
