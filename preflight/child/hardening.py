"""What a child gives up before it looks at a customer's file. What a system lacks is left out, and said.

Each step is tried by itself: an old kernel or another system then still has the others. ``harden`` says what is in
force, in words for ``--verbose``.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.child.limits import Limits

if TYPE_CHECKING:
    from preflight.child.landlock import Grant

#: Exit status of a child that its own watchdog ended because it took too much memory.
TOO_MUCH_MEMORY = 87
_DUMPABLE, _NO_NEW_PRIVILEGES = 4, 38
_READ_ANY = 1 << 2  #: CAP_DAC_READ_SEARCH
_CAPABILITIES_3 = 0x20080522
_LOOK_EVERY = 0.05
#: Where libraries, fonts and Ghostscript's own files lie; ``/proc/self`` tells a process about itself.
_SYSTEM = (
    "/usr", "/lib", "/lib64", "/nix/store", "/etc/fonts", "/var/cache/fontconfig", "/etc/ld.so.cache",
    "/etc/ghostscript", "/var/lib/ghostscript", "/etc/papersize", "/dev/urandom", "/dev/zero", "/proc/self",
    "/proc/meminfo", "/proc/cpuinfo", "/sys/devices/system/cpu",
)  # fmt: skip
_FONTS = (".fonts", ".local/share/fonts", ".cache/fontconfig", ".config/fontconfig")
#: Packages that may import a part of themselves only when a file needs it.
_PACKAGES = ("numpy", "cv2", "PIL", "pyvips", "zxingcpp", "_cffi_backend")


def harden(limits: Limits, artwork: Path | None, scratch: Path, *, programs: bool) -> list[str]:
    """Give up whatever measuring a file does not need, for good. Only for a process that ends with its file.

    Parameters
    ----------
    artwork
        The one file of the customer that may still be read.
    scratch
        The one folder that may still be written to.
    programs
        Whether another program (Ghostscript) may be started; it inherits all of this.

    Returns
    -------
    list of str
        A clause for each protection in force.
    """
    if sys.platform == "win32":
        from preflight.child.windows import confine

        return confine(limits, programs=programs)
    active = _resources(limits)
    if sys.platform == "linux":
        _privately()
        steps: tuple[Callable[[], str], ...] = (
            _no_more_rights,
            lambda: _files(artwork, scratch, programs),
            lambda: _calls(programs),
        )
        for step in steps:
            with contextlib.suppress(OSError):
                active.append(step())
    return active


def let_run(limits: Limits, megapixels: float) -> None:
    """Raise the limit on the processor's time to what an artwork of that size may take. It is never lowered."""
    if sys.platform != "win32":
        import resource

        soft, hard = resource.getrlimit(resource.RLIMIT_CPU)
        wanted = limits.cpu(megapixels)
        if soft != resource.RLIM_INFINITY and wanted > soft:
            with contextlib.suppress(ValueError, OSError):
                resource.setrlimit(resource.RLIMIT_CPU, (wanted, hard))


def memory_peak() -> int:
    """The most memory, in bytes, that this process had at one time; 0 where the system does not tell.

    Notes
    -----
    On Linux from ``VmHWM``: the figure of ``getrusage`` is inherited from the parent.
    """
    if sys.platform == "linux":
        with contextlib.suppress(OSError):
            return _status("VmHWM")
    if sys.platform == "win32":
        return 0
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak if sys.platform == "darwin" else peak * 1024


def watch_memory(limits: Limits) -> None:
    """End this process when it takes too much: for systems that do not hold the limit on address space."""
    most = memory_peak() + limits.memory

    def look() -> None:
        while memory_peak() <= most:
            time.sleep(_LOOK_EVERY)
        os._exit(TOO_MUCH_MEMORY)

    threading.Thread(target=look, daemon=True).start()


