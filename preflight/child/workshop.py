"""Where customers' files are opened: each in a child process of its own, under limits, several at once if wanted.

The parent decodes nothing. It keeps the time, ends what does not end, believes nothing that does not fit the model,
and turns a death into a reason that people understand.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from preflight.child import fate, forked
from preflight.child.fate import ChildFailed
from preflight.child.job import SAID, Job, Room
from preflight.child.limits import Limits
from preflight.child.plain import MisfitError, from_plain
from preflight.child.process import Process, Starter
from preflight.errors import IntakeError, PreflightError
from preflight.model import Examination, Separation, Ticket
from preflight.shop import Shop

T = TypeVar("T")
#: Bytes that an answer may have; the largest are some hundred thousand.
_MOST_BYTES = 1 << 24
_MOST_SAID = 1 << 16
_MOST_WORDS = 2000
#: Seconds that a child which has closed its pipe may take to end.
_PATIENCE = 5.0
#: Seconds between two looks at the clock while somebody wants to show progress.
_IDLE = 0.1
_RULES = ("unreadable-file", "cut-short")


@dataclass(eq=False, slots=True)
class Child(Generic[T]):
    """One file's work under way, and what became of it."""

    job: Job[T]
    process: Process
    starter: Starter[Any]
    scratch: Path
    started: float  #: ``time.monotonic``
    deadline: float
    megapixels: float = 0.0
    peak: int = 0  #: most memory it had at one time, bytes; 0 = not known
    cpu_seconds: float | None = None
    said: str = ""  #: what its libraries printed
    _heard: bytearray = field(default_factory=bytearray)
    _last: dict[str, Any] | None = None
    _outcome: T | Exception | None = None

    def answer(self) -> T:
        """What its work returned.

        Raises
        ------
        IntakeError
            When the file cannot be read; ``ChildDied``, one of these, when the child did not live to tell.
        ChildFailed
            When the program itself failed on it.
        """
        if isinstance(self._outcome, Exception):
            raise self._outcome
        return self._outcome  # type: ignore[return-value]  # only read once it is there


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

    def examine(
        self, path: Path, ticket: Ticket, shop: Shop, separation: Separation, reach: Mapping[str, float]
    ) -> Examination:
        """Measure everything of one artwork, in a child.

        Raises
        ------
        IntakeError
            When the file cannot be read; ``ChildDied``, one of these, when the child did not live to tell.
        ChildFailed
            When the program itself failed on it.
        """
        return self.run(examination(path, ticket, shop, separation, reach))

    def run(self, job: Job[T]) -> T:
        """Do one job and wait for its answer. Raises as ``Child.answer``."""
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
        now = time.monotonic()
        process = starter.start(job, self.limits, scratch)
        child = Child(job, process, starter, scratch, now, now + self.limits.wall())
        self._busy.append(child)
        if more:
            starter.prepare()
        return child

    def finished(self) -> list[Child[Any]]:
        """Wait until at least one child is done; those that are. Empty when none is at work."""
        before = list(self._busy)
        while self._busy and len(self._busy) == len(before):
            self._look()
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

    def _look(self) -> None:
        """Hear what the children say for a moment, and end those whose time is over."""
        now = time.monotonic()
        timeout = max(0.0, min(child.deadline for child in self._busy) - now)
        if self._idle is not None:
            self._idle()
            timeout = min(timeout, _IDLE)
        by_process = {child.process: child for child in self._busy}
        starters = {id(child.starter): child.starter for child in self._busy}
        timeout = timeout if len(starters) == 1 else min(timeout, _IDLE / 5)
        for starter in starters.values():
            theirs = [child.process for child in self._busy if child.starter is starter]
            for process, data in starter.heard(theirs, timeout):
                if by_process[process] in self._busy:
                    self._hear(by_process[process], data)
        now = time.monotonic()
        for child in [child for child in self._busy if child.deadline <= now]:
            self._finish(child, 0.0, fate.out_of_time(self.limits.cpu(child.megapixels)))

    def _hear(self, child: Child[Any], data: bytes) -> None:
        if not data:
            self._finish(child, _PATIENCE)
            return
        child._heard += data
        if len(child._heard) > _MOST_BYTES:
            self._finish(child, 0.0, fate.nonsense())
            return
        while child in self._busy and b"\n" in data:
            line, _, data = bytes(child._heard).partition(b"\n")
            child._heard[:] = data
            self._take(child, line)

    def _take(self, child: Child[Any], line: bytes) -> None:
        """One message of a child: how large the artwork is, or its answer."""
        try:
            message = json.loads(line)
            opened = isinstance(message, dict) and message.get("opened")
            if type(opened) is float:
                child.megapixels = max(child.megapixels, opened)
                child.deadline = child.started + self.limits.wall(child.megapixels)
                return
            outcome = _outcome(child.job, message, self.limits)
            child.peak = message["peak"] if type(message.get("peak")) is int else 0
        except (ValueError, RecursionError, KeyError, TypeError, AttributeError):
            outcome = fate.nonsense()
        self._finish(child, 0.0, outcome)

    def _finish(self, child: Child[Any], patience: float, outcome: object = None) -> None:
        """End a child; without an outcome, find out how it died."""
        end = child.process.end(patience)
        self._busy.remove(child)
        child.cpu_seconds = end.cpu_seconds
        child.said = _said(child.scratch)
        if outcome is None:
            outcome = fate.died(end, child.said, self.limits, child.megapixels)
        if isinstance(outcome, IntakeError):
            outcome.file = str(child.job.path)
        child._outcome = outcome
        shutil.rmtree(child.scratch, ignore_errors=True)


