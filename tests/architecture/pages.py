"""A reader's page, followed as a reader would: the files that it shows are written, its commands typed, in order.

A `console` block holds commands, one a line; `# exit status 1` behind one says that it is refused. A `text` block holds
what the block before it prints, on stdout and stderr, whole but for `...`. A `toml` block that begins with
`# NAME.toml` is the file NAME.toml; others are parts of files.
"""

import os
import re
import shlex
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from subprocess import PIPE
from urllib.parse import urlsplit

import click
import pytest
from sybil import Document, Example
from sybil.parsers.markdown import CodeBlockParser

from riskmodel.cli import commands as runtime
from riskmodel.cli.status import run
from synthetic_cohort.__main__ import main as generator
from tests.architecture.project import ROOT
from training.cli import commands as pipeline

# What is not typed here, and why; whatever else a page shows is.
NOT_HERE = {
    "make demo": "installs the whole lock and replays a thousand times; with few replays it is among the slow tests",
    "make test": "would run itself",
    "make check": "runs the tests, this one among them",
}
PROGRAMS: dict[tuple[str, ...], click.Command] = {
    (".venv/bin/riskmodel",): runtime,
    (".venv/bin/python", "-m", "training"): pipeline,
    (".venv/bin/python", "-m", "synthetic_cohort"): generator,
}
# The pages say 500 replays and the day of reading; here it is the day of the release, so that answers never expire.
IN_PLACE = {"--replays": "20", "--workers": "1", "--on": "2026-11-25"}
STATUS = re.compile(r"\s*# exit status (\d)$")
FILE = re.compile(r"# (\S+\.toml)\n")


def document(page: str, reader: "Reader") -> Document:
    """The blocks of a page, each with what the reader does with it."""
    does = {"console": reader.type, "text": reader.compare, "toml": reader.keep}
    return Document.parse(str(ROOT / page), *(CodeBlockParser(language, act) for language, act in does.items()))


def blocks(page: str, language: str) -> Iterator[str]:
    """The blocks of a page in one language."""
    return (example.parsed for example in Document.parse(str(ROOT / page), CodeBlockParser(language)))


def commands(block: str) -> Iterator[tuple[str, int]]:
    """Each command of a console block, with the exit status that it ends with."""
    for line in filter(str.strip, block.splitlines()):
        status = STATUS.search(line)
        yield STATUS.sub("", line), int(status[1]) if status else 0


def program(words: list[str]) -> tuple[str, click.Command, list[str]]:
    """How the program that a command calls is named, the command of its, and the words behind it."""
    for start, called in PROGRAMS.items():
        if tuple(words[: len(start)]) == start:
            rest = words[len(start) :]
            if isinstance(called, click.Group):
                part = called.get_command(click.Context(called), rest[0])
                assert part is not None, f"no command {rest[0]}"
                return f"{start[-1]} {rest[0]}", part, rest[1:]
            return start[-1], called, rest
    raise AssertionError(f"no way to run: {' '.join(words)}")


@dataclass
class Reader:
    """Somebody who does what a page says; stands in the folder of the checkout."""

    capture: pytest.CaptureFixture[str]
    printed: str | None = None
    typed: list[str] = field(default_factory=list)

    def type(self, example: Example) -> str | None:
        """Type the commands of a block, and keep what they print for the block behind it."""
        self.printed = ""
        for line, wanted in commands(example.parsed):
            self.typed.append(line)
            if line in NOT_HERE:
                continue
            status, said = self._run(line)
            self.printed += said
            if status != wanted:
                return f"{line}\nends with {status} in place of {wanted}:\n{said}"
        return None

    def _run(self, line: str) -> tuple[int, str]:
        name, command, words = program(shlex.split(line))
        if name.endswith("serve"):
            return served(words)
        known = {name for option in command.params for name in option.opts}
        more = [word for pair in IN_PLACE.items() if pair[0] in known for word in pair]
        self.capture.readouterr()
        status = run(command, name, [*words, *more])
        said = self.capture.readouterr()
        return status, re.sub(r"replays of .*\r?", "", said.out + said.err)

    def compare(self, example: Example) -> str | None:
        """Hold what the last block printed against what the page shows."""
        if self.printed is None:
            return "shows what is printed, and no command stands before it"
        shown = re.escape(example.parsed.rstrip("\n") + "\n")
        shown = re.sub(r"^\\\.\\\.\\\.\\\n", r"(?:.*\\n)*?", shown, flags=re.MULTILINE).replace(r"\.\.\.", ".*")
        printed, self.printed = self.printed, None
        return None if re.fullmatch(shown, printed) else f"is not what is printed:\n{printed}"

    def keep(self, example: Example) -> str | None:
        """Write the file that a block shows."""
        named = FILE.match(example.parsed)
        if named:
            Path(named[1]).write_text(example.parsed, encoding="utf-8")
        return None


def served(words: list[str]) -> tuple[int, str]:
    """The app as a person starts it, its link opened once, ended by Ctrl-C; any free port will do."""
    command = [sys.executable, "-c", "from riskmodel.cli import main; main()", "serve", *words, "--port", "0"]
    command += ["--kept", "kept.sqlite3"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(command, env=environment, text=True, stdout=PIPE, stderr=PIPE) as process:
        try:
            assert process.stdout is not None
            link = process.stdout.readline()
            assert opened(link.strip()) == HTTPStatus.SEE_OTHER
            process.send_signal(signal.SIGINT)
            out, err = process.communicate(timeout=60)
        finally:
            process.kill()
    return process.returncode, link + out + err


def opened(link: str) -> int:
    """How the app answers a browser that opens a link; waits until it does."""
    address = urlsplit(link)
    assert address.hostname == "127.0.0.1", link
    connection = HTTPConnection(address.hostname, address.port, timeout=60)
    try:
        connection.request("GET", address.path)
        return connection.getresponse().status
    finally:
        connection.close()
