"""What may be told of an internal fault: its kind, its place in the code and a number, never its message."""

import hashlib
import traceback
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Incident:
    """A fault by its kind and place. `number`: 8 hexadecimal digits, the same for the same fault."""

    number: str
    kind: str
    place: str

    def __str__(self) -> str:
        return f"{self.kind} at {self.place} (incident {self.number})"


def incident(error: BaseException) -> Incident:
    """The incident of an exception that was raised; its message is left out, since it may quote a patient's value."""
    frames = traceback.extract_tb(error.__traceback__)
    places = [f"{Path(frame.filename).name}:{frame.lineno}" for frame in frames]
    kind = type(error).__name__
    number = hashlib.sha256("\n".join([kind, *places]).encode()).hexdigest()[:8]
    return Incident(number, kind, places[-1] if places else "an unknown place")
