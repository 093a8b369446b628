"""A running app for a browser, served as the command line serves it."""

import asyncio
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from starlette.applications import Starlette

from riskmodel.cli.serve import door_of, server
from riskmodel.web import app as apps
from riskmodel.web.door import LOOPBACK
from tests.riskmodel.web.client import ON, demonstration_models

# As root, and in a container without a GPU; nothing is fetched from anywhere.
ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
]


@dataclass(frozen=True)
class Served:
    """A running app."""

    app: Starlette
    address: str

    @property
    def link(self) -> str:
        """The start link that has not been used yet."""
        return door_of(self.app).link


@contextmanager
def running(kept: Path, *, on: date = ON) -> Iterator[Served]:
    """An app of its own with both demonstration models, on a free port; ended afterwards."""
    listener = socket.create_server((LOOPBACK, 0))
    port = listener.getsockname()[1]
    app = apps.create(demonstration_models(), apps.Settings(port, kept, lambda: on, tell=lambda _: None))
    served = server(app)
    thread = threading.Thread(target=lambda: asyncio.run(served.serve(sockets=[listener])))
    thread.start()
    try:
        yield Served(app, f"http://{LOOPBACK}:{port}")
    finally:
        served.should_exit = True
        thread.join()
        listener.close()