def _resources(limits: Limits) -> list[str]:
    """Limits that every POSIX system knows."""
    if sys.platform == "win32":
        return []
    import resource

    _lower(resource.RLIMIT_CORE, 0, 0)
    _lower(resource.RLIMIT_CPU, limits.cpu(), limits.cpu(limits.megapixels) + 1)
    _lower(resource.RLIMIT_FSIZE, limits.file_bytes, limits.file_bytes)
    _lower(resource.RLIMIT_NOFILE, limits.open_files, limits.open_files)
    if sys.platform == "linux":
        most = _own_size() + limits.memory
        _lower(resource.RLIMIT_AS, most, most)
        how = "held by the system"
    else:
        watch_memory(limits)
        how = f"looked at every {_LOOK_EVERY * 1000:.0f} ms"
    memory = f"{limits.memory / 2**30:.3g} GB"
    share = f"{limits.seconds_per_megapixel:g} s per megapixel"
    return [
        f"memory: {memory} for one file, {how}",
        f"time: {limits.seconds:g} s of the processor and {share}, and {limits.wall():.0f} s and more on the clock",
        f"files: at most {limits.open_files} open, none written over {limits.file_bytes / 2**20:.0f} MB, no core dump",
    ]


def _lower(which: int, soft: int, hard: int) -> None:
    """Set a limit, never above the one in force."""
    if sys.platform == "win32":
        return
    import resource

    _, most = resource.getrlimit(which)
    if most != resource.RLIM_INFINITY:
        soft, hard = min(soft, most), min(hard, most)
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(which, (soft, hard))


def _own_size() -> int:
    """Address space that the program itself takes, bytes; a fair guess where the system does not tell."""
    try:
        return _status("VmSize")
    except OSError:
        return 2**30


def _status(name: str) -> int:
    """A figure of ``/proc/self/status``, in bytes. Raises OSError where there is none."""
    with Path("/proc/self/status").open(encoding="ascii", errors="replace") as lines:
        for line in lines:
            if line.startswith(f"{name}:"):
                return int(line.split()[1]) * 1024
    raise OSError(f"no {name}")


def _privately() -> None:
    """No core goes to a crash reporter, and no other process of this user looks inside."""
    from preflight.child.clibrary import prctl

    with contextlib.suppress(OSError):
        prctl(_DUMPABLE, 0)


def _no_more_rights() -> str:
    """No program that is started has more rights; root keeps only that of reading files of others."""
    import struct

    from preflight.child.clibrary import c_library, failure, prctl

    prctl(_NO_NEW_PRIVILEGES, 1)
    if os.geteuid() != 0:
        return "rights: no more can be had"
    header = struct.pack("Ii", _CAPABILITIES_3, 0)
    if c_library().capset(header, struct.pack("6I", _READ_ANY, _READ_ANY, 0, 0, 0, 0)) != 0:
        raise failure()
    return "rights: those of root are given up, but for reading"


def _files(artwork: Path | None, scratch: Path, programs: bool) -> str:
    from preflight.child.landlock import confine

    known = confine(_grants(artwork, scratch, programs))
    return f"folders: only this file, libraries and fonts are read, only a scratch folder is written (Landlock {known})"


def _grants(artwork: Path | None, scratch: Path, programs: bool) -> Iterator[Grant]:
    from preflight.child import landlock as may

    look = may.READ_FILE | may.READ_DIR
    write = may.WRITE_FILE | may.REMOVE_FILE | may.MAKE_REGULAR | may.TRUNCATE
    yield scratch, look | write
    yield os.devnull, may.READ_FILE | may.WRITE_FILE
    if artwork is not None and artwork.is_file():
        yield artwork, may.READ_FILE
    for place in _SYSTEM:
        yield place, look | (may.EXECUTE if programs else 0)
    home = os.path.expanduser("~")  # noqa: PTH111 - unlike Path.home it never fails
    fonts = (os.path.join(home, name) for name in _FONTS)  # noqa: PTH118
    for place in (*_libraries(), *fonts):
        yield place, look


def _libraries() -> set[str]:
    """Folders from which Python and the imaging libraries may still load a part of themselves."""
    folders = {str(Path(os.__file__).parent), str(Path(__file__).parents[1])}
    folders.update(place for place in sys.path if place.endswith(("site-packages", "dist-packages")))
    for name in _PACKAGES:
        file = getattr(sys.modules.get(name), "__file__", None)
        if file:
            parent = Path(file).parent
            folders.add(str(parent.parent if file.endswith(("__init__.py", "__init__.pyc")) else parent))
    return folders


def _calls(programs: bool) -> str:
    from preflight.child.syscalls import install

    install(programs=programs)
    started = "Ghostscript may be started" if programs else "no program is started"
    return f"calls: no network, {started}, no signal or look into other programs (seccomp)"
