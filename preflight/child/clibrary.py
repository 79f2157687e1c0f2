"""The C library of a POSIX system, for the few calls that Python does not wrap."""

from __future__ import annotations

import ctypes
import functools
import os


@functools.cache
def c_library() -> ctypes.CDLL:
    """The one this process already has."""
    return ctypes.CDLL(None, use_errno=True)


def failure() -> OSError:
    """The reason why the last call through ``c_library`` failed."""
    number = ctypes.get_errno()
    return OSError(number, os.strerror(number))


def prctl(option: int, value: int, pointer: bytes | None = None) -> None:
    """Change something about this process (Linux).

    Raises
    ------
    OSError
        When the kernel refuses.
    """
    nothing = ctypes.c_ulong(0)
    third = nothing if pointer is None else pointer
    if c_library().prctl(option, ctypes.c_ulong(value), third, nothing, nothing) != 0:
        raise failure()
