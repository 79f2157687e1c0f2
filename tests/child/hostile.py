"""Works that misbehave, each as a file that has taken over a decoder might. They go to the children by name."""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from preflight.child import Job, Room
from preflight.child import hardening as hardening
from preflight.child.limits import Limits
from preflight.errors import IntakeError


def answer(path: Path, room: Room) -> list[str]:
    return ["fine", path.name]


def eat_and_abort(path: Path, room: Room) -> str:
    """As a library does that is written to end the program when the next piece of memory is refused."""
    taken = bytearray(480_000_000)
    taken[::4096] = b"x" * len(taken[::4096])
    os.abort()


def abort(path: Path, room: Room) -> list[str]:
    os.abort()


def segfault(path: Path, room: Room) -> list[str]:
    ctypes.string_at(0)
    return []


def leave(path: Path, room: Room) -> list[str]:
    os._exit(7)


def give_up(path: Path, room: Room) -> list[str]:
    sys.exit("no")


def division(path: Path, room: Room) -> list[str]:
    return [str(1 // 0)]


def refuse(path: Path, room: Room) -> list[str]:
    raise IntakeError("it ends in the middle", "Send it again.", rule="cut-short")


def eat_objects(path: Path, room: Room) -> list[str]:
    held = []
    while True:
        held.append(bytes(100_000_000))  # the system clears it when it is touched: time is not to run out first


def eat_pixels(path: Path, room: Room) -> list[str]:
    return [str(np.ones((1 << 32,), np.uint8).sum())]


def eat_and_hide_it(path: Path, room: Room) -> list[str]:
    """As a decoder that takes its own want of memory for damage."""
    try:
        np.ones((1 << 32,), np.uint8)
    except MemoryError as error:
        raise IntakeError("its PNG data are damaged", "Save it again.") from error
    return []


def eat_in_c(path: Path, room: Room) -> list[str]:
    """As a C++ library does: a word on standard error, then abort."""
    sys.stderr.write("terminate called after throwing an instance of 'std::bad_alloc'\n")
    os.abort()


def eat_watched(path: Path, room: Room) -> list[str]:
    hardening.watch_memory(Limits(memory=50_000_000))
    held = []
    for _ in range(100):
        held.append(np.ones(5_000_000, np.uint8))
        time.sleep(0.01)
    return [str(len(held))]


def spin(path: Path, room: Room) -> list[str]:
    while True:
        pass


def spin_deaf(path: Path, room: Room) -> list[str]:
    signal.signal(signal.SIGXCPU, signal.SIG_IGN)
    while True:
        pass


def sleep(path: Path, room: Room) -> list[str]:
    time.sleep(600)
    return []


def work_on_a_large_one(path: Path, room: Room) -> list[str]:
    """Two seconds of work, which only a large artwork may take."""
    room.opened(100.0)
    end = time.process_time() + 2.0
    while time.process_time() < end:
        pass
    return ["done"]


def leave_threads(path: Path, room: Room) -> list[str]:
    for _ in range(3):
        threading.Thread(target=time.sleep, args=(600,)).start()
    return [str(os.getpid())]


def close_and_linger(path: Path, room: Room) -> list[str]:
    os.closerange(3, 100)
    time.sleep(600)
    return []


def kill_itself(path: Path, room: Room) -> list[str]:
    os.abort() if sys.platform == "win32" else signal.raise_signal(signal.SIGKILL)
    return []


def chatter(path: Path, room: Room) -> list[str]:
    print("to standard output")
    sys.stderr.write("to standard error\n")
    os.write(1, b"raw to standard output\n")
    return []


# What a child may not do. Each is tried, and what came of it is the answer.


def tried(*attempts: Callable[[], object]) -> list[str]:
    told = []
    for attempt in attempts:
        try:
            attempt()
        except OSError as error:
            told.append(type(error).__name__)
        else:
            told.append("done")
    return told


def write_outside(path: Path, room: Room) -> list[str]:
    here = Path(__file__).parent
    return tried(
        lambda: (here / "left-behind").write_text("x"),
        lambda: path.write_bytes(b"x"),
        lambda: path.rename(path.with_name("moved")),
        lambda: path.unlink(),
        lambda: (path.parent / "new").mkdir(),
        lambda: path.with_name("link").symlink_to("/etc"),
        lambda: os.truncate(path, 0),
        lambda: (room.scratch.parent / "beside").write_text("x"),
    )


def change_attributes(path: Path, room: Room) -> list[str]:
    return tried(
        lambda: path.chmod(0o000),
        lambda: os.utime(path, (0, 0)),
        lambda: os.chown(path, os.getuid(), os.getgid()),
        lambda: os.setxattr(path, "user.x", b"x"),
    )


def read_others(path: Path, room: Room) -> list[str]:
    return tried(
        lambda: path.with_name("other.txt").read_bytes(),
        lambda: list(path.parent.iterdir()),
        lambda: Path("/etc/passwd").read_bytes(),
        lambda: Path(f"/proc/{os.getppid()}/environ").read_bytes(),
        lambda: path.read_bytes(),
    )


def use_the_scratch(path: Path, room: Room) -> list[str]:
    made = room.scratch / "picture.tmp"
    return tried(
        lambda: made.write_bytes(b"x" * 1000),
        lambda: Path("relative").write_text("x"),
        lambda: made.read_bytes(),
        lambda: made.unlink(),
        lambda: Path(os.environ["TMPDIR"], "y").write_text("x"),
    )


def write_much(path: Path, room: Room) -> list[str]:
    def fill() -> None:
        with (room.scratch / "much").open("wb") as stream:
            for _ in range(100):
                stream.write(b"x" * 100_000)

    return tried(fill)


def call_home(path: Path, room: Room) -> list[str]:
    def connect() -> None:
        with socket.create_connection(("127.0.0.1", 9), timeout=1):
            pass

    return tried(
        lambda: socket.socket(socket.AF_INET, socket.SOCK_STREAM).close(),
        lambda: socket.socket(socket.AF_INET, socket.SOCK_DGRAM).close(),
        lambda: socket.socket(socket.AF_INET6, socket.SOCK_STREAM).close(),
        lambda: socket.socket(socket.AF_UNIX, socket.SOCK_STREAM).close(),
        connect,
    )


def start_others(path: Path, room: Room) -> list[str]:
    def fork() -> None:
        if os.fork() == 0:
            os._exit(0)

    def execute() -> None:
        os.execv("/bin/true", ["true"])

    return tried(fork, lambda: subprocess.run(["/bin/true"], check=True), execute)


def run_a_program(path: Path, room: Room) -> list[str]:
    """What Ghostscript needs: start, read, write in the scratch folder, and nothing else."""
    shell = 'echo made > made.txt; cat made.txt; echo x > "$1" || echo kept out; cat /etc/passwd || echo blind'
    run = ["/bin/sh", "-c", shell, "sh", str(path.with_name("written"))]
    done = subprocess.run(run, capture_output=True, text=True, check=False, cwd=room.scratch)
    return done.stdout.split("\n")


def leave_a_program(path: Path, room: Room) -> list[str]:
    return [str(subprocess.Popen(["/bin/sleep", "600"]).pid)]


def leave_a_busy_program(path: Path, room: Room) -> list[str]:
    """As Ghostscript is left that is still at work when its time is over."""
    busy = subprocess.Popen(["/bin/sh", "-c", "echo here; while :; do :; done"], stdout=subprocess.PIPE)
    assert busy.stdout is not None
    busy.stdout.readline()
    time.sleep(2.0)
    return []


def harm_others(path: Path, room: Room) -> list[str]:
    parent = os.getppid()
    return tried(
        lambda: os.kill(parent, signal.SIGTERM),
        lambda: os.pidfd_open(parent),
        lambda: Path(f"/proc/{parent}/mem").open("rb").close(),
    )


def find_open_files(path: Path, room: Room) -> list[str]:
    """Which files of the parent's came along: everything but the standard streams and one pipe."""
    found = []
    for file in Path("/proc/self/fd").iterdir():
        with contextlib.suppress(OSError):
            found.append(str(file.readlink()))
    return sorted(found)


def who(path: Path, room: Room) -> list[str]:
    return [str(os.getpid()), str(room.scratch)]


# Answers that are none. ``_send`` is what a child that was taken over would write to.


def send(data: bytes) -> Callable[[Path, Room], list[str]]:
    return _Sender(data)


class _Sender:
    def __init__(self, data: bytes) -> None:
        self.data = data

    def __call__(self, path: Path, room: Room) -> list[str]:
        room._send(self.data)
        time.sleep(600)
        return []


def flood(path: Path, room: Room) -> list[str]:
    while True:
        room._send(b"x" * 65536)


def job(work: Callable[[Path, Room], list[str]], path: Path, **more: Any) -> Job[list[str]]:
    return Job(path, work, list[str], **more)
