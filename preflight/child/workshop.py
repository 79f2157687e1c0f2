"""Where customers' files are opened: each in a child process of its own, under limits, several at once if wanted.

The parent decodes nothing. It keeps the time, ends what does not end, believes nothing that does not fit the model,
and turns a death into a reason that people understand.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Generator, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from preflight.child import fate, forked
from preflight.child.job import Job, Room
from preflight.child.limits import Limits
from preflight.child.underway import Child
from preflight.errors import PreflightError
from preflight.model import Examination, Separation, Ticket
from preflight.shop import Shop

if TYPE_CHECKING:
    from preflight.child.examining import Examined
    from preflight.child.process import Starter

T = TypeVar("T")
#: Seconds that a child which has closed its pipe may take to end.
_PATIENCE = 5.0
#: Seconds between two looks at the clock while somebody wants to show progress, or children of two kinds are at work.
_IDLE, _BRIEF = 0.1, 0.02
_WAYS = {
    "fork": "each file is opened in a child process of its own, copied from this one",
    "forkserver": "each file is opened in a child process of its own, copied from a server without threads",
    "spawn": "each file is opened in a child process of its own, started afresh",
}


class Workshop:
    """A context in which files are worked on in children. For one thread.

    Parameters
    ----------
    limits
        For each child.
    method
        How children come into being: "fork", "forkserver" or "spawn". Without one the quickest safe way.
    idle
        Called about ten times a second while waiting.

    Raises
    ------
    PreflightError
        On entering, when no scratch folder can be made.
    """

    def __init__(
        self, limits: Limits | None = None, *, method: str | None = None, idle: Callable[[], None] | None = None
    ) -> None:
        self.limits = limits or Limits()
        self._method, self._idle = method, idle
        self._starters: dict[str, Starter[Any]] = {}
        self._busy: list[Child[Any]] = []
        self._folder: Path | None = None
        self._count = 0

    def __enter__(self) -> Workshop:
        try:
            self._folder = Path(tempfile.mkdtemp(prefix="preflight-"))
        except OSError as slip:
            what = f"no scratch folder can be made ({slip.strerror or slip})"
            raise PreflightError(what, "Make room on the disk, or let TMPDIR name a folder to write in.") from None
        return self

    def __exit__(self, *_: object) -> None:
        for child in self._busy:
            child.process.end(0.0)
        self._busy.clear()
        for starter in self._starters.values():
            starter.close()
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None

    def warm_up(self, separation: Separation, paths: Iterable[Path] = ()) -> None:
        """Do once what the child of each file would do again: worth it for more than one file.

        Parameters
        ----------
        separation
            Opened here.
        paths
            The files, whose endings tell which libraries will be needed. Nothing is opened.
        """
        if (self._method or usual_method()) != "fork":
            return
        import numpy as np

        import preflight.child.warm

        preflight.child.warm.for_endings({path.suffix.lower() for path in paths})
        colour = np.zeros((1, 3), np.uint8)
        for ask in (separation.inks, separation.shift, separation.printed):
            ask(colour)

    def examine(
        self, path: Path, ticket: Ticket, shop: Shop, separation: Separation, reach: Mapping[str, float]
    ) -> Examination:
        """Measure everything of one artwork, in a child. Raises as ``Child.answer``.

        Raises
        ------
        IntakeError
            When the file cannot be read; ``ChildDied``, one of these, when the child did not live to tell.
        ChildFailed
            When the program itself failed on it.
        """
        way = measuring(path, ticket, shop, separation, reach)
        job = next(way)
        while True:
            try:
                job = way.send(self.run(job))
            except StopIteration as end:
                measured: tuple[Examination, bool] = end.value
                return measured[0]

    def run(self, job: Job[T]) -> T:
        """Do one job and wait for its answer. Raises as ``examine``."""
        child = self.start(job)
        while child in self._busy:
            self._look()
        return child.answer()

    def start(self, job: Job[T], *, more: bool = False) -> Child[T]:
        """Start a job in a child.

        Parameters
        ----------
        more
            Whether another job will follow: it is then prepared for where that helps.
        """
        if self._folder is None:
            raise RuntimeError("a workshop is entered before anything is started in it")
        self._count += 1
        scratch = self._folder / str(self._count)
        scratch.mkdir(mode=0o700)
        starter = self._starter()
        process = starter.start(job, self.limits, scratch)
        child = Child(job, self.limits, process, starter, scratch, time.monotonic())
        self._busy.append(child)
        if more:
            starter.prepare()
        return child

    def finished(self, *, wait: bool = True) -> list[Child[Any]]:
        """Wait until at least one child is done; those that are. Empty when none is at work.

        Parameters
        ----------
        wait
            False: only what has been said by now is heard, and there may be none that is done.
        """
        before = list(self._busy)
        while self._busy and len(self._busy) == len(before):
            if not self._look(wait=wait) and not wait:
                break
        return [child for child in before if child not in self._busy]

    def _starter(self) -> Starter[Any]:
        method = self._method or usual_method()
        if method not in self._starters:
            if method == "fork":
                self._starters[method] = forked.Forks()
            else:
                from preflight.child.started import Starts

                self._starters[method] = Starts(method)
        return self._starters[method]

    def _look(self, *, wait: bool = True) -> bool:
        """Hear what the children say for a moment, and end those whose time is over; whether any said something."""
        if self._idle is not None:
            self._idle()
        heard = False
        starters = {id(child.starter): child.starter for child in self._busy}
        for starter in starters.values():
            at_work = {child.process: child for child in self._busy if child.starter is starter}
            for process, data in starter.heard(list(at_work), self._timeout(len(starters)) if wait else 0.0):
                heard = True
                child = at_work[process]
                if child not in self._busy:
                    continue
                if not data:
                    self._finish(child, None, _PATIENCE)
                elif (outcome := child.hear(data)) is not None:
                    self._finish(child, outcome, 0.0)
        now = time.monotonic()
        for child in [child for child in self._busy if child.deadline <= now]:
            self._finish(child, fate.out_of_time(self.limits.cpu(child.megapixels)), 0.0)
        return heard

    def _timeout(self, kinds: int) -> float:
        """Seconds to wait at most before the clock is looked at again."""
        left = min((child.deadline for child in self._busy), default=0.0) - time.monotonic()
        most = _BRIEF if kinds > 1 else left if self._idle is None else _IDLE
        return max(0.0, min(left, most))

    def _finish(self, child: Child[Any], outcome: object, patience: float) -> None:
        child.close(outcome, patience)
        self._busy.remove(child)
        shutil.rmtree(child.scratch, ignore_errors=True)


def usual_method() -> str:
    """The quickest way to start a child that is safe here and now."""
    if forked.possible():
        return "fork"
    return "forkserver" if sys.platform == "linux" and Path("/proc/self/task").exists() else "spawn"


def examination(
    path: Path,
    ticket: Ticket,
    shop: Shop,
    separation: Separation,
    reach: Mapping[str, float],
    *,
    page: int = 1,
    programs: bool = False,
) -> Job[Examined]:
    """The job of measuring one page of a file; see ``Examine``."""
    from preflight.child.examining import Examine, Examined

    return Job(path, Examine(ticket, shop, separation, reach, page), Examined, programs=programs)


def measuring(
    path: Path, ticket: Ticket, shop: Shop, separation: Separation, reach: Mapping[str, float], *, page: int = 1
) -> Generator[Job[Examined], Examined, tuple[Examination, bool]]:
    """The jobs of measuring one page, without Ghostscript if that will do; what they gave, and whether it took that."""
    for programs in (False, True):
        examined = yield examination(path, ticket, shop, separation, reach, page=page, programs=programs)
        if examined.examination is not None:
            return examined.examination, programs
    raise RuntimeError("a page was not measured though another program was allowed")


def protections(limits: Limits | None = None, *, method: str | None = None) -> list[str]:
    """What is in force on this system while a customer's file is open, a clause each: asked of a real child."""
    with Workshop(limits, method=method) as workshop:
        active = workshop.run(Job(None, _protections, list[str]))
    return [_WAYS[method or usual_method()], *active]


def _protections(_path: Path, room: Room) -> list[str]:
    return list(room.protections)