def usual_method() -> str:
    """The quickest way to start a child that is safe here and now."""
    if forked.possible():
        return "fork"
    return "forkserver" if os.name == "posix" and Path("/proc/self/task").exists() else "spawn"


def examination(
    path: Path, ticket: Ticket, shop: Shop, separation: Separation, reach: Mapping[str, float]
) -> Job[Examination]:
    """The job of measuring one artwork."""
    from preflight.child.examining import Examine

    return Job(path, Examine(ticket, shop, separation, reach), Examination)


def protections(limits: Limits | None = None, *, method: str | None = None) -> list[str]:
    """What is in force on this system while a customer's file is open, a clause each: asked of a real child."""
    words = {
        "fork": "each file is opened in a child process of its own, copied from this one",
        "forkserver": "each file is opened in a child process of its own, copied from a server without threads",
        "spawn": "each file is opened in a child process of its own, started afresh",
    }
    with Workshop(limits, method=method) as workshop:
        active = workshop.run(Job(None, _protections, list[str]))
    return [words[method or usual_method()], *active]


def _protections(_path: Path, room: Room) -> list[str]:
    return list(room.protections)


def _outcome(job: Job[T], message: dict[str, Any], limits: Limits) -> T | Exception:
    """What a child's last message means. Raises ValueError and its kind for one that makes no sense."""
    if "answer" in message:
        return from_plain(job.answer, message["answer"])
    if "refused" in message:
        refused = {name: _words(message["refused"][name]) for name in ("what", "next_step", "rule")}
        if refused["rule"] not in _RULES:
            raise MisfitError("no such rule")
        return IntakeError(refused["what"], refused["next_step"], rule=refused["rule"])
    if "failed" in message:
        failed = message["failed"]
        return ChildFailed(_words(failed["name"]), _words(failed["trace"], _MOST_SAID))
    if message.get("memory") is True:
        return fate.out_of_memory(limits)
    raise MisfitError("no such message")


def _words(value: object, most: int = _MOST_WORDS) -> str:
    if not isinstance(value, str):
        raise MisfitError("words were expected")
    return value[:most]


def _said(scratch: Path) -> str:
    """What the child's libraries printed; the child may have put anything under that name."""
    with contextlib.suppress(OSError):
        flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
        number = os.open(scratch / SAID, flags)
        with open(number, "rb") as stream:  # noqa: PTH123
            if stat.S_ISREG(os.fstat(number).st_mode):
                return stream.read(_MOST_SAID).decode("utf-8", "replace")
    return ""
