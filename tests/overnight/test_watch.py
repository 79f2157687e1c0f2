"""The hot folder from end to end: real folders, real files, the real checker."""

from __future__ import annotations

import errno
import json
import os
import tempfile
import time
from collections.abc import Generator
from pathlib import Path
from typing import Any

import pytest

from preflight.child import Job
from preflight.engine import Checker, check
from preflight.errors import ChildDied
from preflight.overnight import handling, telling, watcher
from preflight.overnight.finished import Folder
from preflight.overnight.lock import Lock
from preflight.overnight.watcher import Watcher
from preflight.overnight.work import NAME as WORK
from preflight.report import json as written
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order, read_options
from tests.overnight.conftest import Desk, picture, posix, workshop

pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning")


def plain_check(path: Path, name: str) -> dict[str, Any]:
    """What ``preflight check`` says of a file, under another name."""
    shop = Shop.default()
    told = written.artwork(check(path, Checker(Order(), shop, load_rulebook(shop, None))))
    return {**told, "seconds": 0, "file": name}


def test_each_verdict_has_its_folder_and_the_report_lies_beside(desk: Desk) -> None:
    good = picture(1)
    desk.put("order 1/good.png", good, ticket='width = "15mm"\ncopies = 3\n')
    desk.put("no size.txt", b"hello")
    watched = desk.once()
    assert watched.verdicts == {"ready": 1, "unchecked": 1}
    assert desk.incoming() == set()
    assert desk.files() == {
        "ready/order 1/good.png",
        "ready/order 1/good.png.ticket.toml",
        "ready/order 1/good.png.report.json",
        "ready/order 1/good.png.report.txt",
        "unchecked/no size.txt",
        "unchecked/no size.txt.report.json",
        "unchecked/no size.txt.report.txt",
    }
    assert (desk.out / "ready/order 1/good.png").read_bytes() == good
    report = desk.report("ready/order 1/good.png.report.json")
    assert report == plain_check(desk.out / "ready/order 1/good.png", "order 1/good.png")
    assert report["ticket"]["copies"] == 3


def test_a_page_with_its_picture(desk: Desk) -> None:
    desk.put("good.png")
    desk.once(formats=("html",))
    page = (desk.out / "ready/good.png.report.html").read_text(encoding="utf-8")
    assert "data:image/" in page
    assert "good.png" in page


def test_names_are_never_overwritten(desk: Desk) -> None:
    for mark in (1, 2, 3):
        desk.put("a.png", picture(mark))
        desk.once()
    kept = {(desk.out / f"ready/{name}").read_bytes() for name in ("a.png", "a-2.png", "a-3.png")}
    assert kept == {picture(mark) for mark in (1, 2, 3)}
    assert {"ready/a-2.png.report.json", "ready/a-3.png.report.txt"} <= desk.files()


def test_a_file_where_a_folder_is_needed(desk: Desk) -> None:
    desk.put("a", picture(1))
    desk.once()
    desk.put("a/b.png", picture(2))
    desk.once()
    assert {"ready/a", "ready/a-2/b.png", "ready/a-2/b.png.report.json"} <= desk.files()


@pytest.mark.parametrize("formats", [("json", "text"), ("html",)])
def test_the_same_bytes_and_ticket_are_answered_from_the_ledger(desk: Desk, formats: tuple[str, ...]) -> None:
    desk.put("a.png", ticket='width = "15mm"\n')
    desk.once(formats=formats)
    desk.put("order/b & <c>.png", ticket='width = "15mm"\n')
    desk.put("other.png", ticket='width = "14mm"\n')
    desk.put("other.jpg", ticket='width = "15mm"\n')
    desk.once(formats=formats)
    assert {row.file: row.again for row in desk.rows()} == {
        "a.png": False, "order/b & <c>.png": True, "other.png": False, "other.jpg": False,
    }  # fmt: skip
    if "json" in formats:
        path = desk.out / "ready/order/b & <c>.png"
        told = desk.report("ready/order/b & <c>.png.report.json")
        assert told == plain_check(path, "order/b & <c>.png")
        assert "\norder/b & <c>.png\n" in (desk.out / "ready/order/b & <c>.png.report.txt").read_text(encoding="utf-8")
    else:
        page = (desk.out / "ready/order/b & <c>.png.report.html").read_text(encoding="utf-8")
        assert "– b &amp; &lt;c&gt;.png</title>" in page
        assert "a.png" not in page


def test_other_settings_are_another_question(desk: Desk) -> None:
    desk.put("a.png")
    desk.once()
    desk.put("b.png")
    desk.once(order=read_options(width="15mm"))
    assert [row.again for row in desk.rows()] == [False, False]


