"""One file's work and the room in which the child does it."""

from __future__ import annotations

import contextlib
import faulthandler
import gc
import json
import os
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any, Generic, TypeAlias, TypeVar

from preflight.child import hardening
from preflight.child.limits import Limits
from preflight.child.plain import to_plain
from preflight.errors import IntakeError

T = TypeVar("T")
#: Sends bytes to the parent.
Send: TypeAlias = Callable[[bytes], None]

#: The file in the scratch folder that what libraries print goes to.
SAID = "said"
#: What libraries say when memory is short and they raise no MemoryError.
MEMORY_SIGNS = (
    "out of memory", "failed to allocate", "cannot allocate", "bad_alloc", "insufficient memory", "unable to allocate",
)  # fmt: skip


class Room:
    """What the work in a child may ask of the child.

    Attributes
    ----------
    scratch
        The one folder that may be written to.
    protections
        A clause for each one in force.
    programs
        Whether the work may start another program.
    """

    def __init__(
        self, limits: Limits, scratch: Path, protections: tuple[str, ...], send: Send, *, programs: bool = False
    ) -> None:
        self.scratch, self.protections, self.programs = scratch, protections, programs
        self._limits, self._send = limits, send

    def opened(self, megapixels: float) -> None:
        """Tell how large the artwork is: a large one may take longer."""
        hardening.let_run(self._limits, megapixels)
        _tell(self._send, {"opened": float(megapixels)})

    def counted(self, pages: int) -> None:
        """Tell how many pages the file has: when the work on one fails, there are the others."""
        _tell(self._send, {"pages": pages})


class Job(Generic[T]):
    """What is to be done with one file.

    Parameters
    ----------
    path
        The customer's file, the only one that the work may read; None when it needs none.
    work
        Called in the child with the path, made absolute, and the room. Where there is no fork it goes there by pickle.
    answer
        The type of what the work returns: a dataclass of the model, or anything ``plain`` knows.
    programs
        Whether the work starts another program (Ghostscript).
    """

    __slots__ = ("answer", "path", "programs", "work")

    def __init__(
        self, path: Path | None, work: Callable[[Path, Room], T], answer: type[T], *, programs: bool = False
    ) -> None:
        self.path, self.work, self.answer, self.programs = path, work, answer, programs


def do(job: Job[Any], limits: Limits, scratch: Path, send: Send) -> None:
    """The life of a child from its first step on; never raises. The caller ends the process."""
    try:
        path = _settle(job.path, scratch)
        active = hardening.harden(limits, job.path and path, scratch, programs=job.programs)
        answer = _answer(job, path, Room(limits, scratch, tuple(active), send, programs=job.programs))
    except BaseException as failure:  # noqa: BLE001 - the parent has to hear of everything
        answer = _failure(failure)
    _tell(send, answer)


def _settle(artwork: Path | None, scratch: Path) -> Path:
    """Leave the parent's surroundings: its folder, its streams, its handlers. Gives the artwork's absolute path."""
    path = Path(os.path.abspath(artwork or os.devnull))  # noqa: PTH100 - a link stays the link that was named
    faulthandler.disable()  # its stream may be closed
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    sys.path[:] = [os.path.abspath(place) for place in sys.path]  # noqa: PTH100
    nothing = os.open(os.devnull, os.O_RDWR)
    while nothing <= 2:  # the parent was started without standard streams
        nothing = os.open(os.devnull, os.O_RDWR)
    said = os.open(scratch / SAID, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    for stream, number in ((nothing, 0), (nothing, 1), (said, 2)):
        os.dup2(stream, number)
    os.close(nothing)
    os.close(said)
    # The old ones may be locked by a thread that was not copied, and hold what the parent has yet to write.
    sys.stdin, sys.stdout = open(0, closefd=False), open(1, "w", closefd=False)  # noqa: SIM115
    sys.stderr = open(2, "w", closefd=False, buffering=1, encoding="utf-8", errors="backslashreplace")  # noqa: SIM115
    os.chdir(scratch)
    os.environ.update(dict.fromkeys(("TMPDIR", "TEMP", "TMP"), str(scratch)))
    tempfile.tempdir = str(scratch)
    return path


def _answer(job: Job[Any], path: Path, room: Room) -> dict[str, Any]:
    answer = job.work(path, room)
    gc.disable()  # the process ends soon
    return {"answer": to_plain(answer), "peak": hardening.memory_peak()}


def _failure(failure: BaseException) -> dict[str, Any]:
    """What a failure of the work is to the parent."""
    if _for_want_of_memory(failure):
        return {"memory": True}
    if isinstance(failure, IntakeError):
        return {"refused": {"what": failure.what, "next_step": failure.next_step, "rule": failure.rule}}
    with contextlib.suppress(Exception):
        return {"failed": {"name": type(failure).__name__, "trace": "".join(traceback.format_exception(failure))}}
    return {"failed": {"name": type(failure).__name__, "trace": ""}}


def _for_want_of_memory(failure: BaseException | None) -> bool:
    """Whether memory was short, somewhere behind an error that tells of something else."""
    for _ in range(20):
        if failure is None:
            return False
        if isinstance(failure, MemoryError) or any(sign in str(failure).lower() for sign in MEMORY_SIGNS):
            return True
        failure = failure.__cause__ or failure.__context__
    return False


def _tell(send: Send, message: dict[str, Any]) -> None:
    with contextlib.suppress(OSError):  # nobody listens any more
        send(json.dumps(message).encode("ascii") + b"\n")
