"""What passes and what stays: telling a full disk or a busy share from a file that cannot be checked."""

from __future__ import annotations

import shutil
import tempfile
import time
from collections.abc import Callable, Generator
from dataclasses import field
from pathlib import Path
from typing import Any

from preflight.child import ChildFailed, Job
from preflight.engine import Way
from preflight.errors import ChildDied, PreflightError
from preflight.records import dataclass

#: Seconds until the first new try, doubled with each, up to the longest.
FIRST, LONGEST = 5.0, 600.0
#: With less room than this where the children work, bytes, a file that could not be read may be a sound one.
LEAST_ROOM = 64 * 2**20
#: Failures of the program in a child that another try may not meet.
_PASSING = frozenset(
    {
        "OSError",
        "PermissionError",
        "MemoryError",
        "BlockingIOError",
        "TimeoutError",
        "ConnectionError",
        "FileNotFoundError",
    }
)


@dataclass(slots=True)
class Delay:
    """A file that is tried again later."""

    due: float
    tries: int
    why: str
    label: str  #: as people know it


@dataclass(slots=True)
class Delays:
    """Everything that is tried again later, by name; longer and longer."""

    clock: Callable[[], float] = time.monotonic
    waiting: dict[str, Delay] = field(default_factory=dict)

    def add(self, name: str, why: str, label: str) -> Delay:
        """One more fault of what people know as ``label``."""
        before = self.waiting.get(name)
        tries = 1 if before is None else before.tries + 1
        delay = Delay(self.clock() + min(LONGEST, FIRST * 2 ** min(tries - 1, 20)), tries, why, label)
        self.waiting[name] = delay
        return delay

    def due(self, name: str) -> bool:
        """Whether it may be tried now."""
        delay = self.waiting.get(name)
        return delay is None or delay.due <= self.clock()

    def tries(self, name: str) -> int:
        """How often it met a fault."""
        return self.waiting[name].tries if name in self.waiting else 0

    def over(self, name: str) -> None:
        """It went well, or is gone."""
        self.waiting.pop(name, None)


class Listener:
    """Goes a file's way and remembers what was thrown at it from a child."""

    def __init__(self) -> None:
        self.fault: str | None = None  #: the last one that may pass

    def along(self, way: Way) -> Generator[Job[Any], Any, Any]:
        """The same way."""
        step: Callable[[], Job[Any]] = way.__next__
        while True:
            try:
                job = step()
            except StopIteration as end:
                return end.value
            try:
                answer = yield job
            except Exception as failure:  # noqa: BLE001 - the way itself judges it
                self._hear(failure)
                step = _Throw(way, failure)
            else:
                step = _Send(way, answer)

    def _hear(self, failure: Exception) -> None:
        if isinstance(failure, ChildDied):
            self.fault = failure.what if failure.how == "killed" else None
        elif isinstance(failure, ChildFailed):
            self.fault = f"the work on it failed ({failure.name})" if failure.name in _PASSING else None
        elif isinstance(failure, OSError | MemoryError):
            self.fault = told(failure)


class _Throw:
    def __init__(self, way: Way, failure: Exception) -> None:
        self.way, self.failure = way, failure

    def __call__(self) -> Job[Any]:
        return self.way.throw(self.failure)


class _Send:
    def __init__(self, way: Way, answer: Any) -> None:
        self.way, self.answer = way, answer

    def __call__(self) -> Job[Any]:
        return self.way.send(self.answer)


def told(slip: BaseException) -> str:
    """A fault of the system in a clause."""
    if isinstance(slip, OSError):
        return str(slip.strerror or (slip.args[0] if slip.args else type(slip).__name__))
    if isinstance(slip, PreflightError):
        return slip.what
    return "the memory of this machine ran out" if isinstance(slip, MemoryError) else type(slip).__name__


def crowded() -> str | None:
    """Why what the children say of a file cannot be believed now: no room to work in."""
    folder = Path(tempfile.gettempdir())
    try:
        free = shutil.disk_usage(folder).free
    except OSError as slip:
        return f"{folder} cannot be reached ({told(slip)})"
    return f"there is too little room left in {folder}" if free < LEAST_ROOM else None
