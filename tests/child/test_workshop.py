"""Children that misbehave: each is told as it died, nothing of it is left, and the next file is checked."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from preflight.child import ChildFailed, Limits, Workshop, examination
from preflight.errors import ChildDied, IntakeError, PreflightError
from preflight.ink.separation import open_separation
from preflight.model import Ticket
from preflight.shop import Shop
from tests.child import hostile
from tests.child.conftest import LINUX
from tests.child.hostile import job

pytestmark = [
    # Newer versions of Python warn of a copy of a process with threads, which a test run has and the program has not.
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning"),
]
linux = pytest.mark.skipif(not LINUX, reason="Linux alone holds these")
SHOP = Shop.default()
ROOT = Path(__file__).parents[2]


def hasty(workshop: Workshop) -> Workshop:
    """One of the same kind that waits for 1.5 s and no longer."""
    return Workshop(Limits(seconds=1, seconds_per_megapixel=0, slack=-1.5), method=workshop._method)


def died(workshop: Workshop, work: object, art: Path) -> ChildDied:
    """The end that this work leads to; afterwards a good file is answered."""
    with pytest.raises(ChildDied) as caught:
        workshop.run(job(work, art))  # type: ignore[arg-type]
    assert workshop.run(job(hostile.answer, art)) == ["fine", "art.png"]
    assert caught.value.file == str(art)
    assert caught.value.rule == "unreadable-file"
    assert caught.value.next_step.endswith(".")
    assert not caught.value.what.endswith(".")
    return caught.value


def test_an_answer_comes_back(workshop: Workshop, art: Path) -> None:
    assert workshop.run(job(hostile.answer, art)) == ["fine", "art.png"]


@pytest.mark.parametrize(
    ("work", "said"),
    [
        pytest.param(hostile.abort, "SIGABRT", marks=linux),
        pytest.param(hostile.segfault, "SIGSEGV", marks=linux),
        (hostile.leave, "status 7"),
    ],
)
def test_a_crash_is_told(workshop: Workshop, art: Path, work: object, said: str) -> None:
    end = died(workshop, work, art)
    assert end.how == "crash"
    assert said in end.what


@linux
def test_an_abort_with_hardly_any_memory_left_is_told_as_that(art: Path) -> None:
    with Workshop(Limits(memory=600_000_000), method="fork") as workshop:
        assert died(workshop, hostile.eat_and_abort, art).how == "memory"


@pytest.mark.parametrize(
    "work",
    [
        hostile.eat_objects,
        hostile.eat_pixels,
        hostile.eat_and_hide_it,
        hostile.eat_in_c,
        pytest.param(hostile.eat_watched, marks=linux),
    ],
)
def test_want_of_memory_is_told_as_that(workshop: Workshop, art: Path, work: object) -> None:
    end = died(workshop, work, art)
    assert end.how == "memory"
    assert "0.559 GB" in end.what


@pytest.mark.parametrize("work", [pytest.param(hostile.spin, marks=linux), hostile.sleep])
def test_what_takes_too_long_is_ended(workshop: Workshop, art: Path, work: object) -> None:
    start = time.monotonic()
    with hasty(workshop) as quick:
        end = died(quick, work, art)
    assert end.how == "time"
    assert "longer than 1 second" in end.what
    assert time.monotonic() - start < 20


@linux
def test_no_handler_saves_it_from_the_end_of_its_time(art: Path) -> None:
    limits = Limits(seconds=1, seconds_per_megapixel=0, slack=30)
    with Workshop(limits, method="fork") as workshop:
        start = time.monotonic()
        assert died(workshop, hostile.spin_deaf, art).how == "time"
        assert time.monotonic() - start < 25


def test_a_large_artwork_may_take_longer(workshop: Workshop, art: Path) -> None:
    assert workshop.run(job(hostile.work_on_a_large_one, art)) == ["done"]


@linux
def test_an_end_from_outside_is_told(workshop: Workshop, art: Path) -> None:
    end = died(workshop, hostile.kill_itself, art)
    assert end.how == "killed"
    assert "--jobs 1" in end.next_step


def test_closing_the_pipe_does_not_save_it(workshop: Workshop, art: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("preflight.child.workshop._PATIENCE", 0.5)
    assert died(workshop, hostile.close_and_linger, art).how == "killed"


def test_threads_left_behind_hold_nothing_up(workshop: Workshop, art: Path) -> None:
    start = time.monotonic()
    (pid,) = workshop.run(job(hostile.leave_threads, art))
    assert time.monotonic() - start < 10
    with pytest.raises(ProcessLookupError):
        os.kill(int(pid), 0)


def test_a_refusal_of_the_file_comes_through(workshop: Workshop, art: Path) -> None:
    with pytest.raises(IntakeError) as caught:
        workshop.run(job(hostile.refuse, art))
    told = caught.value
    assert (told.what, told.next_step, told.rule, told.file) == (
        "it ends in the middle", "Send it again.", "cut-short", str(art),
    )  # fmt: skip
    assert not isinstance(told, ChildDied)


@pytest.mark.parametrize(("work", "name"), [(hostile.division, "ZeroDivisionError"), (hostile.give_up, "SystemExit")])
def test_a_failure_of_the_program_is_told_with_its_place(
    workshop: Workshop, art: Path, work: object, name: str
) -> None:
    with pytest.raises(ChildFailed) as caught:
        workshop.run(job(work, art))  # type: ignore[arg-type]
    assert caught.value.name == name
    assert "hostile.py" in caught.value.trace


@pytest.mark.parametrize(
    "data",
    [
        b"garbage\n",
        b"\xff\xfe\n",
        b"[]\n",
        b"7\n",
        b"null\n",
        b"{}\n",
        b'{"answer": [1, 2]}\n',
        b'{"answer": {"a": "b"}}\n',
        b'{"answer": "fine"}\n',
        b'{"refused": {"what": "x", "next_step": "y", "rule": "no-such-rule"}}\n',
        b'{"refused": {"what": 3, "next_step": "y", "rule": "cut-short"}}\n',
        b'{"refused": []}\n',
        b'{"failed": {"name": "x"}}\n',
        b'{"memory": 1}\n',
        b'{"opened": "1e9"}\n',
        b'{"answer": ' + b"[" * 100_000 + b"]" * 100_000 + b"}\n",
        b'{"answer": ' + b"9" * 10_000 + b"}\n",
    ],
)
def test_an_answer_that_makes_no_sense_is_not_believed(workshop: Workshop, art: Path, data: bytes) -> None:
    assert died(workshop, hostile.send(data), art).how == "nonsense"


def test_an_answer_without_end_is_cut_off(workshop: Workshop, art: Path) -> None:
    assert died(workshop, hostile.flood, art).how == "nonsense"


def test_half_an_answer_is_none(workshop: Workshop, art: Path) -> None:
    with hasty(workshop) as quick:
        assert died(quick, hostile.send(b'{"answer": ["fi'), art).how == "time"


@pytest.mark.parametrize("size", ["1e300", "Infinity", "-1.0", "0.0", "NaN", "2.0"])
def test_no_size_buys_more_than_the_largest_may_take(art: Path, size: str) -> None:
    limits = Limits(seconds=1, seconds_per_megapixel=1, megapixels=2, slack=0.5)
    with Workshop(limits, idle=lambda: None) as workshop:
        child = workshop.start(job(hostile.send(b'{"opened": ' + size.encode() + b"}\n"), art))
        for _ in range(20):
            workshop._look()
            if child.megapixels:
                break
        assert child in workshop._busy
        assert limits.wall() <= child.deadline - child.started <= limits.wall(2.0)
        assert limits.wall(2.0) == 9.5


def test_what_libraries_print_reaches_nobody_but_us(
    workshop: Workshop, art: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    child = workshop.start(job(hostile.chatter, art))
    assert workshop.finished() == [child]
    assert child.answer() == []
    assert child.said == "to standard error\n"
    assert capfd.readouterr() == ("", "")


def test_several_at_once(workshop: Workshop, art: Path) -> None:
    works = [hostile.answer, hostile.leave, hostile.sleep, hostile.answer, hostile.division, hostile.refuse]
    children = [workshop.start(job(work, art), more=True) for work in works]
    done: list[object] = []
    while len(done) < len(children):
        done += workshop.finished()
    assert workshop.finished() == []
    told = []
    for child in children:
        try:
            told.append(child.answer()[0])
        except (IntakeError, ChildFailed) as error:
            told.append(type(error).__name__)
    assert told == ["fine", "ChildDied", "ChildDied", "fine", "ChildFailed", "IntakeError"]


def test_leaving_ends_what_is_at_work(art: Path) -> None:
    with Workshop(method="fork" if LINUX else "spawn") as workshop:
        child = workshop.start(job(hostile.sleep, art))
        folder = child.scratch.parent
        assert folder.is_dir()
    assert not folder.exists()
    with pytest.raises(ProcessLookupError):
        os.kill(child.process.pid, 0)


def test_nothing_is_started_outside(art: Path) -> None:
    with pytest.raises(RuntimeError, match="entered"):
        Workshop().run(job(hostile.answer, art))


def test_no_room_for_a_scratch_folder_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "none"))
    with pytest.raises(PreflightError, match="no scratch folder can be made"), Workshop():
        pass


def test_idle_is_called_while_waiting(art: Path) -> None:
    calls: list[float] = []
    with Workshop(Limits(seconds=1, slack=-1.5), idle=lambda: calls.append(time.monotonic())) as workshop:
        died(workshop, hostile.sleep, art)
    assert len(calls) >= 10


def test_an_artwork_is_measured_as_without_a_child(workshop: Workshop, art: Path) -> None:
    from dataclasses import replace

    from preflight.intake import open_artwork
    from preflight.measure.examine import examine

    separation = open_separation(SHOP)
    ticket, reach = Ticket(width_mm=12.0, garments=("navy",)), {"narrowest-line": 0.5}
    bare = examine(open_artwork(art, pixel_limit=SHOP.pixel_limit), ticket, SHOP, separation, reach)
    with Workshop(method=None if workshop._method == "fork" else workshop._method) as usual:
        child = usual.start(examination(art, ticket, SHOP, separation, reach))
        usual.finished()
    assert child.answer().examination == replace(bare, facts=replace(bare.facts, icc=None))
    assert 30e6 < child.peak < 1e9
    assert child.megapixels == pytest.approx(0.0192)


def test_started_afresh_it_is_the_same(art: Path) -> None:
    works = [hostile.answer, hostile.leave, hostile.eat_pixels, hostile.sleep, hostile.refuse, hostile.answer]
    told = []
    with Workshop(Limits(memory=600_000_000, seconds=1, slack=0), method="spawn") as workshop:
        for work in works:
            child = workshop.start(job(work, art), more=True)
            assert workshop.finished() == [child]
            try:
                told.append(child.answer()[0])
            except IntakeError as error:
                told.append(getattr(error, "how", error.rule))
        starter = workshop._starter()
        ahead = [one.pid for one in starter._ahead]  # type: ignore[attr-defined]
    assert told == ["fine", "crash", "memory", "time", "cut-short", "fine"]
    assert len(ahead) == 1
    with pytest.raises(ProcessLookupError):
        os.kill(ahead[0], 0)


def test_what_a_dead_child_printed_is_kept_for_us(workshop: Workshop, art: Path) -> None:
    end = died(workshop, hostile.eat_in_c, art)
    assert "bad_alloc" in end.said


def test_a_parent_with_threads_is_not_copied() -> None:
    code = (
        "import threading, time\n"
        "from preflight.child.workshop import usual_method\n"
        "print(usual_method())\n"
        "threading.Thread(target=time.sleep, args=(0.5,)).start()\n"
        "print(usual_method())\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    assert done.stdout.split() == (["fork", "forkserver"] if LINUX else ["spawn", "spawn"])


def test_files_that_are_not_there_are_refused_in_their_own_words(art: Path) -> None:
    separation = open_separation(SHOP)
    with Workshop() as workshop:
        for name, said in (("none.png", "no such file"), ("a\0b", "not a file name"), ("", "folder"), (".", "folder")):
            with pytest.raises(IntakeError, match=said):
                workshop.examine(art.parent / name if name else Path(), Ticket(), SHOP, separation, {})
        good = workshop.examine(art, Ticket(width_mm=12), SHOP, separation, {})
    assert good.facts.format == "PNG"
