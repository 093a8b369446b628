"""No room, no right to write: exit status 3, one line, and nothing half-written."""

import errno
import os
import resource
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.commands import fit, one_line, riskmodel, run, score

FEW_BYTES = 1024
pytestmark = pytest.mark.skipif(os.name != "posix", reason="limits and mounts of POSIX systems")


def small_files_only() -> None:
    """Writing beyond a few bytes fails, as on a full disk."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (FEW_BYTES, FEW_BYTES))


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 16 kB."""
    yield from mounted(tmp_path / "disk", "-t", "tmpfs", "-o", "size=16k", "tmpfs")


@pytest.fixture
def read_only(tmp_path: Path) -> Iterator[Path]:
    """A file system that takes nothing, not even from root."""
    yield from mounted(tmp_path / "disk", "-t", "tmpfs", "-o", "ro", "tmpfs")


def mounted(folder: Path, *how: str) -> Iterator[Path]:
    folder.mkdir()
    if subprocess.run(["mount", *how, str(folder)], capture_output=True, check=False).returncode:
        pytest.skip("this user may not mount")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_answers_that_do_not_fit_on_the_disk(tmp_path: Path) -> None:
    out = tmp_path / "answers.json"
    out.write_text("an earlier answer")
    done = run(score(tmp_path, "--out", str(out)), before=small_files_only)
    assert done.returncode == 3
    assert os.strerror(errno.EFBIG) in one_line(done)
    assert out.read_text() == "an earlier answer"
    assert names(tmp_path) == {"answers.json", "cases.csv"}


def test_a_full_device_under_standard_output(tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(score(tmp_path), stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 3
    assert "Traceback" not in done.stderr
    assert os.strerror(errno.ENOSPC) in done.stderr


def test_answers_for_a_full_file_system(small_disk: Path, tmp_path: Path) -> None:
    (small_disk / "filler").write_bytes(bytes(12 * 1024))
    done = run(score(tmp_path, "--out", str(small_disk / "answers.json")))
    assert done.returncode == 3
    assert os.strerror(errno.ENOSPC) in one_line(done)
    assert names(small_disk) == {"filler"}


def test_answers_for_a_read_only_file_system(read_only: Path, tmp_path: Path) -> None:
    done = run(score(tmp_path, "--out", str(read_only / "answers.json")))
    assert done.returncode == 3
    assert os.strerror(errno.EROFS) in one_line(done)


def test_a_file_where_a_folder_must_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    done = run(score(tmp_path, "--out", str(tmp_path / "file" / "answers.json")))
    assert done.returncode == 3
    assert os.strerror(errno.ENOTDIR) in one_line(done)


def test_a_template_for_a_read_only_file_system(read_only: Path) -> None:
    done = run(riskmodel("dictionary", "--template", str(read_only / "empty.csv")))
    assert done.returncode == 3
    assert os.strerror(errno.EROFS) in one_line(done)


@pytest.mark.slow
def test_a_fit_into_a_full_file_system_leaves_nothing(small_disk: Path) -> None:
    done = run(fit(small_disk / "model"))
    assert done.returncode == 3
    assert os.strerror(errno.ENOSPC) in one_line(done)
    assert names(small_disk) == set()


@pytest.mark.slow
def test_a_fit_into_a_read_only_file_system_leaves_nothing(read_only: Path) -> None:
    done = run(fit(read_only / "model"))
    assert done.returncode == 3
    assert os.strerror(errno.EROFS) in one_line(done)
