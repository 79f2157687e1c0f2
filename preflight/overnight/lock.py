"""One watcher for one folder: a lock that ends with the process that holds it."""

from __future__ import annotations

import contextlib
import errno
import os
import socket
from pathlib import Path
from typing import BinaryIO

from preflight.errors import UsageError

NAME = "preflight.lock"
_HELD = {errno.EACCES, errno.EAGAIN, errno.EDEADLK}
#: Windows locks this byte, so that the others can still be read.
_FAR = 1 << 20


class Lock:
    """A context in which nobody else answers into the same folder.

    Parameters
    ----------
    folder
        Where the answers go.

    Raises
    ------
    UsageError
        On entering, when another watcher is at work there.
    """

    def __init__(self, folder: Path) -> None:
        self._folder, self._path = folder, folder / NAME
        self._stream: BinaryIO | None = None

    def __enter__(self) -> Lock:
        stream = self._path.open("a+b")
        try:
            held = _taken(stream)
            if not held and _alive(_holder(stream)):
                raise _busy(self._folder, _holder(stream))
        except BlockingIOError:
            holder = _holder(stream)
            stream.close()
            raise _busy(self._folder, holder) from None
        except BaseException:
            stream.close()
            raise
        stream.truncate(0)
        stream.write(f"{os.getpid()} {socket.gethostname()}\n".encode())
        stream.flush()
        self._stream = stream
        return self

    def __exit__(self, *_: object) -> None:
        if self._stream is not None:
            with contextlib.suppress(OSError):
                self._stream.truncate(0)  # nobody: a lock that the disk does not keep is told by this
            self._stream.close()
            self._stream = None

    def still_there(self) -> bool:
        """Whether the folder is the one that was locked: a share that vanished leaves an empty one behind."""
        if self._stream is None:
            return False
        try:
            return os.path.samestat(os.fstat(self._stream.fileno()), self._path.stat())
        except OSError:
            return False


def _taken(stream: BinaryIO) -> bool:
    """Take the lock; False where the disk keeps none. Raises BlockingIOError when somebody else has it."""
    try:
        if os.name == "nt":
            import msvcrt

            stream.seek(_FAR)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(stream.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as slip:
        if slip.errno in _HELD:
            raise BlockingIOError(*slip.args) from None
        return False
    return True


def _holder(stream: BinaryIO) -> tuple[int, str] | None:
    """Process and computer that wrote themselves into the lock."""
    stream.seek(0)
    number, _, host = stream.read(300).decode("utf-8", "replace").strip().partition(" ")
    return (int(number), host) if number.isascii() and number.isdigit() else None


def _alive(holder: tuple[int, str] | None) -> bool:
    """Whether the process in the lock still runs; on another computer nobody can tell, so it counts."""
    if holder is None:
        return False
    number, host = holder
    if host != socket.gethostname():
        return True
    if os.name == "nt":
        return False  # Windows' own lock was asked already
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return number != os.getpid()


def _busy(folder: Path, holder: tuple[int, str] | None) -> UsageError:
    who = "" if holder is None else f" (process {holder[0]} on {holder[1]})"
    step = f"End that one first, or name another folder. If none runs any more, delete {NAME} in it."
    return UsageError(f"another watcher answers into this folder{who}", step, file=str(folder))
