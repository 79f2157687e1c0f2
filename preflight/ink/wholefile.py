"""A small file of the shop's that is changed whole or not at all, whatever happens to the computer meanwhile."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

from preflight.errors import UsageError
from preflight.wholefile import write_whole


def replace_text(path: Path, text: str, check: Callable[[Path], object] | None = None) -> None:
    """Write ``text`` in UTF-8 under the name ``path``; what was there stays until the new one is complete on the disk.

    Parameters
    ----------
    path
        A link stays a link, and the file that it leads to is replaced.
    check
        Reads the new file under a name of its own before it takes its place; what it raises leaves the old one there.

    Raises
    ------
    UsageError
        When it cannot be written or put in place. Nothing is changed then.
    """
    target = path.resolve() if path.is_symlink() else path

    def checked(part: Path) -> None:
        if check is not None:
            check(part)
        if target.exists():
            shutil.copymode(target, part)

    try:
        write_whole(target, text.encode("utf-8"), check=checked)
    except FileNotFoundError:
        step = "Make the folder first, or name another one."
        raise UsageError(f"there is no folder '{target.parent}'", step, file=str(path)) from None
    except (OSError, ValueError) as slip:
        step = "Nothing was changed. Close the file where it is open, or make room on the disk, then do it again."
        what = f"the file could not be written ({getattr(slip, 'strerror', None) or slip})"
        raise UsageError(what, step, file=str(path)) from None
