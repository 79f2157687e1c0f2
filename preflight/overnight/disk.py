"""Moves and copies that never overwrite and never lose."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

from preflight.wholefile import PART, sync_folder

_OURS = re.compile(r"\.[0-9a-f]{12}\.part")
_PIECE = 1 << 20
#: A name in a folder may be so long on most file systems, bytes.
LONGEST_NAME = 255
#: Windows says so when a file would have to go to another drive.
_OTHER_DRIVE = 17
#: What the system says when a file can have no second name.
_NO_LINKS = {errno.EPERM, errno.ENOSYS, errno.EOPNOTSUPP, errno.EXDEV, errno.EMLINK, errno.EACCES, errno.EINVAL}


def sweep(folder: Path) -> None:
    """Take away what an earlier run that was ended had not finished writing in a folder."""
    with contextlib.suppress(OSError):
        for entry in list(folder.iterdir()):
            if _OURS.fullmatch(entry.name):
                entry.unlink()


def sha256(path: Path) -> str:
    """Sum of a file's bytes, read in pieces."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def move(source: Path, target: Path, *, lasting: bool = True) -> None:
    """Move a file; never over another, never half.

    Parameters
    ----------
    lasting
        As for ``write_whole``: after a power cut it may be where it was.

    Raises
    ------
    FileExistsError
        When the name is taken.
    OSError
        When it cannot be moved; the source is then as it was.
    """
    try:
        _rename(source, target)
    except OSError as slip:
        if not other_disk(slip):
            raise
        copy(source, target)
        source.unlink()
    if lasting:
        sync_folder(target.parent)


def _rename(source: Path, target: Path) -> None:
    if os.name == "nt":
        source.rename(target)  # refuses there when the name is taken
        return
    try:
        os.link(source, target, follow_symlinks=False)  # refuses when the name is taken, which renaming does not
    except FileExistsError:
        if not os.path.samestat(source.lstat(), target.lstat()):
            raise
    except OSError as slip:
        if slip.errno not in _NO_LINKS:
            raise
        if os.path.lexists(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from None
        source.rename(target)
        return
    source.unlink()


def copy(source: Path, target: Path) -> None:
    """Copy a file, to the same bytes or not at all; its time is kept.

    Raises
    ------
    FileExistsError
        When the name is taken.
    OSError
        When it cannot be written, or what was written is not what was read.
    """
    part = target.with_name(f".{uuid4().hex[:12]}{PART}")
    try:
        before = source.stat()
        total = hashlib.sha256()
        with source.open("rb") as read, part.open("xb") as written:
            while piece := read.read(_PIECE):
                total.update(piece)
                written.write(piece)
            written.flush()
            os.fsync(written.fileno())
        after = source.stat()
        changed = (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns)
        if changed or sha256(part) != total.hexdigest():
            raise OSError(errno.EBUSY, "it changed while it was copied", str(source))
        os.utime(part, ns=(before.st_atime_ns, before.st_mtime_ns))
        _rename(part, target)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink()
        raise
    sync_folder(target.parent)


def other_disk(slip: OSError) -> bool:
    """Whether a move failed only because the target lies on another disk."""
    return slip.errno == errno.EXDEV or getattr(slip, "winerror", None) == _OTHER_DRIVE


def remove_tree(folder: Path) -> None:
    """Take a folder of ours away; what cannot be taken away now is taken away at the next start."""
    with contextlib.suppress(OSError):
        for entry in sorted(folder.rglob("*"), reverse=True):
            if entry.is_dir() and not entry.is_symlink():
                entry.rmdir()
            else:
                entry.unlink()
        folder.rmdir()


def numbered(name: str, number: int, room: int = 0) -> str:
    """The name with a number before its ending, and short enough that ``room`` more bytes can follow.

    Parameters
    ----------
    name
        Of a file.
    number
        1 leaves it as it is.
    """
    stem, dot, ending = name.rpartition(".")
    if not stem or len(ending) > 10:
        stem, dot, ending = name, "", ""
    mark = "" if number == 1 else f"-{number}"
    most = LONGEST_NAME - room - len(os.fsencode(f"{mark}{dot}{ending}"))
    while len(os.fsencode(stem)) > most:
        stem = stem[:-1]
    return f"{stem}{mark}{dot}{ending}"


def numbers() -> Iterator[int]:
    """1, 2, 3 …, and in ever larger steps beyond a hundred: names that clash often are found soon all the same."""
    number = 1
    while True:
        yield number
        number += 1 if number < 100 else number // 20
