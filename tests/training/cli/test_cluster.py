"""Replays on a cluster: the same bytes as here, though a worker is killed on the way."""

import os
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from riskmodel.bundle.file import sealed
from riskmodel.cli.status import run
from tests.reference import KYPHOSIS
from training import cohort as cohorts
from training import protocol as protocols
from training.cli import commands
from training.cli.cluster import cluster, versions
from training.fitting import fit

REPLAYS = 80


def train(*arguments: object) -> int:
    return run(commands, "python -m training", [str(argument) for argument in arguments])


@pytest.fixture
def two_workers() -> Iterator[Any]:
    """A local cluster of two processes, one thread each."""
    from distributed import LocalCluster

    how: dict[str, Any] = {"n_workers": 2, "threads_per_worker": 1, "processes": True}
    with LocalCluster(**how, dashboard_address=None, silence_logs=50) as held:  # type: ignore[no-untyped-call]
        yield held


@pytest.mark.slow
def test_two_workers_one_of_them_killed_give_the_same_bytes(two_workers: Any, tmp_path: Path) -> None:
    protocol = protocols.read(KYPHOSIS / "kyphosis.toml")
    cohort = cohorts.read(KYPHOSIS / "kyphosis.csv", protocol)
    here = fit(cohort, protocol, times=REPLAYS)
    first = two_workers.workers[0]
    killed: list[int] = []

    def kill(_: int) -> None:
        if not killed:
            killed.append(first.pid)
            os.kill(first.pid, signal.SIGKILL)

    with cluster(two_workers.scheduler_address, 1) as workers:
        there = fit(cohort, protocol, times=REPLAYS, workers=workers, progress=kill)
    assert len(killed) == 1
    assert sealed(there.bundle) == sealed(here.bundle)
    assert (there.replays.predictions == here.replays.predictions).all()

    out = tmp_path / "out"
    options = ("--out", out, "--replays", 20, "--cluster", two_workers.scheduler_address)
    assert train("fit", KYPHOSIS / "kyphosis.csv", "--protocol", KYPHOSIS / "kyphosis.toml", *options) == 0
    assert (out / "kyphosis.riskmodel.json").is_file()


def test_an_address_where_nothing_answers_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("training.cli.cluster.WAIT_SECONDS", 1)
    data = (KYPHOSIS / "kyphosis.csv", "--protocol", KYPHOSIS / "kyphosis.toml", "--out", tmp_path / "out")
    assert train("fit", *data, "--cluster", "tcp://127.0.0.1:1") == 3
    told = capsys.readouterr().err.strip().splitlines()
    assert told == ["python -m training: could not finish: no dask scheduler answers at tcp://127.0.0.1:1"]
    assert not (tmp_path / "out").exists()


def test_without_an_address_nothing_of_a_cluster_is_loaded() -> None:
    with cluster(None, 3) as workers:
        assert workers == 3
    assert set(versions()) >= {"python", "numpy", "scipy", "riskmodel"}