def test_options_are_defaults_and_a_ticket_wins(desk: Desk) -> None:
    desk.put("a.png", picture(1), ticket='width = "12mm"\n')
    desk.put("b.png", picture(2))
    desk.once(order=read_options(height="15mm", copies=4))
    told = {row.file: desk.report(dict(row.reports)["json"])["ticket"] for row in desk.rows()}
    assert (told["a.png"]["width_mm"], told["a.png"]["height_mm"], told["a.png"]["copies"]) == (12.0, None, 4)
    assert (told["b.png"]["width_mm"], told["b.png"]["height_mm"], told["b.png"]["copies"]) == (None, 15.0, 4)


@pytest.mark.parametrize("originals", ["move", "archive", "keep"])
def test_a_ticket_that_comes_after_the_answer(desk: Desk, originals: str) -> None:
    desk.put("order/a.png", picture(1))
    desk.put("order/a.b.png", picture(2))
    desk.once(originals=originals)
    desk.root.joinpath("order").mkdir(exist_ok=True)
    (desk.root / "order" / "a.ticket.toml").write_text("copies = 9\n", encoding="utf-8")
    desk.once(originals=originals)
    copies = sorted((row.file, row.summary["copies"]) for row in desk.rows())
    if originals == "keep":
        assert copies == [("order/a.b.png", 1), ("order/a.png", 1), ("order/a.png", 9)]
        return
    assert copies == [("order/a.b.png", 1), ("order/a.png", 9)]
    assert desk.incoming() == set()
    top = "ready" if originals == "move" else "archive"
    assert desk.files() == {
        *(f"{top}/order/{name}" for name in ("a.png", "a.ticket.toml", "a.b.png")),
        *(f"ready/order/{name}.report.{kind}" for name in ("a.png", "a.b.png") for kind in ("json", "txt")),
    }


def test_a_second_ticket_fetches_nothing_back(desk: Desk) -> None:
    """It has one already, and somebody must say which holds."""
    desk.put("a.png", ticket="copies = 2\n")
    desk.once()
    (desk.root / "a.ticket.toml").write_text("copies = 9\n", encoding="utf-8")
    watched = desk.once()
    assert watched.scan.lonely == ["a.ticket.toml"]
    assert [row.summary["copies"] for row in desk.rows()] == [2]


def test_a_ticket_of_two_artworks_goes_with_both(desk: Desk) -> None:
    for name, mark in (("a.png", 1), ("a.jpg", 2)):
        desk.put(name, picture(mark))
    (desk.root / "a.ticket.toml").write_text("copies = 7\n", encoding="utf-8")
    desk.once()
    assert [row.summary["copies"] for row in desk.rows()] == [7, 7]
    assert desk.incoming() == set()
    assert {"ready/a.png", "ready/a.jpg", "ready/a.ticket.toml"} <= desk.files()


def test_two_tickets_of_one_artwork_are_told(desk: Desk) -> None:
    desk.put("a.png", ticket="copies = 1\n")
    (desk.root / "a.ticket.toml").write_text("copies = 2\n", encoding="utf-8")
    desk.once()
    (row,) = desk.rows()
    assert (row.verdict, row.summary["rule"]) == ("unchecked", "unreadable-ticket")
    assert desk.incoming() == set()


def test_an_artwork_can_be_made_to_wait_for_its_ticket(desk: Desk) -> None:
    desk.put("a.png")
    watched = desk.once(wait_for_ticket=True)
    assert watched.not_yet() == {"a.png": "it waits for its ticket"}
    desk.put("a.png", ticket="copies = 2\n")
    desk.once(wait_for_ticket=True)
    assert [row.summary["copies"] for row in desk.rows()] == [2]


def test_an_upload_that_breaks_off_is_waited_for(desk: Desk) -> None:
    whole = picture(9, side=600)
    path = desk.put("a.png", whole[:-200])
    watched = desk.once(settle=60.0)
    assert watched.verdicts == {}
    assert list(watched.not_yet()) == ["a.png"]
    assert path.read_bytes() == whole[:-200]
    with path.open("ab") as stream:
        stream.write(whole[-200:])
    desk.once(settle=60.0)
    assert [(row.verdict, row.file) for row in desk.rows()] == [("ready", "a.png")]


