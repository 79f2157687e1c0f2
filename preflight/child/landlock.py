"""Landlock by ctypes: a process gives up all files but a few, for good, without being root (Linux 5.13 and later).

Source: the kernel's ``include/uapi/linux/landlock.h`` and its documentation "Landlock: unprivileged access control".
Landlock guards opening, making, renaming and removing; attributes of a file it leaves alone (see ``syscalls``).
"""

from __future__ import annotations

import ctypes
import os
import stat
import struct
from collections.abc import Iterable
from pathlib import Path
from typing import TypeAlias

from preflight.child.clibrary import c_library, failure

_CREATE, _ADD_RULE, _RESTRICT = 444, 445, 446
_PATH_BENEATH = 1
EXECUTE, WRITE_FILE, READ_FILE, READ_DIR = 1, 1 << 1, 1 << 2, 1 << 3
REMOVE_FILE, MAKE_REGULAR, TRUNCATE = 1 << 5, 1 << 8, 1 << 14
#: What each version knows of the file system: bit counts (version 2 adds linking across folders, 3 truncating, 5
#: commands to devices).
_RIGHTS_BY_VERSION = {1: 13, 2: 14, 3: 15, 4: 15, 5: 16}
_TCP = 0b11  #: binding and connecting, version 4
_SCOPES = 0b11  #: abstract sockets of, and signals to, processes outside, version 6
#: Rights that make sense for a single file.
_OF_FILES = EXECUTE | WRITE_FILE | READ_FILE | TRUNCATE
#: A file, or a folder with all that is in it, and what may be done there.
Grant: TypeAlias = tuple[str | Path, int]


def version() -> int:
    """The version that this system's kernel has; 0 = none."""
    answer = _call(_CREATE, None, 0, 1)
    return max(answer, 0)


def confine(grants: Iterable[Grant]) -> int:
    """Give up every file but the granted ones. Needs ``no_new_privs``; holds for this thread and what it starts.

    Parameters
    ----------
    grants
        A path that is not there is left out.

    Returns
    -------
    int
        The version in force.

    Raises
    ------
    OSError
        When the kernel refuses or has no Landlock.
    """
    known = version()
    if not known:
        raise OSError("this kernel has no Landlock")
    handled = (1 << _RIGHTS_BY_VERSION[min(known, 5)]) - 1
    fields = [handled] + [_TCP] * (known >= 4) + [_SCOPES] * (known >= 6)
    attributes = struct.pack(f"{len(fields)}Q", *fields)
    ruleset = _checked(_call(_CREATE, attributes, len(attributes), 0))
    try:
        for path, rights in grants:
            _allow(ruleset, path, rights & handled)
        _checked(_call(_RESTRICT, ruleset, 0))
    finally:
        os.close(ruleset)
    return known


def _allow(ruleset: int, path: str | Path, rights: int) -> None:
    try:
        beneath = os.open(path, os.O_PATH | os.O_CLOEXEC)
    except (OSError, ValueError):
        return
    try:
        if not stat.S_ISDIR(os.fstat(beneath).st_mode):
            rights &= _OF_FILES
        rule = struct.pack("=Qi", rights, beneath)
        _checked(_call(_ADD_RULE, ruleset, _PATH_BENEATH, rule, 0))
    finally:
        os.close(beneath)


def _call(number: int, *arguments: int | bytes | None) -> int:
    """A system call; -1 when it fails, the reason then lies in errno."""
    wide = [ctypes.c_long(value) if isinstance(value, int) else value for value in arguments]
    return int(c_library().syscall(ctypes.c_long(number), *wide))


def _checked(answer: int) -> int:
    if answer < 0:
        raise failure()
    return answer
