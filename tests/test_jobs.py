"""Many files: the order kept, a dead child's file answered, the others answered all the same."""

from __future__ import annotations

import os
import time
from collections.abc import Generator
from pathlib import Path
from typing import Any

import pytest

from preflight.child import Child, ChildFailed, Job, Limits, Room, Workshop
from preflight.errors import ChildDied
from preflight.jobs import MOST_JOBS, Way, answers
from tests.direct import Direct

pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning")


def work(path: Path, room: Room) -> list[str]:
    """Do what the file's name says."""
    if path.name == "die":
        os._exit(3)
    if path.name.startswith("slow"):
        time.sleep(0.6)
    return [path.name, str(os.getpid())]


def way(path: Path) -> Way[list[str], list[str]]:
    """One job a file; "none" needs none, "twice" a second one."""
    if path.name == "none":
        return ["none", "here"]
    try:
        found = yield Job(path, work, list[str])
        if path.name.endswith("twice"):
            again = yield Job(path, work, list[str])
            return [*found, *again]
    except (ChildDied, ChildFailed) as end:
        return [path.name, str(end)]
    return found


def run(names: list[str], at_once: int, workshop: Workshop | None = None) -> list[list[str]]:
    paths = [Path(name) for name in names]
    if workshop is not None:
        return list(answers(paths, way, workshop, at_once))
    with Workshop(Limits(seconds=5)) as made:
        return list(answers(paths, way, made, at_once))


@pytest.mark.parametrize("at_once", [1, 2, 99])
def test_the_order_is_kept(at_once: int) -> None:
    names = ["slow", "b", "none", "c", "slow-too", "e", "f"]
    told = run(names, at_once)
    assert [one[0] for one in told] == names
    pids = [one[1] for one in told if one[1] != "here"]
    assert len(set(pids)) == 6
    assert str(os.getpid()) not in pids


def test_no_file_no_answer() -> None:
    assert run([], 4) == []


def test_a_file_that_needs_no_child_is_answered_without_one() -> None:
    assert run(["none", "none"], 2) == [["none", "here"]] * 2


def test_a_way_may_ask_for_more_than_one_job() -> None:
    ((first, one, second, other),) = run(["twice"], 1)
    assert (first, second) == ("twice", "twice")
    assert one != other


@pytest.mark.parametrize("at_once", [1, 2])
def test_a_dead_child_costs_only_its_file(at_once: int) -> None:
    names = ["a", "die", "b", "die", "c", "d", "die"]
    told = run(names, at_once)
    assert [one[0] for one in told] == names
    assert ["status 3" in one[1] for one in told] == [name == "die" for name in names]


def test_answers_come_before_the_last_file_is_done() -> None:
    with Workshop() as workshop:
        start = time.monotonic()
        told = answers([Path(name) for name in ("a", "slow", "slow", "slow", "slow")], way, workshop, 2)
        first = next(told)
        early = time.monotonic() - start
        list(told)
    assert first[0] == "a"
    assert time.monotonic() - start - early > 0.6


class Counting(Workshop):
    """Remembers how many were at work when one was started, and when each ended."""

    def __init__(self) -> None:
        super().__init__(Limits(seconds=5))
        self.most = 0
        self.starts: list[float] = []
        self.ends: list[float] = []

    def start(self, job: Job[Any], *, more: bool = False) -> Child[Any]:
        child = super().start(job, more=more)
        self.most = max(self.most, len(self._busy))
        self.starts.append(time.monotonic())
        return child

    def finished(self, *, wait: bool = True) -> list[Child[Any]]:
        found = super().finished(wait=wait)
        self.ends += [time.monotonic()] * len(found)
        return found


@pytest.mark.parametrize("at_once", [1, 3])
def test_no_more_are_at_work_than_wanted(at_once: int) -> None:
    """Also where a file needs a second child: it waits for its turn."""
    names = ["slow-twice", "twice", "slow", "slow-twice", "twice", "twice", "slow"]
    with Counting() as workshop:
        assert [one[0] for one in run(names, at_once, workshop)] == names
    assert workshop.most == at_once
    assert len(workshop.starts) == 12


def test_no_child_waits_for_what_is_done_here() -> None:
    """What is done before and after the jobs takes long; yet the next job is ready, and begins at once."""

    def slow_here(path: Path) -> Way[list[str], list[str]]:
        time.sleep(0.1)
        found = yield Job(path, work, list[str])
        for _ in range(4):
            yield None
            time.sleep(0.05)
        return list(found)

    with Counting() as workshop:
        assert len(list(answers([Path("slow")] * 4, slow_here, workshop, 1))) == 4
    gaps = [start - end for end, start in zip(workshop.ends[:-1], workshop.starts[1:], strict=True)]
    assert max(gaps) < 0.05


def test_a_pause_gives_way_to_the_children() -> None:
    """A long way here is cut at its pauses: a child that ends meanwhile is followed by the next."""
    steps: list[str] = []

    def pausing(path: Path) -> Way[list[str], str]:
        if path.name == "here":
            for number in range(20):
                steps.append(f"here {number}")
                time.sleep(0.05)
                yield None
            return "here"
        for number in range(3):
            yield Job(path, work, list[str])
            steps.append(f"job {number}")
        return path.name

    with Workshop() as workshop:
        assert list(answers([Path("a"), Path("here")], pausing, workshop, 1)) == ["a", "here"]
    assert steps.index("job 2") < steps.index("here 19")
    assert [step for step in steps if step.startswith("job")] == ["job 0", "job 1", "job 2"]


def test_no_child_outlives_the_run() -> None:
    with Workshop() as workshop:
        told = answers([Path(name) for name in ("a", "slow", "slow", "b")], way, workshop, 2)
        next(told)
        told.close()
        pids = [child.process.pid for child in workshop._busy]
        assert pids
    for pid in pids:
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


def test_what_a_way_raises_is_not_swallowed() -> None:
    def slip(path: Path) -> Generator[Job[list[str]], list[str], list[str]]:
        yield Job(path, work, list[str])
        raise KeyError("ours")

    with Workshop() as workshop, pytest.raises(KeyError):
        list(answers([Path("a")], slip, workshop, 1))


def test_a_child_that_cannot_be_started_is_its_files_answer() -> None:
    class Full(Direct):
        def start(self, job: Job[list[str]], *, more: bool = False) -> object:
            if job.path == Path("b"):
                raise BlockingIOError("no more processes")
            return super().start(job, more=more)

    def patient(path: Path) -> Way[list[str], list[str]]:
        try:
            return (yield Job(path, work, list[str]))
        except OSError as failure:
            return [path.name, str(failure)]

    told = list(answers([Path(name) for name in "abc"], patient, Full(), 2))
    assert [one[0] for one in told] == ["a", "b", "c"]
    assert told[1][1] == "no more processes"


def test_more_jobs_than_make_sense_are_not_started() -> None:
    assert MOST_JOBS < 63
