"""What is finished: still over several looks, not by its name or by a clock that can be set."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from preflight.overnight.finished import Folder, is_ticket, temporary, ticket_names


class Clock:
    now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.mark.parametrize(
    "name",
    [
        "a.png.part",
        "a.crdownload",
        ".a.png",
        "~$a.psd",
        "a.TMP",
        "a.png~",
        "a.filepart",
        "Thumbs.db",
        "x.partial",
        ".a\nb",
    ],
)
def test_temporary_names(name: str) -> None:
    assert temporary(name)


@pytest.mark.parametrize("name", ["a.png", "part.png", "tmp.png", "a~b.png", "a.part.png", "~a.png", "a", "a\nb.png"])
def test_names_that_are_not_temporary(name: str) -> None:
    assert not temporary(name)


def test_names_of_tickets() -> None:
    assert ticket_names("art.png") == ("art.ticket.toml", "art.png.ticket.toml")
    assert is_ticket("ART.TICKET.TOML")
    assert not is_ticket("art.toml")


def test_finished_takes_two_looks_and_some_seconds(tmp_path: Path) -> None:
    clock = Clock()
    folder = Folder(tmp_path, clock)
    (tmp_path / "a.png").write_bytes(b"1")
    states = []
    for seconds in (0.0, 1.0, 1.5):
        clock.now += seconds
        states.append([each.finished for each in folder.scan().found])
    assert states == [[False], [False], [True]]


def test_one_look_is_never_enough(tmp_path: Path) -> None:
    clock = Clock()
    (tmp_path / "a.png").write_bytes(b"1")
    os.utime(tmp_path / "a.png", (1.0, 1.0))  # a time long ago proves nothing: programs that copy set it
    folder = Folder(tmp_path, clock)
    assert not folder.scan().found[0].finished
    clock.now += 10_000
    assert folder.scan().found[0].finished


def test_a_change_starts_it_anew(tmp_path: Path) -> None:
    clock = Clock()
    folder = Folder(tmp_path, clock)
    path = tmp_path / "a.png"
    path.write_bytes(b"1")
    folder.scan()
    clock.now += 5
    assert folder.scan().found[0].finished
    path.write_bytes(b"12")
    clock.now += 5
    scan = folder.scan()
    assert [each.rel for each in scan.arriving] == ["a.png"]
    assert scan.found[0].still == 0.0


def test_a_time_in_the_future_holds_nothing_up(tmp_path: Path) -> None:
    clock = Clock()
    folder = Folder(tmp_path, clock)
    (tmp_path / "a.png").write_bytes(b"1")
    os.utime(tmp_path / "a.png", (time.time() + 1e6, time.time() + 1e6))
    folder.scan()
    clock.now += 3
    assert folder.scan().found[0].finished


def test_an_artwork_waits_for_a_ticket_that_is_being_written(tmp_path: Path) -> None:
    clock = Clock()
    folder = Folder(tmp_path, clock)
    (tmp_path / "a.png").write_bytes(b"1")
    folder.scan()
    clock.now += 3
    (tmp_path / "a.ticket.toml").write_text("copies = 2", encoding="utf-8")
    (found,) = folder.scan().found
    assert (found.finished, found.tickets) == (False, ("a.ticket.toml",))
    clock.now += 3
    assert folder.scan().found[0].finished


def test_what_is_no_artwork_is_left_and_told(tmp_path: Path) -> None:
    (tmp_path / "deep" / "er").mkdir(parents=True)
    (tmp_path / "deep" / "er" / "a.png").write_bytes(b"1")
    (tmp_path / "shop.toml").write_text("", encoding="utf-8")
    (tmp_path / "b.ticket.toml").write_text("", encoding="utf-8")
    (tmp_path / "c.png.part").write_bytes(b"1")
    scan = Folder(tmp_path).scan()
    assert [each.rel for each in scan.found] == ["deep/er/a.png"]
    assert scan.lonely == ["b.ticket.toml"]
    assert set(scan.left) == {"shop.toml"}


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own there")
def test_links_and_pipes_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "a.png").symlink_to("/etc/passwd")
    (tmp_path / "up").symlink_to("..")
    os.mkfifo(tmp_path / "b.png")
    scan = Folder(tmp_path).scan()
    assert scan.found == []
    assert set(scan.left) == {"a.png", "b.png", "up"}


@pytest.mark.skipif(os.name == "nt", reason="paths are not so long there")
def test_folders_without_end_are_left_alone(tmp_path: Path) -> None:
    here = Path.cwd()
    try:
        os.chdir(tmp_path)
        for _ in range(1500):
            Path("d").mkdir()
            os.chdir("d")
    finally:
        os.chdir(here)
    (tmp_path / "a.png").write_bytes(b"1")
    scan = Folder(tmp_path).scan()
    assert [each.rel for each in scan.found] == ["a.png"]
    assert list(scan.left.values()) == ["it lies more than 100 folders deep"]
    top = tmp_path / "d"
    for _ in range(1500):  # taken away again from above, since the path is too long for others
        (top / "d").rename(tmp_path / "next") if (top / "d").exists() else None
        top.rmdir()
        if not (tmp_path / "next").exists():
            break
        (tmp_path / "next").rename(top)


def test_a_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        Folder(tmp_path / "gone").scan()
