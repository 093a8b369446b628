"""Files of results: written whole, or not at all."""

import tempfile
from pathlib import Path


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a text (UTF-8) or bytes by way of a sibling file, so that a failure leaves what stood at `path` before.

    Raises
    ------
    OSError
        When the folder or the disk does not take it.
    """
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=f".{path.name}.") as folder:
        held = Path(folder) / path.name
        held.write_bytes(content.encode() if isinstance(content, str) else content)
        held.replace(path)
