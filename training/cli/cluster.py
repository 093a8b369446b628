"""Replays on other machines: a dask cluster behind joblib, with the same numbers as here to the last digit."""

import errno
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib.metadata import version
from typing import Any

import click
from joblib import parallel_config

WAIT_SECONDS = 15
# What has to be the same everywhere for numbers to be the same.
COMPARED = ("riskmodel", "numpy", "scipy", "scikit-learn", "joblib")
EVERY_WORKER = -1


@contextmanager
def cluster(address: str | None, workers: int) -> Iterator[int]:
    """Within it, replays run where `address` says; yields how many workers to ask for.

    Without an address, `workers` processes of this machine. A worker that dies on the way loses its replays to another:
    replay b uses child b of the seed wherever it runs.

    Raises
    ------
    click.UsageError
        When dask is not installed.
    OSError
        When nothing answers at the address, it has no worker, or a worker runs other versions than this machine.
    """
    if address is None:
        yield workers
        return
    with _client(address) as client:
        _refuse_other_versions(client)
        with parallel_config(backend="dask", client=client):
            yield EVERY_WORKER


@contextmanager
def _client(address: str) -> Iterator[Any]:
    try:
        from distributed import Client
    except ImportError:
        raise click.UsageError("--cluster needs the dependency group `cluster` (distributed)") from None
    try:
        client: Any = Client(address, timeout=WAIT_SECONDS)  # type: ignore[no-untyped-call]
    except (OSError, ValueError):
        raise OSError(errno.ECONNREFUSED, f"no dask scheduler answers at {address}") from None
    with client:
        try:
            client.wait_for_workers(1, timeout=WAIT_SECONDS)
        except OSError:
            raise OSError(errno.ECONNREFUSED, f"the scheduler at {address} has no worker") from None
        yield client


def _refuse_other_versions(client: Any) -> None:
    try:
        found: Mapping[str, Mapping[str, str]] = client.run(versions)
    except ImportError:
        said = "the workers must run from a checkout of this project, as this machine does"
        raise OSError(errno.ENOEXEC, said) from None
    own = versions()
    for worker, theirs in sorted(found.items()):
        unlike = [f"{name} {theirs[name]} (here {own[name]})" for name in own if theirs[name] != own[name]]
        if unlike:
            raise OSError(errno.ENOEXEC, f"the worker at {worker} runs {', '.join(unlike)}: other numbers may come out")


def versions() -> dict[str, str]:
    """Versions of what the numbers depend on, on the machine where this runs."""
    python = ".".join(map(str, sys.version_info[:2]))
    return {"python": python, **{name: version(name) for name in COMPARED}}
