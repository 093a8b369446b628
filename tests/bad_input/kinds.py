"""A bad file, and a kind of file that may be spoilt."""

import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from riskmodel.errors import Finding, Refused, RiskmodelError

Findings = Iterable[Finding]
Reader = Callable[[Path], Findings | None]
Spoil = Callable[[Path], None]


@dataclass(frozen=True, slots=True)
class Bad:
    """A bad file: its kind, what is wrong with it, its name, how it comes to be, and how it is read."""

    kind: str
    what: str
    name: str
    make: Spoil
    read: Reader

    def told(self) -> list[str]:
        """Every line that reading it says; paths shortened to the file's name."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / self.name
            self.make(path)
            try:
                found = [str(finding) for finding in self.read(path) or ()]
            except Refused as refused:
                found = [str(finding) for finding in refused.findings]
            except RiskmodelError as error:
                found = str(error).splitlines()
            return [line.replace(f"{folder}/", "") for line in found]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file: its name in the table, the name of the file, an honest text, and how it is read."""

    kind: str
    name: str
    honest: str
    read: Reader

    def raw(self, what: str, content: str | bytes) -> Bad:
        """The file with this in it."""
        return Bad(self.kind, what, self.name, _writes(content), self.read)

    def but(self, what: str, before: str, after: str) -> Bad:
        """The honest file with one thing in place of another."""
        if before not in self.honest:
            raise ValueError(f"{before} is not in the honest {self.kind}")
        return self.raw(what, self.honest.replace(before, after, 1))

    def and_then(self, what: str, more: str) -> Bad:
        """The honest file and something after it."""
        return self.raw(what, self.honest + more)

    def absent(self) -> Bad:
        """No file at all."""
        return Bad(self.kind, "no such file", self.name, lambda _: None, self.read)


def _writes(content: str | bytes) -> Spoil:
    raw = content.encode() if isinstance(content, str) else content
    return lambda path: no(path.write_bytes(raw))


def no(_: object) -> None:
    """What was read is of no interest here: it was to be refused."""
