"""Who writes to a file, and whether it is still the one that was looked at, without reading it again."""

from __future__ import annotations

import errno
import mmap
import os
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from preflight.overnight import handling, writers
from preflight.overnight.writers import Seen, being_written
from tests.overnight.conftest import Desk, picture

linux = pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells who writes")
pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning")


@linux
def test_an_open_writer_is_seen(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    with path.open("wb") as stream:
        stream.write(b"1")
        stream.flush()
        assert being_written(path)
    assert not being_written(path)
    with path.open("rb"):
        assert not being_written(path)


@linux
def test_what_was_not_touched_is_still_the_same(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(b"1" * 100)
    seen = Seen.of(path)
    assert seen.still(path)
    path.rename(tmp_path / "b.png")
    with pytest.raises(FileNotFoundError):
        seen.still(path)


@linux
@pytest.mark.parametrize("how", ["over it", "behind it", "with its time set back", "another file"])
def test_every_write_is_noticed(tmp_path: Path, how: str) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(b"1" * 100)
    old = path.stat().st_mtime_ns - 10**10
    os.utime(path, ns=(old, old))
    seen = Seen.of(path)
    time.sleep(0.02)  # the clock of a file system ticks in steps of some milliseconds
    if how == "another file":
        path.unlink()
        path.write_bytes(b"2" * 100)
    else:
        with path.open("ab" if how == "behind it" else "r+b") as stream:
            stream.write(b"2")
    if how == "with its time set back":
        os.utime(path, ns=(old, old))
        assert path.stat().st_mtime_ns == seen.mtime_ns
    assert not seen.still(path)


@linux
def test_who_may_write_through_memory_is_noticed(tmp_path: Path) -> None:
    """The file is closed, yet its pages are shared: until they are let go nobody knows what they hold."""
    path = tmp_path / "a.png"
    path.write_bytes(b"1" * 4096)
    with path.open("r+b") as stream:
        shared = mmap.mmap(stream.fileno(), 4096)
    seen = Seen.of(path)
    assert being_written(path)
    assert not seen.still(path)
    shared.close()
    assert seen.still(path)


@linux
@pytest.mark.parametrize(("kind", "told"), [("nfs4", None), ("cifs", None), ("fuse.sshfs", None), ("ext4", True)])
def test_a_share_is_not_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str, told: bool | None) -> None:
    """It refuses a lease whether somebody writes or not: every file would be waited for for ever."""
    path = tmp_path / "a.png"
    path.write_bytes(b"1")
    device = path.stat().st_dev
    table = tmp_path / "mountinfo"
    line = f"36 35 {os.major(device)}:{os.minor(device)} / / rw,noatime shared:1 - {kind} where rw\n"
    table.write_text(f"35 1 0:99 / /proc rw - proc proc rw\n{line}", encoding="utf-8")
    real = open

    def opened(name: Any, *arguments: Any, **named: Any) -> Any:
        return real(table if name == "/proc/self/mountinfo" else name, *arguments, **named)

    def refuse(*_: Any) -> None:
        raise OSError(errno.EAGAIN, "Resource temporarily unavailable")

    monkeypatch.setattr(writers, "open", opened, raising=False)
    monkeypatch.setattr("fcntl.fcntl", refuse)
    seen = Seen.of(path)
    assert writers.writers(path) is told
    assert not seen.still(path)


@linux
def test_a_disk_without_leases_tells_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(b"1")

    def refuse(*_: Any) -> None:
        raise OSError(errno.EINVAL, "Invalid argument")

    monkeypatch.setattr("fcntl.fcntl", refuse)
    assert writers.writers(path) is None
    assert not Seen.of(path).still(path)


@linux
@pytest.mark.parametrize(("tells", "times"), [(True, 1), (False, 2)])
def test_a_file_is_read_once_for_its_sum_where_the_system_tells(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, tells: bool, times: int
) -> None:
    read = list[Path]()
    real = handling.sha256

    def counted(path: Path) -> str:
        read.append(path)
        return real(path)

    monkeypatch.setattr(handling, "sha256", counted)
    if not tells:
        monkeypatch.setattr(writers, "_remote", lambda _: True)
    desk.put("a.png", picture(1))
    desk.once()
    assert len(read) == times
    (row,) = desk.rows()
    assert row.sha256 == real(desk.out / row.artwork)
    assert desk.report("ready/a.png.report.json")["sha256"] == row.sha256
