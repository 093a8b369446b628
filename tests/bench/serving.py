"""The local app under load: one user, then fifty, then ten thousand answers. `python -m tests.bench.serving [SECONDS]`.

The server runs as a person starts it, with both demonstration models; every user is a browser of its own with a child
of its own. Bounds are those that the app was made for; status 1 when one is missed. CPU times are the server's own
(Linux), so that they mean something on a busy machine too.
"""

import asyncio
import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from statistics import median
from urllib.parse import urlencode

from tests.riskmodel.web.cases import typed
from tests.riskmodel.web.client import bundle_files

USERS, SECONDS, ANSWERS = 50, 60.0, 10_000
# What a user changes: a measured child most of the time, now and then something left open.
CHANGES = (
    {"age_years": "4.5"},
    {"age_years": "9.2"},
    {"age_years": "12.8"},
    {"upper_level": "O"},
    {"upper_level": "C1"},
    {"weaker_end_anchors": "1"},
    {"weaker_end_anchors": "2"},
    {"graft_kind": "other_own"},
    {"reduces": ""},
    {"reduces": "awake"},
)


@dataclass
class Tally:
    """Seconds of each answer, and what went wrong."""

    seconds: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def quantile(self, share: float) -> float:
        """In milliseconds."""
        held = sorted(self.seconds)
        return 1000 * held[min(len(held) - 1, int(share * len(held)))]


