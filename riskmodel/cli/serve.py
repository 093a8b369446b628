"""`riskmodel serve`: the local app."""

import gc
import os
import socket
from pathlib import Path

import click
import uvicorn
from starlette.applications import Starlette

from riskmodel.web import app as apps
from riskmodel.web import models
from riskmodel.web.door import LOOPBACK, Door

PORT = 8417
_CONNECTIONS = 256
_BACKLOG = 128


@click.command("serve")
@click.argument("bundles", metavar="BUNDLE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0 takes any free one.")
@click.option(
    "--kept",
    type=click.Path(path_type=Path),
    default=lambda: Path(click.get_app_dir("riskmodel")) / "kept.sqlite3",
    metavar="FILE",
    help="Where answers are kept, if any are; a file of your own user when not given.",
)
@click.option("--stock", type=click.Path(path_type=Path), metavar="FILE", help="Your shelf; else a shipped example.")
@click.option("--limits", type=click.Path(path_type=Path), metavar="FILE", help="Limits that you see otherwise.")
def command(*, bundles: tuple[Path, ...], port: int, kept: Path, stock: Path | None, limits: Path | None) -> None:
    """Serve the models in BUNDLE... to a browser on this machine, and to none other.

    The link that is printed lets one browser in, once; when it has been used the next one is printed. Stop with
    Ctrl-C: what was typed and not kept or saved is then gone.
    """
    held = models.load(bundles)
    with _listening(port) as listener:
        taken = listener.getsockname()[1]
        app = apps.create(held, apps.Settings(port=taken, kept=kept, stock=stock, limits=limits))
        click.echo("Open in a browser on this machine; the link works once:", err=True)
        click.echo(door_of(app).link)
        _serve(app, listener)


def door_of(app: Starlette) -> Door:
    """The door of an app, which knows the start link."""
    door: Door = app.state.held.door
    return door


def server(app: Starlette) -> uvicorn.Server:
    """The server of an app: nothing is logged per request, no header of a proxy is believed."""
    config = uvicorn.Config(
        app,
        log_config=None,
        access_log=False,
        lifespan="off",
        ws="none",
        http="h11",
        loop="asyncio",
        proxy_headers=False,
        server_header=False,
        limit_concurrency=_CONNECTIONS,
        timeout_graceful_shutdown=2,
    )
    return uvicorn.Server(config)


def _serve(app: Starlette, listener: socket.socket) -> None:
    # Models, dictionary and templates stay until the end. Looking through them for garbage takes longer than an answer.
    gc.collect()
    gc.freeze()
    try:
        server(app).run(sockets=[listener])
    except KeyboardInterrupt:  # Ctrl-C is how the app is ended
        click.echo("ended", err=True)


def _listening(port: int) -> socket.socket:
    """A socket on the loopback address."""
    # The protocol is named, or asyncio would not see that it is TCP and leave every answer waiting for 40 ms (Nagle).
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # elsewhere it would let another program take the port over
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
    except OSError as error:
        listener.close()
        raise OSError(error.errno, f"port {port}: {error.strerror}; --port 0 takes any free one") from None
    listener.listen(_BACKLOG)
    return listener
