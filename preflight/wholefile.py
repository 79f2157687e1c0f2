"""Files that appear whole or not at all, and stay when the power fails."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from pathlib import Path
from uuid import uuid4

#: Ending of what is not finished.
PART = ".part"


def write_whole(
    path: Path, data: bytes, *, lasting: bool = True, check: Callable[[Path], object] | None = None
) -> None:
    """Write a file so that it is there whole, also after a power cut, or as it was before.

    Parameters
    ----------
    lasting
        False: after a power cut it may not be there; ``sync_folder`` then does for several what is done here for each.
    check
        Is given the new file under a name of its own before it takes its place; what it raises leaves the old one.

    Raises
    ------
    OSError
        When it cannot be written; nothing is left behind then.
    """
    part = path.with_name(f".{uuid4().hex[:12]}{PART}")
    try:
        with part.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if check is not None:
            check(part)
        part.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink()
        raise
    if lasting:
        sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """See to it that the names in a folder outlast a power cut, where the system lets us."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
