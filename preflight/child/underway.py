"""One file's work under way, what its child says, and what became of it."""

from __future__ import annotations

import contextlib
import json
import os
import stat
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from preflight.child import fate
from preflight.child.fate import ChildFailed
from preflight.child.job import SAID, Job
from preflight.child.limits import Limits
from preflight.child.plain import MisfitError, from_plain
from preflight.errors import ChildDied, IntakeError

if TYPE_CHECKING:
    from preflight.child.process import Process, Starter

T = TypeVar("T")
#: Bytes that an answer may have; the largest are some hundred thousand.
_MOST_BYTES = 1 << 24
_MOST_SAID = 1 << 16
_MOST_WORDS = 2000
_RULES = ("unreadable-file", "cut-short", "locked-file")
#: More pages than any file that is opened has.
_MOST_PAGES = 100_000


class Child(Generic[T]):
    """A child at work. The attributes in the second list are known once it is done.

    Attributes
    ----------
    job, limits, scratch
        What it works on, under what, and where it may write.
    process, starter
        Its process, and who started that.
    started, deadline
        On the clock of ``time.monotonic``.
    megapixels
        Size of the artwork, 0 until it has been opened.
    pages
        How many the file has, 1 until they have been counted.

    peak
        Most memory it had at one time, bytes; 0 = not known.
    cpu_seconds
        Time of the processor that it took; None = not known.
    said
        What its libraries printed.
    """

    def __init__(
        self, job: Job[T], limits: Limits, process: Process, starter: Starter[Any], scratch: Path, started: float
    ) -> None:
        self.job, self.limits, self.process, self.starter, self.scratch = job, limits, process, starter, scratch
        self.started, self.deadline = started, started + limits.wall()
        self.megapixels = 0.0
        self.pages = 1
        self.peak = 0
        self.cpu_seconds: float | None = None
        self.said = ""
        self._heard = bytearray()
        self._outcome: T | Exception | None = None

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
        if self._outcome is None:
            raise RuntimeError("a child is asked for its answer once it is done")
        return self._outcome

    def hear(self, data: bytes) -> T | Exception | None:
        """Take what it sends; what becomes of it, once that is known."""
        self._heard += data
        if len(self._heard) > _MOST_BYTES:
            return fate.nonsense()
        outcome: T | Exception | None = None
        while outcome is None and b"\n" in data:
            line, _, data = bytes(self._heard).partition(b"\n")
            self._heard[:] = data
            try:
                outcome = self._take(json.loads(line))
            except (ValueError, RecursionError, KeyError, TypeError, AttributeError):
                outcome = fate.nonsense()
        return outcome

    def close(self, outcome: T | Exception | None, patience: float) -> None:
        """End its process; without an outcome, find out how it died."""
        end = self.process.end(patience)
        self.cpu_seconds = end.cpu_seconds
        self.said = _said(self.scratch)
        if outcome is None:
            outcome = fate.died(end, self.said, self.limits, self.megapixels)
        if isinstance(outcome, ChildDied):
            outcome.said = self.said
        if isinstance(outcome, IntakeError):
            outcome.pages = self.pages
            outcome.file = None if self.job.path is None else str(self.job.path)
        self._outcome = outcome

    def _take(self, message: dict[str, Any]) -> T | Exception | None:
        """One message: how many pages there are, how large the artwork is, or the last one."""
        if "pages" in message:
            pages = message["pages"]
            if type(pages) is not int or not 1 <= pages <= _MOST_PAGES:
                raise MisfitError("no number of pages")
            self.pages = pages
            return None
        if "opened" in message:
            opened = message["opened"]
            if type(opened) is not float:
                raise MisfitError("no size")
            self.megapixels = max(self.megapixels, opened)
            self.deadline = self.started + self.limits.wall(self.megapixels)
            return None
        outcome = _outcome(self.job, message, self.limits)
        if type(message.get("peak")) is int:
            self.peak = message["peak"]
        return outcome


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
