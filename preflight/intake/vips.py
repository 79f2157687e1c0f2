"""The picture library, set up once before anything uses it.

One thread per file (files run in parallel, not rows), and no cache of finished operations: it gives the old pixels
back when a file changes under the same name (measured with libvips 8.18).
"""

from __future__ import annotations

import contextlib
import ctypes
import importlib
import os
import sys
from pathlib import Path
from typing import Any

import numpy as np

# Read once, when the library starts: it must be set before the import.
os.environ.setdefault("VIPS_CONCURRENCY", "1")

pyvips: Any = importlib.import_module("pyvips")
pyvips.cache_set_max(0)


def _readable(text: Any) -> str:
    """C text as Python text, whatever its encoding."""
    found: bytes = b"" if text == pyvips.ffi.NULL else pyvips.ffi.string(text)
    return found.decode("utf-8", "replace")


# The library's logger decodes strictly: a warning that quotes a damaged file printed a traceback to the terminal.
pyvips._to_string = _readable

#: Settings of glibc's ``mallopt`` (malloc.h): from which size on a block is had from the system by itself, and how much
#: has to be free at the end of the heap before it is given back.
_BY_ITSELF, _GIVEN_BACK = -3, -1


def _keep_memory() -> None:
    """Let freed strips be used again, in large pages.

    The C library of Linux gives every freed strip back to the system. Taking the pages anew for every strip doubled the
    cost of decoding (measured: 184 ms to 105 ms for an A3 sheet). Blocks up to 32 MB now come out of one heap. numpy
    marks large ones for pages of 2 MB, and a mark outlives its block: the heap is then taken in 2 MB at a time, for
    0.1 ms per MB, and not in 4 kB for 0.5 ms (measured); an A3 sheet takes 80 MB. Untouched memory costs nothing.
    """
    if sys.platform != "linux":
        return
    with contextlib.suppress(AttributeError):  # another C library
        c_library = ctypes.CDLL(None)
        c_library.mallopt(_BY_ITSELF, 32 << 20)
        c_library.mallopt(_GIVEN_BACK, 120 << 20)
        _ = [np.empty(28 << 20, np.uint8) for _ in range(4)]


_keep_memory()


#: What the library raises. An error text that holds a file name of another encoding fails in the library's own
#: decoding of it: that is a UnicodeError.
ERRORS: tuple[type[Exception], ...] = (pyvips.Error, UnicodeError)


def file_name(path: Path) -> bytes:
    """The name as the library takes it: bytes, so that names outside UTF-8 work as well."""
    return os.fsencode(path)


def forget_warnings() -> None:
    """Empty the library's log of warnings."""
    pyvips.vips_lib.vips_error_clear()


def warnings() -> str:
    """What the library noticed since ``forget_warnings`` and did not raise."""
    return _readable(pyvips.vips_lib.vips_error_buffer())
