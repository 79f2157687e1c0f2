"""Take away from Python what Windows lacks, so that what needs it fails here as it would there.

Meant as ``sitecustomize`` of a Python that runs the program: children that it starts are then treated alike. Nothing
happens until ``preflight`` is first imported: Python itself and the libraries have to find the system that they are
really on, and keep what they need of it.
"""

from __future__ import annotations

import contextlib
import importlib
import sys
import types
from collections.abc import Sequence

HIDDEN = ("fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "syslog", "posix", "readline", "nis", "spwd")
#: Names of functions, flags and signals that Python does not have on Windows (its own documentation, "Availability").
OF_OS = (
    "O_CLOEXEC", "O_DIRECTORY", "O_DSYNC", "O_NOCTTY", "O_NOFOLLOW", "O_NONBLOCK", "O_PATH", "O_SYNC", "P_PID",
    "WEXITED", "WNOHANG", "WNOWAIT", "chown", "chroot", "ctermid", "eventfd", "fchdir", "fchmod", "fchown", "fork",
    "forkpty", "getegid", "geteuid", "getgid", "getgroups", "getloadavg", "getpgid", "getpgrp", "getpriority",
    "getsid", "getuid", "initgroups", "killpg", "lchown", "lockf", "memfd_create", "mkfifo", "mknod", "nice",
    "openpty", "pathconf", "pipe2", "posix_fadvise", "posix_fallocate", "posix_spawn", "pread", "pwrite", "readv",
    "sched_getaffinity", "sched_setaffinity", "sendfile", "setegid", "seteuid", "setgid", "setpgid", "setpriority",
    "setsid", "setuid", "splice", "statvfs", "sync", "sysconf", "tcgetpgrp", "ttyname", "uname", "wait", "wait3",
    "wait4", "waitid", "writev",
)  # fmt: skip
OF_SIGNAL = (
    "SIGALRM", "SIGBUS", "SIGCHLD", "SIGCONT", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGQUIT", "SIGSTOP", "SIGTSTP",
    "SIGUSR1", "SIGUSR2", "SIGXCPU", "SIGXFSZ", "SIG_BLOCK", "SIG_SETMASK", "SIG_UNBLOCK", "alarm", "getitimer",
    "pause", "pthread_kill", "pthread_sigmask", "setitimer", "sigpending", "sigwait",
)  # fmt: skip
OF_SELECT = ("epoll", "poll", "EPOLLIN", "POLLIN")
#: What is imported before: it has to know the real system.
_LIBRARIES = (
    "asyncio", "multiprocessing.connection", "multiprocessing.context", "multiprocessing.forkserver",
    "multiprocessing.popen_forkserver", "multiprocessing.popen_spawn_posix", "multiprocessing.resource_tracker",
    "multiprocessing.spawn", "multiprocessing.util", "selectors", "shutil", "socket", "subprocess", "tempfile",
    "faulthandler", "webbrowser", "uuid", "platform", "getpass", "logging.handlers", "zipfile", "tarfile",
    "numpy", "numpy.ma", "cv2", "pyvips", "PIL.Image", "PIL.ImageCms", "PIL.BmpImagePlugin", "pikepdf", "pypdfium2.raw",
    "click", "typer", "typer.core", "rich.console", "rich.progress", "zxingcpp",
)  # fmt: skip
_USERS = (
    "asyncio", "multiprocessing", "selectors", "subprocess", "shutil", "tempfile", "socket", "threading", "concurrent",
    "pathlib", "pikepdf", "pypdfium2", "pyvips", "cffi",
)  # fmt: skip


class Kernel:
    """A stand-in for Windows' own library: everything that is asked of it works."""

    def __getattr__(self, name: str) -> types.SimpleNamespace:
        answer = _Call()
        setattr(self, name, answer)
        return answer  # type: ignore[return-value]


class _Call:
    restype: object = None

    def __call__(self, *_: object) -> int:
        return 1


class Finder:
    """Hides modules, and takes names away as soon as the program is imported."""

    done = False

    def find_spec(self, name: str, path: Sequence[str] | None = None, target: object = None) -> None:
        if name == "preflight" and not self.done:
            self.done = True
            _take_away()
        if self.done and name in HIDDEN:
            raise ModuleNotFoundError(f"no module named {name} on this system", name=name)


def _take_away() -> None:
    import ctypes
    import os
    import select
    import signal

    for name in _LIBRARIES:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    _keep(os=os, signal=signal)
    for module, names in ((os, OF_OS), (signal, OF_SIGNAL), (select, OF_SELECT)):
        for name in names:
            vars(module).pop(name, None)
    for name in HIDDEN:
        sys.modules.pop(name, None)
    sys.platform = "win32"
    ctypes.WinDLL = lambda *_, **__: Kernel()  # type: ignore[attr-defined,assignment,misc]


def _keep(**modules: types.ModuleType) -> None:
    """Give Python's own modules and the libraries copies of these that stay whole."""
    for held, module in modules.items():
        whole = types.SimpleNamespace(**vars(module))
        for name, user in list(sys.modules.items()):
            if name.partition(".")[0] in _USERS and isinstance(getattr(user, held, None), types.ModuleType):
                setattr(user, held, whole)


if __name__ == "sitecustomize":
    sys.meta_path.insert(0, Finder())  # type: ignore[arg-type]
