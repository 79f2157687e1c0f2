"""``preflight watch`` as people start it: what it refuses, how it ends, what it says."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from preflight.commands.watch import Request, watch
from preflight.errors import UsageError
from preflight.overnight.diary import Diary
from tests.overnight.conftest import picture

ROOT = Path(__file__).parents[2]


def start(*arguments: str | Path) -> subprocess.Popen[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "preflight", "watch", *map(str, arguments)]
    return subprocess.Popen(command, env=environment, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def refused(**options: object) -> str:
    with pytest.raises(UsageError) as caught:
        watch(Request(**options))  # type: ignore[arg-type]
    return str(caught.value)


def test_folders_that_lie_in_each_other_are_refused(tmp_path: Path) -> None:
    inside = tmp_path / "in"
    inside.mkdir()
    for folder, out in ((tmp_path, inside), (inside, tmp_path), (inside, inside), (inside, inside / "new")):
        told = refused(folder=str(folder), out=str(out), once=True)
        assert "one in the other" in told
        assert str(out) in told
    assert list(inside.iterdir()) == []
    if os.name == "posix":
        (tmp_path / "other name").symlink_to(inside)
        assert "one in the other" in refused(folder=str(inside), out=str(tmp_path / "other name"), once=True)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"every": "5"}, "--every 5 is no time"),
        ({"every": "0.1s"}, "from 0.5s"),
        ({"settle": "30h"}, "--settle 30h"),
        ({"jobs": "0"}, "--jobs 0"),
        ({"originals": "burn"}, "--originals burn"),
        ({"formats": "json,xml"}, "--formats xml"),
        ({"width": "280"}, "280"),
        ({"folder": "gone"}, "gone: there is no such folder"),
        ({"out": "gone/out"}, "there is no folder gone"),
    ],
)
def test_slips_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: dict[str, str], words: str) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "in").mkdir()
    assert words in refused(**{"folder": "in", "out": "out", "once": True, **options})


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "stop").write_text("a file", encoding="utf-8")
    assert str(tmp_path / "out" / "stop") in refused(folder=str(tmp_path / "in"), out=str(tmp_path / "out"), once=True)


def test_once_ends_with_the_status_that_applies(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.png").write_bytes(picture())
    with start(tmp_path / "in", tmp_path / "out", "--once", "--formats", "json") as process:
        said, noise = process.communicate(timeout=60)
    assert (process.returncode, noise) == (0, "")
    assert said.startswith("1 file answered: 1 ready.\n")
    (tmp_path / "in" / "b.txt").write_text("no artwork", encoding="utf-8")
    with start(tmp_path / "in", tmp_path / "out", "--once", "--formats", "json") as process:
        process.communicate(timeout=60)
    assert process.returncode == 12


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="there is no such signal there")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_it_watches_until_a_signal_ends_it_and_is_alone(tmp_path: Path, number: int) -> None:
    (tmp_path / "in").mkdir()
    with start(tmp_path / "in", tmp_path / "out", "--every", "1s", "--formats", "json") as process:
        try:
            until(lambda: (tmp_path / "out" / "heartbeat.json").exists())
            with start(tmp_path / "in", tmp_path / "out", "--once") as second:
                _, told = second.communicate(timeout=60)
            assert second.returncode == 2
            assert "another watcher answers into this folder" in told
            assert f"process {process.pid}" in told
            (tmp_path / "in" / "a.png").write_bytes(picture())
            until(lambda: (tmp_path / "out" / "ready" / "a.png").exists())
            process.send_signal(number)
            said, noise = process.communicate(timeout=30)
        finally:
            process.kill()
    assert (process.returncode, noise) == (0, "")
    assert "1 file answered: 1 ready." in said
    assert json.loads((tmp_path / "out" / "heartbeat.json").read_text(encoding="utf-8"))["state"] == "ending"


def until(there: object) -> None:
    end = time.monotonic() + 40
    while not there():  # type: ignore[operator]
        assert time.monotonic() < end
        time.sleep(0.1)


def test_the_log_is_turned_before_it_grows_large(tmp_path: Path) -> None:
    diary = Diary(tmp_path, largest=2000)
    for number in range(200):
        diary.note("answered", number=number)
    logs = sorted(path.name for path in tmp_path.iterdir())
    assert logs == ["log.1.jsonl", "log.2.jsonl", "log.3.jsonl", "log.jsonl"]
    assert all(path.stat().st_size <= 2000 for path in tmp_path.iterdir())
    last = (tmp_path / "log.jsonl").read_text(encoding="utf-8").splitlines()[-1]
    assert json.loads(last)["number"] == 199


@pytest.mark.parametrize("arguments", [(), ("in",)])
def test_what_is_missing_is_told(arguments: tuple[str, ...]) -> None:
    with start(*arguments) as process:
        _, told = process.communicate(timeout=60)
    assert process.returncode == 2
    assert "two folders are needed" in told
