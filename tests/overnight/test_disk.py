"""Whole or not at all; never over another file; never lost."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from preflight.overnight import disk, work
from preflight.overnight.finished import Folder
from preflight.wholefile import write_whole


def test_what_cannot_be_written_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.json"
    write_whole(path, b"old")

    def full(_number: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("links", [True, False])
def test_a_move_never_overwrites(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.write_bytes(b"1")
    other.write_bytes(b"2")
    if not links:
        monkeypatch.setattr(os, "link", refused(errno.EPERM))
    with pytest.raises(FileExistsError):
        disk.move(one, other)
    assert (one.read_bytes(), other.read_bytes()) == (b"1", b"2")
    disk.move(one, tmp_path / "third")
    assert not one.exists()
    assert (tmp_path / "third").read_bytes() == b"1"


def refused(number: int) -> Any:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return refuse


@pytest.mark.skipif(os.name == "nt", reason="a rename refuses by itself there")
def test_a_move_that_was_cut_off_is_finished(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.write_bytes(b"1")
    os.link(one, other)
    disk.move(one, other)
    assert not one.exists()
    assert other.read_bytes() == b"1"


def test_a_move_to_another_disk_copies_and_then_removes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.write_bytes(b"1" * 3_000_000)
    os.utime(one, ns=(10**18, 10**18))
    real = disk._rename

    def rename(source: Path, target: Path) -> None:
        if source == one:
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        real(source, target)

    monkeypatch.setattr(disk, "_rename", rename)
    disk.move(one, other)
    assert list(tmp_path.iterdir()) == [other]
    assert (other.stat().st_size, other.stat().st_mtime_ns) == (3_000_000, 10**18)


def test_a_copy_that_is_not_the_same_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one = tmp_path / "one"
    one.write_bytes(b"1" * 100)
    monkeypatch.setattr(disk, "sha256", lambda _: "other")  # the disk gave back other bytes than were written
    with pytest.raises(OSError, match="changed while"):
        disk.copy(one, tmp_path / "other")
    assert list(tmp_path.iterdir()) == [one]


def test_numbers_in_names() -> None:
    assert disk.numbered("art.png", 1) == "art.png"
    assert disk.numbered("art.png", 2) == "art-2.png"
    assert disk.numbered("art", 3) == "art-3"
    assert disk.numbered(".png", 2) == ".png-2"
    long = disk.numbered("ä" * 200 + ".png", 2, 28)
    assert long.endswith("-2.png")
    assert len(os.fsencode(long)) <= 255 - 28


def test_taking_from_another_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Renaming is refused, as between two disks: the file is copied, and gone at home only when the copy is whole."""
    root, place = tmp_path / "in", tmp_path / "work"
    root.mkdir()
    place.mkdir()
    (root / "a.png").write_bytes(b"1" * 2_000_000)
    (root / "a.ticket.toml").write_text("copies = 2", encoding="utf-8")
    real = Path.rename

    def rename(self: Path, target: Path) -> Path:
        if self.parent == root:
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", rename)
    folder = Folder(root)
    (found,) = folder.scan().found
    item = work.take(found, root, place, found.state, keep=False)
    assert (item.way, item.artwork.read_bytes(), list(root.iterdir())) == ("copy", b"1" * 2_000_000, [])
    assert work.load(item.folder) == item
    assert work.put_back(item, root)
    assert {path.name for path in root.iterdir()} == {"a.png", "a.ticket.toml"}
    assert list(place.iterdir()) == []


def test_a_file_that_changes_while_it_is_taken_from_another_disk_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root, place = tmp_path / "in", tmp_path / "work"
    root.mkdir()
    place.mkdir()
    path = root / "a.png"
    path.write_bytes(b"1")
    (found,) = Folder(root).scan().found
    path.write_bytes(b"22")
    real = Path.rename

    def rename(self: Path, target: Path) -> Path:
        if self.parent == root:
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(work.NotYetError):
        work.take(found, root, place, found.state, keep=False)
    assert path.read_bytes() == b"22"
    assert list(place.iterdir()) == []
