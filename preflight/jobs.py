"""Many files, each answered, in the order in which they were named; some at the same time.

The way of a file is a generator: it asks for jobs, each of which is done in a child, and ends with the answer. What
stands between the jobs is done here, in this process, a step at a time: children that wait for nothing but a job are
given theirs first.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Generic, TypeAlias, TypeVar

from preflight.child import Child, Job, Workshop

T = TypeVar("T")
R = TypeVar("R")
#: More children at the same time than any machine of a shop can feed.
MOST_JOBS = 60

#: Asks for jobs, is sent their answers or has thrown at it what they raised, and ends with the answer of its file. None
#: is no job: what comes next takes a while, and the children are looked after before it.
Way: TypeAlias = Generator[Job[T] | None, Any, R]
#: Goes on with a way, to its next job or pause; raises StopIteration at its end.
_Step: TypeAlias = Callable[[], Job[T] | None]


def answers(
    paths: Sequence[Path], way: Callable[[Path], Way[T, R]], workshop: Workshop, at_once: int
) -> Generator[R, None, None]:
    """Go each path's way and give the answers in the order of ``paths``, each as soon as it can be given.

    Parameters
    ----------
    paths
        The files.
    way
        Makes the way of a file.
    workshop
        Where the jobs are done.
    at_once
        Children at the same time, 1 … ``MOST_JOBS``. While they work, one more file is made ready for the next of them.

    Yields
    ------
    R
        As many as there are paths.
    """
    waiting: dict[int, R] = {}
    due = 0
    for number, answer in _Run(paths, way, workshop, min(at_once, MOST_JOBS)).finished():
        waiting[number] = answer
        while due in waiting:
            yield waiting.pop(due)
            due += 1


#: Files that can go on here, by their number.
_Place: TypeAlias = dict[int, tuple[Way[T, R], _Step[T]]]


class _Run(Generic[T, R]):
    """What is to be done, and what is in hand: each file begun is in exactly one of these places."""

    def __init__(
        self, paths: Sequence[Path], way: Callable[[Path], Way[T, R]], workshop: Workshop, at_once: int
    ) -> None:
        self.todo = deque(enumerate(paths))
        self.way, self.workshop, self.at_once = way, workshop, at_once
        self.at_work: dict[Child[T], tuple[int, Way[T, R]]] = {}  #: in a child
        self.asking: dict[int, tuple[Way[T, R], Job[T]]] = {}  #: for a child
        self.told: _Place[T, R] = {}  #: here, with what a child has done: it may have the next job at once
        self.new: _Place[T, R] = {}  #: here, before its first job
        self.here: _Place[T, R] = {}  #: here, after a job
        self.done: deque[tuple[int, R]] = deque()

    def finished(self) -> Iterator[tuple[int, R]]:
        """Number and answer of each file, in the order in which they are done."""
        while self.todo or self.at_work or self.asking or self.told or self.new or self.here:
            self._fill()
            self._hear()
            self._fill()  # before anything else is done here: the children need not wait for it
            self._go_on()
            while self.done:
                yield self.done.popleft()

    def _fill(self) -> None:
        """Give jobs to children as long as there are both, those of the earliest files first."""
        while self.asking and len(self.at_work) < self.at_once:
            number = min(self.asking)
            way, job = self.asking.pop(number)
            try:
                child = self.workshop.start(job, more=bool(self.asking or self.todo))
            except OSError as failure:  # no process, no memory, no disk: the file's answer, not the end of the run
                self.told[number] = way, partial(way.throw, failure)
            else:
                self.at_work[child] = number, way

    def _hear(self) -> None:
        """Take what children have done; wait for one when there is nothing to do meanwhile."""
        if not self.at_work:
            return
        busy = bool(self.told or self.new or self.here or self._wants_another())
        for child in self.workshop.finished(wait=not busy):
            number, way = self.at_work.pop(child)
            self.told[number] = way, partial(_told, way, child)

    def _wants_another(self) -> bool:
        """Whether a file is to be made ready for the next child; not while many here are still to be ended."""
        return bool(self.todo) and not self.asking and not self.new and len(self.here) <= self.at_once

    def _go_on(self) -> None:
        """One step of one file: of one that is nearly answered, unless only a new one has work for a child."""
        if self.told:
            self._step(*self.told.popitem(), self.here)
            return
        if self._wants_another():
            number, path = self.todo.popleft()
            way = self.way(path)
            self.new[number] = way, partial(next, way)
        hungry = not self.asking and len(self.at_work) < self.at_once
        place = self.new if self.new and (hungry or not self.here) else self.here
        if place:
            number = min(place)
            self._step(number, place.pop(number), place)

    def _step(self, number: int, going: tuple[Way[T, R], _Step[T]], place: _Place[T, R]) -> None:
        way, step = going
        try:
            job = step()
        except StopIteration as end:
            self.done.append((number, end.value))
            return
        if job is None:
            place[number] = way, partial(next, way)
        else:
            self.asking[number] = way, job


def _told(way: Way[T, Any], child: Child[T]) -> Job[T] | None:
    try:
        answer = child.answer()
    except Exception as failure:  # noqa: BLE001 - it is the way's to judge
        return way.throw(failure)
    return way.send(answer)
