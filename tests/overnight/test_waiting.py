"""Waiting: ended by time, by a wish, or by a change; and no thread of it stays."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from preflight.overnight.waiting import SOONEST, wait

WATCHED = """
import sys, time
from pathlib import Path
from preflight.overnight.waiting import _threads, wait

folder, before = Path(sys.argv[1]), _threads()
(folder / "a.png").write_bytes(b"1")
wait(folder, time.monotonic() + 0.5, lambda: False, lambda: None)
print(before, _threads())
"""


def test_it_ends_in_time_and_when_told(tmp_path: Path) -> None:
    start, asked = time.monotonic(), []
    wait(tmp_path, start + 0.5, lambda: False, lambda: asked.append(1))
    assert 0.4 < time.monotonic() - start < 3
    assert asked
    start = time.monotonic()
    wait(tmp_path, start + 60, lambda: time.monotonic() > start + 0.3, lambda: None)
    assert time.monotonic() - start < 5


def test_a_change_shortens_it(tmp_path: Path) -> None:
    pytest.importorskip("watchfiles", reason="watchfiles comes with the extra 'overnight'")
    start = time.monotonic()
    wait(tmp_path, start + 60, lambda: False, lambda: (tmp_path / "a.png").write_bytes(b"1") and None)
    assert SOONEST - 0.1 < time.monotonic() - start < 10


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="nobody tells of threads here")
def test_no_thread_of_it_stays(tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    command = [sys.executable, "-c", WATCHED, str(tmp_path)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    before, after = done.stdout.split()
    assert before == after
