"""Files in parallel: the order kept, a dead worker's file answered, the others answered all the same."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from preflight.jobs import MOST_JOBS, answers
from preflight.model import Report, Ticket, Verdict

EMPTY = Report("", None, None, 1, Verdict.READY, Ticket(), None, {}, (), None, None, (), 0.0)


def work(path: Path) -> Report:
    """Do what the file's name says."""
    if path.name == "die":
        os._exit(3)
    if path.name == "killed":
        os.kill(os.getpid(), signal.SIGKILL)
    if path.name.startswith("slow"):
        time.sleep(0.6)
    return replace(EMPTY, file=path.name, assumptions=(str(os.getpid()),))


def lost(path: Path, how: str) -> Report:
    return replace(EMPTY, file=path.name, verdict=Verdict.UNCHECKED, assumptions=(how,))


def run(names: list[str], jobs: int) -> list[Report]:
    return list(answers([Path(name) for name in names], work, lost, jobs))


def test_one_job_stays_in_this_process() -> None:
    reports = run(["a", "b"], 1)
    assert [report.assumptions for report in reports] == [(str(os.getpid()),)] * 2


def test_one_file_needs_no_pool() -> None:
    assert run(["a"], 8)[0].assumptions == (str(os.getpid()),)


def test_no_file_no_answer() -> None:
    assert run([], 4) == []


def test_the_order_is_kept_and_the_work_shared() -> None:
    names = ["slow", "b", "c", "slow-too", "e", "f"]
    reports = run(names, 2)
    assert [report.file for report in reports] == names
    workers = {report.assumptions for report in reports}
    assert len(workers) == 2
    assert (str(os.getpid()),) not in workers


def test_a_dead_worker_costs_only_its_file() -> None:
    reports = run(["a", "die", "b", "die", "c", "d", "die"], 2)
    assert [report.verdict for report in reports] == [
        Verdict.READY, Verdict.UNCHECKED, Verdict.READY, Verdict.UNCHECKED, Verdict.READY, Verdict.READY,
        Verdict.UNCHECKED,
    ]  # fmt: skip
    assert reports[1].assumptions == ("the process that read it ended by itself (code 3)",)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal")
def test_a_killed_worker_is_told_as_killed() -> None:
    reports = run(["killed", "a"], 2)
    assert [report.verdict for report in reports] == [Verdict.UNCHECKED, Verdict.READY]
    assert "signal 9" in reports[0].assumptions[0]


def test_answers_come_before_the_last_file_is_done() -> None:
    start = time.monotonic()
    reports = answers([Path(name) for name in ("a", "slow", "slow", "slow", "slow")], work, lost, 2)
    first = next(reports)
    early = time.monotonic() - start
    list(reports)
    assert first.file == "a"
    assert time.monotonic() - start - early > 0.6


def test_no_worker_outlives_the_run() -> None:
    reports = answers([Path(name) for name in ("a", "slow", "slow", "b")], work, lost, 2)
    next(reports)
    reports.close()
    assert multiprocessing.active_children() == []


def test_more_jobs_than_can_be_waited_for_are_not_started() -> None:
    assert MOST_JOBS < 63
