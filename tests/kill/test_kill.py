"""A few of the kills of `make kill`, with every change."""

import random
from pathlib import Path

from tests.kill.killing import kill


def test_nothing_that_was_confirmed_is_lost_and_the_file_opens_each_time(tmp_path: Path) -> None:
    tally = kill(4, tmp_path / "kept.sqlite3", random.Random(1))  # noqa: S311 - moments, not secrets
    assert tally.faults == ()
    assert tally.confirmed <= tally.found <= tally.saved
    assert tally.confirmed > 0
