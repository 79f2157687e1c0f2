"""The watcher dies at every step that it takes on the disk; the next one must find nothing lost, twice or half."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from preflight.overnight.work import NAME as WORK
from tests.bench.soak import Night, sendings, soak
from tests.overnight.conftest import Desk, picture

pytestmark = [
    pytest.mark.skipif(sys.platform != "linux", reason="the test copies its own process"),
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning"),
]
#: What changes something on the disk.
STEPS = [
    (os, "link"),
    (os, "fsync"),
    (Path, "rename"),
    (Path, "replace"),
    (Path, "unlink"),
    (Path, "rmdir"),
    (Path, "mkdir"),
]


def dying(step: Callable[..., Any], left: list[int], before: bool) -> Callable[..., Any]:
    """The same step; the process ends at it, once as many as were left are done."""

    def taken(*arguments: Any, **named: Any) -> Any:
        left[0] -= 1
        last = left[0] == 0  # asked now: a step may take others
        if last and before:
            os._exit(9)
        try:
            return step(*arguments, **named)
        finally:
            if last:
                os._exit(9)

    return taken


def die_at(desk: Desk, number: int, *, before: bool, **options: Any) -> bool:
    """Let a watcher run in a process of its own, and end that at its step ``number``; whether it got so far."""
    pid = os.fork()
    if pid == 0:
        try:
            left = [number]
            for owner, name in STEPS:
                setattr(owner, name, dying(getattr(owner, name), left, before))
            desk.once(**options)
            os._exit(0)
        finally:
            traceback.print_exc()
            os._exit(7)
    _, status = os.waitpid(pid, 0)
    code = os.waitstatus_to_exitcode(status)
    assert code in (0, 9)
    return code == 9


@pytest.mark.long
@pytest.mark.parametrize("originals", ["move", "keep"])
def test_killed_at_every_step(tmp_path: Path, hurried: None, originals: str) -> None:
    number, kills = 0, 0
    while True:
        number += 1 if originals == "move" else 3  # every second time just before the step, else just after it
        folder = tmp_path / str(number)
        (folder / "in").mkdir(parents=True)
        desk = Desk(folder / "in", folder / "out", {"originals": originals, "formats": ("json",)})
        desk.put("order/a.png", picture(1), ticket="copies = 3\n")
        desk.put("b.txt", b"no artwork")
        killed = die_at(desk, number, before=bool(number % 2))
        desk.once()
        look(desk, originals)
        kills += killed
        if not killed:
            break
    assert kills > (90 if originals == "move" else 30)


def look(desk: Desk, originals: str) -> None:
    """Each is answered once, the bytes are the same, and nothing lies about."""
    assert sorted(row.file for row in desk.rows()) == ["b.txt", "order/a.png"]
    reports = {"ready/order/a.png.report.json", "unchecked/b.txt.report.json"}
    originals_there = {"order/a.png", "order/a.png.ticket.toml", "b.txt"}
    if originals == "keep":
        assert (desk.incoming(), desk.files()) == (originals_there, reports)
        assert (desk.root / "order/a.png").read_bytes() == picture(1)
    else:
        moved = {"ready/order/a.png", "ready/order/a.png.ticket.toml", "unchecked/b.txt"}
        assert (desk.incoming(), desk.files()) == (set(), reports | moved)
        assert (desk.out / "ready/order/a.png").read_bytes() == picture(1)
    assert list((desk.out / WORK).iterdir()) == []
    assert desk.report("ready/order/a.png.report.json")["ticket"]["copies"] == 3


@pytest.mark.slow
def test_a_short_soak(tmp_path: Path) -> None:
    """40 files of every kind, the real command, killed five times. The long one is ``tests/bench/soak.py``."""
    sent = sendings(40, seed=5)
    options = ("--every", "1s", "--settle", "5s", "--jobs", "2", "--formats", "json,text")
    night = Night(tmp_path / "in", tmp_path / "out", 5, (2.5, 5.0), options)
    assert soak(sent, night, seed=5, patience=60) == []
    assert night.killed == 5