@dataclass
class Server:
    """A running app: its process, and the start links that its terminal shows."""

    process: subprocess.Popen[str]
    links: list[str]

    def next_link(self) -> str:
        """The link that has not been used yet."""
        assert self.process.stderr is not None
        while not self.links:
            line = self.process.stderr.readline()
            self.links += re.findall(r"http://\S+/start/\S+", line)
        return self.links.pop()

    def cpu_seconds(self) -> float:
        """User and system time so far (proc(5): fields 14 and 15 of stat)."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def megabytes(self) -> float:
        """Memory that is resident."""
        held = re.search(r"VmRSS:\s+(\d+) kB", Path(f"/proc/{self.process.pid}/status").read_text())
        return int(held[1]) / 1024 if held else 0.0


@contextmanager
def running() -> Iterator[Server]:
    """The app, started as a person starts it."""
    command = [sys.executable, "-c", "from riskmodel.cli import main; main()", "serve", "--port", "0"]
    environment = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    with subprocess.Popen(
        [*command, *map(str, bundle_files())],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    ) as process:
        assert process.stdout is not None
        yield Server(process, [process.stdout.readline().strip()])
        process.terminate()


class User:
    """One browser with one child, over one connection that is kept."""

    def __init__(self, link: str) -> None:
        found = re.fullmatch(r"http://([\d.]+):(\d+)(/start/\S+)", link)
        assert found, link
        self.host, self.port, self.start = found[1], int(found[2]), found[3]
        self.cookie = self.at = ""
        self.fields = typed("TW-204")

    async def enter(self) -> "User":
        """Connect, use the start link, and take a measured child in hand."""
        self.reader, self.writer = await asyncio.open_connection(self.host, self.port)
        _, head, _ = await self.ask("GET", self.start)
        found = re.search(r"set-cookie: ([^;]+)", head, re.IGNORECASE)
        assert found, head
        self.cookie = found[1]
        _, head, _ = await self.ask("POST", "/new")
        location = re.search(r"location: (\S+)/child", head, re.IGNORECASE)
        assert location, head
        self.at = location[1]
        await self.ask("POST", f"{self.at}/child", self.fields)
        return self

    async def change(self, tally: Tally, rng: Random) -> None:
        """Leave a field: send the form, and read the answer."""
        self.fields |= rng.choice(CHANGES)
        begun = time.perf_counter()
        status, _, body = await self.ask("POST", f"{self.at}/answer", self.fields)
        tally.seconds.append(time.perf_counter() - begun)
        if status != 200 or b"answers" not in body:
            tally.errors.append(f"status {status}")

    async def ask(self, method: str, path: str, fields: dict[str, str] | None = None) -> tuple[int, str, bytes]:
        """One request over the kept connection."""
        body = urlencode(fields or {}).encode()
        place = f"{self.host}:{self.port}"
        lines = [f"{method} {path} HTTP/1.1", f"Host: {place}", f"Content-Length: {len(body)}"]
        lines += [f"Origin: http://{place}"] if method == "POST" else []
        lines += ["Content-Type: application/x-www-form-urlencoded"] if body else []
        lines += [f"Cookie: {self.cookie}"] if self.cookie else []
        self.writer.write("\r\n".join([*lines, "", ""]).encode() + body)
        await self.writer.drain()
        head = (await self.reader.readuntil(b"\r\n\r\n")).decode()
        length = re.search(r"content-length: (\d+)", head, re.IGNORECASE)
        content = await self.reader.readexactly(int(length[1])) if length else b""
        return int(head.split()[1]), head, content


async def one_user(server: Server) -> bool:
    """Server time of a change, time and weight of the first pages."""
    user, rng, tally = await User(server.next_link()).enter(), Random(1), Tally()  # noqa: S311
    before = server.cpu_seconds()
    for _ in range(300):
        await user.change(tally, rng)
    cpu = 1000 * (server.cpu_seconds() - before) / 300
    pages = {path: await _page(user, path) for path in ("/", f"{user.at}/child", f"{user.at}/estimate")}
    print(f"one user: a change takes {median(tally.seconds) * 1000:.1f} ms, the server's CPU {cpu:.1f} ms (bound 30)")
    for path, (milliseconds, kilobytes) in pages.items():
        name = path.rpartition("/")[2] or "desk"
        print(f"  {name}: {milliseconds:.0f} ms (bound 100), {kilobytes:.0f} kB with style and script (bound 150)")
    return cpu < 30 and all(ms < 100 and kb < 150 for ms, kb in pages.values())


async def _page(user: User, path: str) -> tuple[float, float]:
    """Median milliseconds of a page, and its kilobytes with everything that it asks for."""
    seconds, body = [], b""
    for _ in range(20):
        begun = time.perf_counter()
        _, _, body = await user.ask("GET", path)
        seconds.append(time.perf_counter() - begun)
    weight = len(body)
    for address in set(re.findall(rb'(?:src|href)="(/static/[^"]+)"', body)):
        weight += len((await user.ask("GET", address.decode()))[2])
    return 1000 * median(seconds), weight / 1000


async def fifty_users(server: Server, seconds: float) -> bool:
    """Each changes a field once a second."""
    users = [await User(server.next_link()).enter() for _ in range(USERS)]
    tally, before = Tally(), server.cpu_seconds()
    begun = time.perf_counter()
    await asyncio.gather(*(_now_and_then(user, tally, begun, seconds, i) for i, user in enumerate(users)))
    share = (server.cpu_seconds() - before) / (time.perf_counter() - begun)
    print(
        f"{USERS} users for {seconds:.0f} s: {len(tally.seconds)} answers, {len(tally.errors)} errors, median "
        f"{tally.quantile(0.5):.0f} ms, p99 {tally.quantile(0.99):.0f} ms (bound 150); {share:.0%} of a core"
    )
    return not tally.errors and tally.quantile(0.99) < 150


async def _now_and_then(user: User, tally: Tally, begun: float, seconds: float, number: int) -> None:
    rng = Random(number)  # noqa: S311 - who changes what, no secret
    due = begun + rng.random()
    while due < begun + seconds:
        await asyncio.sleep(max(0.0, due - time.perf_counter()))
        await user.change(tally, rng)
        due += 1.0


async def very_many(server: Server) -> bool:
    """Memory over ten thousand answers, after a first thousand."""
    user, rng, tally = await User(server.next_link()).enter(), Random(2), Tally()  # noqa: S311
    for _ in range(1000):
        await user.change(tally, rng)
    before = server.megabytes()
    for _ in range(ANSWERS):
        await user.change(tally, rng)
    grown = server.megabytes() - before
    print(f"{ANSWERS} answers: {before:.0f} MB before, {grown:+.1f} MB after (bound 5), {len(tally.errors)} errors")
    return grown < 5 and not tally.errors


def main(seconds: float = SECONDS) -> bool:
    """Run all three; whether every bound was held."""
    with running() as server:
        held = [
            asyncio.run(one_user(server)),
            asyncio.run(fifty_users(server, seconds)),
            asyncio.run(very_many(server)),
        ]
    return all(held)


if __name__ == "__main__":
    sys.exit(0 if main(float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS) else 1)