def test_one_that_stays_short_is_answered_by_a_later_run(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each run is too short to see it settle; the ledger remembers when it was first seen."""
    desk.put("a.png", picture(9, side=600)[:-200])
    for _ in range(2):
        assert desk.once(settle=60.0).verdicts == {}
    now = time.time()
    monkeypatch.setattr(handling.time, "time", lambda: now + 61)
    assert desk.once(settle=60.0).verdicts == {"unchecked": 1}
    assert desk.rows()[0].summary["rule"] == "cut-short"


def test_originals_kept_in_place_are_answered_once_each_time_they_change(desk: Desk) -> None:
    path = desk.put("order/a.png", picture(1), ticket="copies = 2\n")
    before = path.stat()
    for _ in range(2):
        desk.once(originals="keep")
    assert path.read_bytes() == picture(1)
    assert (path.stat().st_mtime_ns, path.stat().st_ino) == (before.st_mtime_ns, before.st_ino)
    assert desk.files() == {"ready/order/a.png.report.json", "ready/order/a.png.report.txt"}
    path.write_bytes(picture(2))
    desk.once(originals="keep")
    path.with_name("a.png.ticket.toml").write_text("copies = 3\n# now\n", encoding="utf-8")
    desk.once(originals="keep")
    assert [row.summary["copies"] for row in desk.rows()] == [2, 2, 3]
    assert {"ready/order/a-2.png.report.json", "ready/order/a-3.png.report.json"} <= desk.files()


def test_originals_can_be_archived(desk: Desk) -> None:
    desk.put("order/a.png", ticket="copies = 2\n")
    desk.once(originals="archive")
    assert desk.files() == {
        "archive/order/a.png", "archive/order/a.png.ticket.toml", "ready/order/a.png.report.json",
        "ready/order/a.png.report.txt",
    }  # fmt: skip


def test_a_full_disk_is_no_bad_artwork(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice no report can be written; then there is room."""
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.05)
    real, left = telling.write, [2]

    def write(*arguments: Any) -> Any:
        if left[0]:
            left[0] -= 1
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*arguments)

    monkeypatch.setattr(handling.telling, "write", write)
    desk.put("a.png")
    desk.once()
    assert [(row.verdict, row.tries) for row in desk.rows()] == [("ready", 3)]
    assert [line["why"] for line in desk.log() if line["event"] == "later"] == ["No space left on device"] * 2


def test_what_stays_full_is_given_back(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.02)

    def write(*_: Any) -> Any:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(handling.telling, "write", write)
    desk.put("order/a.png", ticket="copies = 2\n")
    watched = desk.once()
    assert desk.incoming() == {"order/a.png", "order/a.png.ticket.toml"}
    assert desk.files() == set()
    assert watched.not_yet() == {"order/a.png": "No space left on device"}
    assert json.loads((desk.out / "morning.json").read_text(encoding="utf-8"))["not_yet"] == watched.not_yet()


@pytest.mark.parametrize("how", ["killed", "OSError"])
def test_what_cannot_be_checked_here_is_tried_and_then_told(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    """A child that is killed from outside each time."""
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.02)
    ways = [0]

    def way(_self: Checker, path: Path) -> Generator[Job[Any], Any, Any]:
        if path.name != "a.png":
            return (yield from real(_self, path))
        ways[0] += 1
        inner = real(_self, path)
        next(inner)
        failure = ChildDied("killed from outside", "Again.", how="killed") if how == "killed" else OSError(5, "I/O")
        try:
            inner.throw(failure)
        except StopIteration as end:
            return end.value

    real = Checker.way
    monkeypatch.setattr(handling, "Listener", lambda: Deaf(how))
    monkeypatch.setattr(Checker, "way", way)
    desk.put("a.png", picture(1))
    desk.put("b.png", picture(2))
    desk.once()
    verdicts = {row.file: (row.verdict, row.tries) for row in desk.rows()}
    assert verdicts == {"a.png": ("unchecked", 4), "b.png": ("ready", 1)}
    assert ways == [4]
    text = (desk.out / "unchecked/a.png.report.txt").read_text(encoding="utf-8")
    assert "4 times" in text


class Deaf:
    """Stands for a listener that heard of the fault; the way itself is the real one."""

    def __init__(self, how: str) -> None:
        self.fault: str | None = None
        self._how = how

    def along(self, way: Any) -> Generator[Any, Any, Any]:
        reports = yield from way
        if reports[0].print_size is None:
            self.fault = self._how
        return reports


def failing_page(monkeypatch: pytest.MonkeyPatch, kinds: set[str], name: str = "a.png") -> list[str]:
    """Let the reports of a file in these formats fail while they are laid out; each failure is noted."""
    real, tries = telling._made, list[str]()

    def made(reports: Any, kind: str, *others: Any) -> bytes:
        if kind in kinds and reports[0].file == name:
            tries.append(kind)
            raise ArithmeticError("no room for a table")
        return real(reports, kind, *others)

    def laid(reports: Any, kind: str, *others: Any) -> bytes:
        try:
            return made(reports, kind, *others)
        except ArithmeticError as failure:
            raise telling.PageError(kind, failure) from failure

    monkeypatch.setattr(telling, "_made", laid)
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.02)
    return tries


