"""Many files at once, each answered, in the order in which they were named.

Worker processes are started afresh ("spawn"), the one way that works alike on every system and never copies threads
of an imaging library. The pool of the standard library gives up all its work when one worker dies; this one answers
for the file that killed it and goes on.
"""

from __future__ import annotations

import signal
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from preflight.model import Report

if TYPE_CHECKING:  # at run time only when there is more than one job: the import costs 10 ms
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

#: Windows waits on 63 things at once and no more.
MOST_JOBS = 60

#: Answers one file and never raises.
Work: TypeAlias = Callable[[Path], Report]
#: Makes the report of a file whose worker died, from the path and a clause about how.
Lost: TypeAlias = Callable[[Path, str], Report]


def answers(paths: Sequence[Path], work: Work, lost: Lost, jobs: int) -> Generator[Report, None, None]:
    """Do ``work`` on every path and give the reports in the order of ``paths``, each as soon as it can be given.

    Parameters
    ----------
    paths
        The files.
    work
        Goes to the workers by pickle when there are several.
    lost
        Called here, never in a worker.
    jobs
        Files at the same time, 1 … ``MOST_JOBS``. With 1 everything stays in this process.

    Yields
    ------
    Report
        As many as there are paths.
    """
    crew = min(jobs, len(paths), MOST_JOBS)
    if crew <= 1:
        yield from map(work, paths)
        return
    waiting: dict[int, Report] = {}
    due = 0
    for number, report in _finished(paths, work, lost, crew):
        waiting[number] = report
        while due in waiting:
            yield waiting.pop(due)
            due += 1


def _finished(paths: Sequence[Path], work: Work, lost: Lost, crew: int) -> Iterator[tuple[int, Report]]:
    """Number and report of each file, in the order in which they are done."""
    todo = deque(enumerate(paths))
    workers = [_Worker.hired(work) for _ in range(crew)]
    try:
        while todo or any(worker.task for worker in workers):
            _hand_out(todo, workers, work)
            for place, worker in _heard(workers):
                number, path = worker.done()
                report = worker.report()
                if report is None:
                    report = lost(path, worker.end())
                    workers[place] = _Worker.hired(work)
                yield number, report
    finally:
        for worker in workers:
            worker.dismiss()


def _hand_out(todo: deque[tuple[int, Path]], workers: list[_Worker], work: Work) -> None:
    """Give every idle worker a file while there are files; one that died while idle is replaced first."""
    for place, worker in enumerate(workers):
        if not todo or worker.task is not None:
            continue
        if not worker.give(todo[0]):
            worker.dismiss()
            workers[place] = _Worker.hired(work)
            workers[place].give(todo[0])
        todo.popleft()


def _heard(workers: list[_Worker]) -> list[tuple[int, _Worker]]:
    """The busy workers that have something to say, which may be that they are dead, and their places."""
    from multiprocessing.connection import wait

    busy = [(place, worker) for place, worker in enumerate(workers) if worker.task]
    ready = wait([worker.link for _, worker in busy])
    return [(place, worker) for place, worker in busy if worker.link in ready]


@dataclass(eq=False, slots=True)
class _Worker:
    process: SpawnProcess
    link: Connection
    task: tuple[int, Path] | None = None

    @classmethod
    def hired(cls, work: Work) -> _Worker:
        from multiprocessing import get_context

        context = get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, work), daemon=False)
        with _interrupts_ignored():
            process.start()
        theirs.close()  # or the end of the worker would never be heard
        return cls(process, ours)

    def give(self, task: tuple[int, Path]) -> bool:
        """Send a task; False when nobody is there to take it."""
        self.task = task
        try:
            self.link.send(task[1])
        except OSError:
            return False
        return True

    def done(self) -> tuple[int, Path]:
        """The task in hand, which is then over."""
        if self.task is None:
            raise RuntimeError("a worker without a task has nothing to tell")
        task, self.task = self.task, None
        return task

    def report(self) -> Report | None:
        """What the worker sends, or None when it is dead."""
        try:
            report = self.link.recv()
        except (EOFError, OSError):
            return None
        return report if isinstance(report, Report) else None

    def end(self) -> str:
        """How the worker died."""
        self.process.join(5)
        code = self.process.exitcode
        self.dismiss()
        if code is not None and code < 0:
            return f"the process that read it was ended by signal {-code}, often because memory ran out"
        return f"the process that read it ended by itself (code {code})"

    def dismiss(self) -> None:
        self.link.close()
        if self.process.is_alive():
            self.process.terminate()
        self.process.join()


@contextmanager
def _interrupts_ignored() -> Iterator[None]:
    """Let a process that starts meanwhile take no notice of Ctrl-C: its parent hears it and ends it."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _serve(link: Connection, work: Work) -> None:
    """The life of a worker: answer what comes until the other end closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Windows hands no such setting down to a new process
    while True:
        try:
            path = link.recv()
        except (EOFError, OSError):
            return
        link.send(work(path))
