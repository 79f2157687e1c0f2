"""Children copied from this process (Linux): its libraries are loaded already, so one is there in a few milliseconds.

Only from a process with a single thread: a copy has no other, and what another held at that moment stays locked.
"""

from __future__ import annotations

import contextlib
import gc
import os
import select
import signal
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

# What a child uses is imported here: otherwise each one would load it anew.
from preflight.child import landlock, syscalls  # noqa: F401
from preflight.child.clibrary import c_library, prctl
from preflight.child.fate import End
from preflight.child.job import Job, do
from preflight.child.limits import Limits

_DIE_WITH_PARENT = 1
_PIECE = 1 << 16


def possible() -> bool:
    """Whether this process can be copied safely now."""
    try:
        return sys.platform == "linux" and len(os.listdir("/proc/self/task")) == 1  # noqa: PTH208
    except OSError:  # a container without /proc
        return False


class ForkedProcess:
    """A child: its number, the pipe from it, the memory that it was copied with, and if it may start programs."""

    __slots__ = ("copied", "link", "pid", "programs")

    def __init__(self, pid: int, link: int, copied: int, *, programs: bool = False) -> None:
        self.pid, self.link, self.copied, self.programs = pid, link, copied, programs

    def end(self, patience: float) -> End:
        """Wait for its end, and after ``patience`` seconds make one; afterwards nothing of it is left."""
        until = time.monotonic() + patience
        try:
            while time.monotonic() < until and not self._ended():
                time.sleep(0.0005)
            others = _taken_by_others(self.pid) if self.programs else 0.0
            # Not yet waited for, its number belongs to nobody else, nor does that of its group.
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self.pid, signal.SIGKILL)  # with what it has started
            os.kill(self.pid, signal.SIGKILL)
            _, status, usage = os.wait4(self.pid, 0)
        except (ChildProcessError, ProcessLookupError):  # somebody else waited for all children of this process
            return End(None, None)
        finally:
            if self.link >= 0:
                os.close(self.link)
            self.link = -1
        # What it was copied from counts as its own.
        grown = max(0, usage.ru_maxrss * 1024 - self.copied)
        return End(os.waitstatus_to_exitcode(status), usage.ru_utime + usage.ru_stime + others, grown)

    def _ended(self) -> bool:
        return os.waitid(os.P_PID, self.pid, os.WEXITED | os.WNOWAIT | os.WNOHANG) is not None


def _taken_by_others(group: int) -> float:
    """Seconds of the processor that programs of a child have taken which it has not waited for.

    Killed along with it, they are nobody's: the system would not tell afterwards.
    """
    ticks = 0
    for name in os.listdir("/proc"):  # noqa: PTH208
        if name.isdecimal() and int(name) != group:
            with contextlib.suppress(OSError, ValueError, IndexError):
                with open(f"/proc/{name}/stat", encoding="ascii", errors="replace") as line:  # noqa: PTH123
                    figures = line.read().rpartition(")")[2].split()  # proc(5): state, parent, group, …
                if int(figures[2]) == group:
                    ticks += sum(int(figure) for figure in figures[11:15])
    return ticks / os.sysconf("SC_CLK_TCK")


def _resident() -> int:
    """Bytes of memory that a copy of this process begins with; 0 where the system does not tell.

    Pages that stand for files, the second figure, are not copied: each process has them anew when it touches them.
    """
    try:
        with open("/proc/self/statm", encoding="ascii") as figures:  # noqa: PTH123
            resident, of_files = (int(figure) for figure in figures.read().split()[1:3])
        return (resident - of_files) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError):
        return 0


class Forks:
    """Starts children by copying this process."""

    def start(self, job: Job[Any], limits: Limits, scratch: Path) -> ForkedProcess:
        """Start the work on one file."""
        c_library()
        gc.freeze()  # a collection in the child would touch, and so copy, all memory
        copied, parent, (theirs, ours) = _resident(), os.getpid(), os.pipe()
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            pid = os.fork()
            if pid == 0:
                _live(job, limits, scratch, ours, parent)
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
            gc.unfreeze()
        os.close(ours)
        return ForkedProcess(pid, theirs, copied, programs=job.programs)

    def heard(self, processes: Sequence[ForkedProcess], timeout: float) -> list[tuple[ForkedProcess, bytes]]:
        """Who says something within ``timeout`` seconds, and what; no bytes: its end of the pipe is closed."""
        poll = select.poll()
        for process in processes:
            poll.register(process.link, select.POLLIN)
        ready = {link for link, _ in poll.poll(timeout * 1000)}
        return [(process, os.read(process.link, _PIECE)) for process in processes if process.link in ready]

    def prepare(self) -> None:
        """Nothing: whatever this process has loaded, its children have."""

    def close(self) -> None:
        """Nothing either."""


def _live(job: Job[Any], limits: Limits, scratch: Path, link: int, parent: int) -> NoReturn:
    """The child. Whatever happens, it never returns into the code it was copied from."""
    try:
        import fcntl

        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent hears it and ends this process
        os.setsid()
        _die_with(parent)
        if link <= 2:  # the parent was started without standard streams, whose numbers are used next
            link = fcntl.fcntl(link, fcntl.F_DUPFD, 3)
        _close_others(link)
        do(job, limits, scratch, lambda data: _write(link, data))
    finally:
        os._exit(0)


def _die_with(parent: int) -> None:
    with contextlib.suppress(OSError):
        prctl(_DIE_WITH_PARENT, signal.SIGKILL)
    if os.getppid() != parent:
        os._exit(0)


def _close_others(link: int) -> None:
    """Close every file of the parent's but the standard streams, which are replaced next."""
    for name in os.listdir("/proc/self/fd"):  # noqa: PTH208
        if int(name) > 2 and int(name) != link:
            with contextlib.suppress(OSError):
                os.close(int(name))


def _write(link: int, data: bytes) -> None:
    view = memoryview(data)
    while view:
        view = view[os.write(link, view) :]
