"""Children that are started, not copied: for systems without a safe copy, and for parents with threads.

"forkserver" (Linux): a server with the libraries loaded and a single thread makes the copies. "spawn": a fresh
Python for each file, with the next one started ahead while there is more to do.
"""

from __future__ import annotations

import contextlib
import os
import queue
import signal
import sys
import threading
import types
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, NoReturn

from preflight.child.fate import End
from preflight.child.job import Job, do
from preflight.child.limits import Limits
from preflight.records import dataclass

_WARM = "preflight.child.warm"
#: Longest message; nothing of ours comes near.
_MOST = 1 << 25


@dataclass(eq=False, slots=True)
class StartedProcess:
    """A child, and the pipe that takes its job to it."""

    process: BaseProcess
    link: Connection
    number: int
    programs: bool = False  #: whether it may have started another program

    @property
    def pid(self) -> int:
        """Its number."""
        return self.number

    def end(self, patience: float) -> End:
        """Wait for its end, and after ``patience`` seconds make one; afterwards nothing of it is left."""
        self.process.join(patience)
        if sys.platform != "win32" and (self.programs or self.process.is_alive()):
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self.number, signal.SIGKILL)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.link.close()
        code = self.process.exitcode
        self.process.close()
        return End(code, None)


class Starts:
    """Starts children through ``multiprocessing``.

    Parameters
    ----------
    method
        "forkserver" or "spawn".
    """

    def __init__(self, method: str) -> None:
        self._context: Any = get_context(method)
        self._ahead: list[StartedProcess] = []
        self._said: queue.SimpleQueue[tuple[StartedProcess, bytes]] = queue.SimpleQueue()
        self._spare = method == "spawn"
        if method == "forkserver":
            self._context.set_forkserver_preload([_WARM])

    def prepare(self) -> None:
        """Start a child ahead of its file, where starting one takes long."""
        if self._spare and not self._ahead:
            self._ahead.append(self._started())

    def start(self, job: Job[Any], limits: Limits, scratch: Path) -> StartedProcess:
        """Start the work on one file."""
        child = self._ahead.pop() if self._ahead else self._started()
        child.programs = job.programs
        with contextlib.suppress(OSError):  # it is dead already: its end is heard like any other
            child.link.send((job, limits, scratch))
        return child

    def heard(self, processes: Sequence[StartedProcess], timeout: float) -> list[tuple[StartedProcess, bytes]]:
        """Who says something within ``timeout`` seconds, and what; no bytes: it will say no more."""
        said: list[tuple[StartedProcess, bytes]] = []
        try:
            said.append(self._said.get(timeout=timeout))
            while True:
                said.append(self._said.get_nowait())
        except queue.Empty:
            return [(process, data) for process, data in said if process in processes]

    def close(self) -> None:
        """End what was started ahead."""
        for child in self._ahead:
            child.end(0.0)
        self._ahead.clear()

    def _started(self) -> StartedProcess:
        theirs, ours = self._context.Pipe(duplex=False)
        inbox, outbox = self._context.Pipe(duplex=False)
        process = self._context.Process(target=_serve, args=(theirs, outbox), daemon=True)
        with _interrupts_ignored(), _main_hidden():
            process.start()
        theirs.close()
        outbox.close()  # or the end of the child would never be heard
        child = StartedProcess(process, ours, process.pid or 0)
        threading.Thread(target=self._listen, args=(child, inbox), daemon=True).start()
        return child

    def _listen(self, child: StartedProcess, inbox: Connection) -> None:
        """Hand on what a child says. A thread, since a pipe of Windows cannot be read without waiting."""
        with contextlib.suppress(EOFError, OSError), inbox:
            while True:
                self._said.put((child, inbox.recv_bytes(_MOST)))
        self._said.put((child, b""))


def _serve(inbox: Connection, outbox: Connection) -> NoReturn:
    """The child: load the libraries, wait for a job, do it, end."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        if sys.platform != "win32":
            os.setsid()
        import preflight.child.warm  # noqa: F401

        job, limits, scratch = inbox.recv()
        inbox.close()
        do(job, limits, scratch, outbox.send_bytes)
    except (EOFError, OSError):  # no job comes any more
        pass
    finally:
        os._exit(0)


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


@contextmanager
def _main_hidden() -> Iterator[None]:
    """Let a process that starts meanwhile not run the main script of this one: it may not be written for that."""
    main = sys.modules["__main__"]
    sys.modules["__main__"] = types.ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = main
