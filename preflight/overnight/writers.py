"""Whether somebody writes to a file, or wrote to it since it was last looked at."""

from __future__ import annotations

import contextlib
import errno
import os
import signal
import sys
from pathlib import Path

from preflight.records import dataclass

#: What file systems are called whose files other computers write to, or a program whose ways nobody knows (fuse).
_REMOTE = ("nfs", "cifs", "smb", "9p", "ceph", "afs", "gfs2", "ocfs2", "lustre", "beegfs", "virtiofs", "vboxsf", "fuse")


@dataclass(frozen=True, slots=True)
class Seen:
    """A file as it was at one moment."""

    size: int
    mtime_ns: int
    ctime_ns: int
    inode: int

    @classmethod
    def of(cls, path: Path) -> Seen:
        """The file as it is now; raises OSError when it is not there."""
        stat = path.stat()
        return cls(stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino)

    def still(self, path: Path) -> bool:
        """Whether it is surely the same to the byte without having been read. Raises OSError when it is gone.

        Each write sets its times, which nobody can set back unseen; what was written through memory is counted later,
        so nobody may have it open for writing. Where the system does not tell that, it is not sure.
        """
        return writers(path) is False and Seen.of(path) == self


def being_written(path: Path) -> bool:
    """Whether somebody is known to have the file open for writing."""
    return writers(path) is True


def writers(path: Path) -> bool | None:
    """Whether somebody has the file open for writing; None where the system does not tell.

    Linux does, of a disk of its own: a lease for reading is granted only on a file that nobody writes to. On a share it
    is refused for other reasons too. Source: fcntl(2), F_SETLEASE; the second sentence is from memory.

    Raises
    ------
    OSError
        When the file cannot be read.
    """
    if sys.platform != "linux" or _remote(path):
        return None
    import fcntl

    # Whoever opens it in this moment makes the system send this signal, which would end the program.
    before = signal.signal(signal.SIGIO, signal.SIG_IGN)
    try:
        number = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        try:
            fcntl.fcntl(number, fcntl.F_SETLEASE, fcntl.F_RDLCK)
            with contextlib.suppress(OSError):
                fcntl.fcntl(number, fcntl.F_SETLEASE, fcntl.F_UNLCK)
        except OSError as slip:  # another reason: the file is another user's, or its disk knows no leases
            return True if slip.errno in (errno.EAGAIN, errno.EBUSY) else None
        finally:
            os.close(number)
    finally:
        signal.signal(signal.SIGIO, before)
    return False


def _remote(path: Path) -> bool:
    """Whether the file lies on a share, as far as the system tells. Source: proc(5), mountinfo."""
    device = path.stat().st_dev
    wanted = f"{os.major(device)}:{os.minor(device)}"
    with contextlib.suppress(OSError), open("/proc/self/mountinfo", encoding="utf-8", errors="replace") as mounts:  # noqa: PTH123
        for mount in mounts:
            front, _, back = mount.partition(" - ")
            if wanted in front.split(" ", 3)[:3]:
                return back.startswith(_REMOTE)
    return False
