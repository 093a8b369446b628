"""Our own style, script and mark, served under the digest of what they hold: a browser keeps them for good."""

from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib import resources

from riskmodel.web.door import STATIC

KINDS = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
NAMES = ("app.css", "app.js", "mark.svg")


@dataclass(frozen=True, slots=True)
class Asset:
    """One file: its address, media type and bytes."""

    address: str
    media_type: str
    content: bytes


@cache
def assets() -> dict[str, Asset]:
    """Every asset by its name."""
    return {name: _asset(name) for name in NAMES}


@cache
def by_address() -> dict[str, Asset]:
    """Every asset by its address."""
    return {asset.address: asset for asset in assets().values()}


def _asset(name: str) -> Asset:
    content = (resources.files("riskmodel.web") / "static" / name).read_bytes()
    digest = sha256(content).hexdigest()[:16]
    return Asset(f"{STATIC}{digest}/{name}", KINDS[name.rpartition(".")[2]], content)