@pytest.mark.parametrize("formats", [("html", "text"), ("html",), ("json", "html", "pdf")])
def test_a_page_that_cannot_be_made_is_tried_and_then_told(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, formats: tuple[str, ...]
) -> None:
    """The answer stands: the file lies where it belongs, with its JSON, and the morning sheet says what is missing."""
    tries = failing_page(monkeypatch, {"html", "pdf"})
    desk.put("a.png", picture(1))
    desk.put("b.png", picture(2))
    desk.once(formats=formats)
    assert {row.file: (row.verdict, row.tries) for row in desk.rows()} == {"a.png": ("ready", 4), "b.png": ("ready", 1)}
    assert tries.count("html") == 4
    beside = {"ready/a.png", "ready/a.png.report.json"} | ({"ready/a.png.report.txt"} if "text" in formats else set())
    assert {path for path in desk.files() if "/a.png" in path} == beside
    report = desk.report("ready/a.png.report.json")
    noted = [line for line in report["assumptions"] if "could not be laid out" in line]
    assert noted[0].startswith("This answer could not be laid out as web page: this program failed on it (Arith")
    assert len(noted) == len({"html", "pdf"} & set(formats))
    report["assumptions"] = [line for line in report["assumptions"] if line not in noted]
    assert report == plain_check(desk.out / "ready/a.png", "a.png")
    assert "could not be laid out" not in (desk.out / "ready/b.png.report.html").read_text(encoding="utf-8")
    told = json.loads((desk.out / "morning.json").read_text(encoding="utf-8"))
    lacking = {file["file"]: file["not_made"] for order in told["orders"] for file in order["files"]}
    assert lacking == {"a.png": [kind for kind in formats if kind in ("html", "pdf")], "b.png": []}
    page = (desk.out / "morning.html").read_text(encoding="utf-8")
    assert "Answered, but a report could not be made" in page
    assert [line["why"] for line in desk.log() if line["event"] == "later"] == [
        "its web page could not be made: this program failed on it (ArithmeticError)"
    ] * 3


def test_a_file_of_which_nothing_can_be_laid_out_is_not_checked(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not even its JSON can be made; that of a file that was not checked can."""
    real = telling._made

    def made(reports: Any, kind: str, *others: Any) -> bytes:
        if reports[0].print_size is not None:
            raise telling.PageError(kind, ArithmeticError())
        return real(reports, kind, *others)

    monkeypatch.setattr(telling, "_made", made)
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.02)
    desk.put("a.png")
    assert desk.once().verdicts == {"unchecked": 1}
    assert [row.tries for row in desk.rows()] == [4]
    text = (desk.out / "unchecked/a.png.report.txt").read_text(encoding="utf-8")
    assert "program failed on it (ArithmeticError), 4 times" in " ".join(text.split())


def test_what_ended_the_program_again_and_again_is_not_tried_for_ever(desk: Desk) -> None:
    """The note says that work on it was begun eight times and never ended."""
    path = desk.put("a.png")
    folder = desk.out / WORK / "abc"
    (folder / "art").mkdir(parents=True)
    stat = path.stat()
    told = {
        "file": "a.png", "tickets": [], "size": stat.st_size, "mtime_ns": stat.st_mtime_ns, "way": "move", "stamp": "",
    }  # fmt: skip
    (folder / "claim.json").write_text(json.dumps(told), encoding="utf-8")
    (folder / "begun").write_bytes(b"." * 8)
    path.rename(folder / "art" / "a.png")
    desk.once()
    assert [(row.verdict, row.file) for row in desk.rows()] == [("unchecked", "a.png")]
    assert "ended 8 times" in (desk.out / "unchecked/a.png.report.txt").read_text(encoding="utf-8")


def test_damaged_notes_do_not_blind_it(desk: Desk) -> None:
    folder = desk.out / WORK / "abc"
    folder.mkdir(parents=True)
    (folder / "claim.json").write_text("{", encoding="utf-8")
    desk.put("a.png")
    assert desk.once().verdicts == {"ready": 1}
    assert any(line["event"] == "stuck" for line in desk.log())


@posix
def test_odd_names(desk: Desk) -> None:
    names = ["two\nlines.png", "-dash.png", "it's <b>.png", "x" * 250 + ".png", "größe.png", "\u202egnp.png"]
    if os.name == "posix":
        names.append("caf\udce9.png")
    for mark, name in enumerate(names):
        desk.put(name, picture(mark))
    desk.once(formats=("json", "text", "html", "pdf"), jobs=2)
    assert {row.file for row in desk.rows()} == set(names)
    assert desk.incoming() == set()
    for row in desk.rows():
        assert row.verdict == "ready"
        assert (desk.out / (row.artwork or "")).read_bytes() == picture(names.index(row.file))
        assert all((desk.out / path).is_file() for _, path in row.reports)
    page = (desk.out / "morning.html").read_text(encoding="utf-8")
    assert "<b>.png" not in page
    assert "\u202e" not in page


@posix
def test_somebody_who_still_writes_after_it_was_taken_is_noticed(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file is moved with the writer's hand still on it; the answer is on what was written in the end."""
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.05)
    monkeypatch.setattr(watcher, "being_written", lambda _: False)  # a system that does not tell
    path = desk.put("a.png", picture(1))
    stream = path.open("r+b")
    real = telling.write

    def write(*arguments: Any) -> Any:
        if not stream.closed:
            stream.write(picture(2))
            stream.truncate()
            stream.close()
        return real(*arguments)

    monkeypatch.setattr(handling.telling, "write", write)
    desk.once()
    (row,) = desk.rows()
    assert row.sha256 == plain_check(desk.out / "ready/a.png", "a.png")["sha256"]
    assert any("still wrote" in line.get("why", "") for line in desk.log())


