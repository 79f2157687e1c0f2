"""One watcher at a time; and what the ledger keeps."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from preflight.errors import UsageError
from preflight.overnight import lock as locking
from preflight.overnight.ledger import Ledger, Row
from preflight.overnight.lock import Lock

REPORTS = (("json", "ready/a"),)
ROW = Row("one", 5.0, "a\udcff.png", "sum", "set", "ready", 1, 0.5, 2.0, "EUR", False, REPORTS, None, {"x": 1})
HOLD = """
import sys, time
from pathlib import Path
from preflight.overnight.lock import Lock

with Lock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_second_watcher_is_refused_and_a_dead_one_is_not_in_the_way(tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)], stdout=subprocess.PIPE, env=environment
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline().strip() == b"held"
        with pytest.raises(UsageError, match=f"another watcher.*process {other.pid}"), Lock(tmp_path):
            pass
        other.kill()
        other.wait()
    with Lock(tmp_path) as mine:
        assert mine.still_there()


def test_where_the_disk_keeps_no_locks_the_process_tells(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(locking, "_taken", lambda _: False)
    with subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"]) as other:
        (tmp_path / locking.NAME).write_text(f"{other.pid} {locking.socket.gethostname()}\n", encoding="utf-8")
        if os.name == "posix":
            with pytest.raises(UsageError, match="another watcher"), Lock(tmp_path):
                pass
        other.kill()
        other.wait()
    with Lock(tmp_path):
        pass


def test_a_vanished_folder_is_noticed(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    with Lock(folder) as lock:
        if os.name == "nt":
            return
        folder.rename(tmp_path / "elsewhere")
        assert not lock.still_there()
        folder.mkdir()  # what a share leaves behind when it is gone
        assert not lock.still_there()


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    return Ledger(tmp_path / "preflight.sqlite")


def test_an_answer_comes_back_as_it_was_and_only_once(ledger: Ledger) -> None:
    ledger.add(ROW)
    ledger.add(ROW)
    assert ledger.since(0.0) == [ROW]
    assert ledger.since(6.0) == []
    assert ledger.same("sum", "set") == ROW
    assert ledger.same("sum", "other") is None
    assert ledger.same("other", "set") is None
    ledger.add(replace(ROW, id="two", at=7.0))
    assert ledger.same("sum", "set") == replace(ROW, id="two", at=7.0)
    ledger.close()


def test_nothing_lies_beside_a_closed_ledger(ledger: Ledger, tmp_path: Path) -> None:
    ledger.add(ROW)
    assert {path.name for path in tmp_path.iterdir()} == {"preflight.sqlite", "preflight.sqlite-journal"}
    ledger.close()
    assert [path.name for path in tmp_path.iterdir()] == ["preflight.sqlite"]
    assert ledger.since(0.0) == [ROW]
    ledger.close()


def test_answers_are_found_by_name_with_any_ending(ledger: Ledger) -> None:
    for number, name in enumerate(("o/art", "o/art.png", "o/art.b.tif", "o/arts.png", "o/art/x.png", "art.png")):
        ledger.add(replace(ROW, id=name, file=name, at=float(number)))
    assert [row.file for row in ledger.named("o/art")] == ["o/art.b.tif", "o/art.png", "o/art"]
    ledger.forget("o/art.png")
    assert [row.file for row in ledger.named("o/art.png")] == []
    ledger.close()


def test_what_is_kept_in_place_is_remembered(ledger: Ledger) -> None:
    ledger.add(ROW, "stamp")
    assert ledger.kept() == {"a\udcff.png": "stamp"}
    ledger.close()


def test_a_short_file_is_remembered_until_it_changes(ledger: Ledger) -> None:
    assert ledger.short_since("a", "1", 100.0) == 100.0
    assert ledger.short_since("a", "1", 130.0) == 100.0
    assert ledger.short_since("a", "2", 140.0) == 140.0
    assert ledger.short_since("a", "2", 20.0) == 20.0  # the clock was set back: begin anew
    ledger.close()


def test_a_ledger_that_is_none_is_a_fault_of_the_disk(tmp_path: Path) -> None:
    (tmp_path / "preflight.sqlite").write_bytes(b"no ledger at all" * 100)
    with pytest.raises(OSError, match="the ledger says"):
        Ledger(tmp_path / "preflight.sqlite").since(0.0)


def test_a_lookup_does_not_grow_with_what_is_remembered(ledger: Ledger) -> None:
    """An index serves it: SQLite is asked how it would look."""
    ledger.add(ROW)
    with ledger._reading() as database:
        plans = database.execute(
            "EXPLAIN QUERY PLAN SELECT * FROM answers WHERE sha256 = 'a' AND settings = 'b'"
        ).fetchall()
    assert "answers_same" in str(plans)
    ledger.close()
