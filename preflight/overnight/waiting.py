"""Waiting for the next look. What the system tells of changes only shortens it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Generator
from pathlib import Path

#: Seconds between two looks at whether to end.
_SLICE = 0.2
#: Seconds in which a thread that was told to end has ended, on a busy machine too. While there is one, children are not
#: copied, and the other ways to start them have threads of their own: it would slow the whole night.
_ENDING = 3.0
#: However much changes, the folder is not looked at again before so many seconds are over.
SOONEST = 0.5


def wait(folder: Path, until: float, over: Callable[[], bool], pulse: Callable[[], None]) -> None:
    """Wait until that time, until something changes in the folder or until it is over.

    Parameters
    ----------
    until
        By ``time.monotonic``: a clock that is set meanwhile does no harm.
    over, pulse
        Asked, and called, several times a second.
    """
    soonest, threads = time.monotonic() + SOONEST, _threads()
    changes = _changes(folder)
    try:
        while not over() and (left := until - time.monotonic()) > 0:
            pulse()
            if changes is None:
                time.sleep(min(_SLICE, left))
            elif next(changes, None):
                time.sleep(max(0.0, soonest - time.monotonic()))
                return
    finally:
        if changes is not None:
            changes.close()
            _until_gone(threads)


def _threads() -> int:
    """How many this process has; 0 where nobody can tell."""
    try:
        return len(os.listdir("/proc/self/task"))  # noqa: PTH208
    except OSError:
        return 0


def _until_gone(before: int) -> None:
    """Wait for the end of the library's thread: only from a process with one thread are children copied quickly."""
    until = time.monotonic() + _ENDING
    while _threads() > before and time.monotonic() < until:
        time.sleep(0.005)


def _changes(folder: Path) -> Generator[object, None, None] | None:
    """What changes, and nothing after each slice of time; None without the library for it, or where it cannot watch."""
    try:
        from watchfiles import watch
    except ImportError:
        return None
    found = watch(
        folder,
        debounce=50,
        step=20,
        rust_timeout=int(_SLICE * 1000),
        yield_on_timeout=True,
        raise_interrupt=False,
        ignore_permission_denied=True,
    )
    return _contained(found)


def _contained(found: Generator[object, None, None]) -> Generator[object, None, None]:
    """The same; where it fails, time goes by without news."""
    try:
        yield from found
    except (OSError, RuntimeError, ValueError):
        while True:
            time.sleep(_SLICE)
            yield None