@posix
def test_the_folder_of_answers_vanishes_and_returns(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.put("a.png")
    desk.out.mkdir()
    (desk.out / WORK).mkdir()
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.1)
    settings = desk.settings()
    away, looks = desk.out.with_name("away"), [0]

    def tell(one: Watcher) -> None:
        looks[0] += 1
        if looks[0] == 1:
            desk.out.rename(away)
            desk.out.mkdir()
        elif any("vanished" in why for why in one.not_yet().values()) and away.exists():
            for left in desk.out.iterdir():
                left.unlink()
            desk.out.rmdir()
            away.rename(desk.out)

    with Lock(desk.out) as lock:
        Watcher(settings, workshop, lock, tell).run(once=True)
    assert not away.exists()
    assert [row.verdict for row in desk.rows()] == ["ready"]


def test_the_watched_folder_vanishes_and_returns(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.05)
    real, left = Folder.scan, [2]

    def scan(self: Folder, known: Any) -> Any:
        if left[0]:
            left[0] -= 1
            raise FileNotFoundError(errno.ENOENT, "No such file or directory", str(self.root))
        return real(self, known)

    monkeypatch.setattr(Folder, "scan", scan)
    desk.put("a.png")
    assert desk.once().verdicts == {"ready": 1}


def test_what_is_left_is_given_back_at_the_end(desk: Desk) -> None:
    """It is told to stop when the first is answered; what is in hand by then is finished, and nothing else taken."""
    for mark in range(1, 7):
        desk.put(f"{mark}.png", picture(mark))
    desk.out.mkdir()
    (desk.out / WORK).mkdir()
    settings = desk.settings()

    begun: set[str] = set()

    def tell(one: Watcher) -> None:
        if one.verdicts and not one.stopping:
            begun.update(("1.png", *(item.rel for item in one.in_hand.values())))
            one.stop()

    with Lock(desk.out) as lock:
        Watcher(settings, workshop, lock, tell).run(once=False)
    assert {row.file for row in desk.rows()} == begun
    assert {"1.png", "2.png"} <= begun <= {"1.png", "2.png", "3.png"}
    assert desk.incoming() == {f"{mark}.png" for mark in range(1, 7)} - begun
    assert list((desk.out / WORK).iterdir()) == []
    beat = json.loads((desk.out / "heartbeat.json").read_text(encoding="utf-8"))
    assert (beat["state"], beat["in_hand"], beat["answered"]) == ("ending", [], {"ready": len(begun)})


def test_no_scratch_folder_is_no_bad_artwork(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the children work there is no room at first."""
    monkeypatch.setattr("preflight.overnight.faults.FIRST", 0.05)
    real, left = tempfile.mkdtemp, [2]

    def mkdtemp(*arguments: Any, **named: Any) -> Any:
        if left[0]:
            left[0] -= 1
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*arguments, **named)

    monkeypatch.setattr(tempfile, "mkdtemp", mkdtemp)
    desk.put("a.png")
    assert desk.once().verdicts == {"ready": 1}
    assert [line["tries"] for line in desk.log() if line["event"] == "trouble"] == [1, 2]
