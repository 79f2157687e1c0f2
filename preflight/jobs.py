"""Many files, each answered, in the order in which they were named; some at the same time.

The way of a file is a generator: it asks for jobs, each of which is done in a child, and ends with the answer. What
stands between the jobs is done here, in this process.
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

#: Asks for jobs, is sent their answers or has thrown at it what they raised, and ends with the answer of its file.
Way: TypeAlias = Generator[Job[T], T, R]


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
        Children at the same time, 1 … ``MOST_JOBS``.

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


class _Run(Generic[T, R]):
    """What is to be done, what is in hand."""

    def __init__(
        self, paths: Sequence[Path], way: Callable[[Path], Way[T, R]], workshop: Workshop, at_once: int
    ) -> None:
        self.todo = deque(enumerate(paths))
        self.way, self.workshop, self.at_once = way, workshop, at_once
        self.in_hand: dict[Child[T], tuple[int, Way[T, R]]] = {}
        self.done: deque[tuple[int, R]] = deque()

    def finished(self) -> Iterator[tuple[int, R]]:
        """Number and answer of each file, in the order in which they are done."""
        while self.todo or self.in_hand:
            self._fill()
            ended = self.workshop.finished()
            came = [(child, *self.in_hand.pop(child)) for child in ended]
            self._fill()  # before anything else is done here: the children need not wait for it
            for child, number, way in came:
                self._go_on(number, way, partial(_told, way, child))
            while self.done:
                yield self.done.popleft()

    def _fill(self) -> None:
        while self.todo and len(self.in_hand) < self.at_once:
            number, path = self.todo.popleft()
            way = self.way(path)
            self._go_on(number, way, partial(next, way))

    def _go_on(self, number: int, way: Way[T, R], step: Callable[[], Job[T]]) -> None:
        """One step of a file's way: to its next job, or to its end."""
        try:
            child = self._started(way, step())
        except StopIteration as end:
            self.done.append((number, end.value))
            return
        self.in_hand[child] = number, way

    def _started(self, way: Way[T, R], job: Job[T]) -> Child[T]:
        while True:
            try:
                return self.workshop.start(job, more=bool(self.todo))
            except OSError as failure:  # no process, no memory, no disk: the file's answer, not the end of the run
                job = way.throw(failure)


def _told(way: Way[T, Any], child: Child[T]) -> Job[T]:
    try:
        answer = child.answer()
    except Exception as failure:  # noqa: BLE001 - it is the way's to judge
        return way.throw(failure)
    return way.send(answer)
