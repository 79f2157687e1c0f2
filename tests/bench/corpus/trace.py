"""What the program and its children ask of the system while they work, from outside: by strace, on Linux.

Only calls that leave a mark or leave the machine are looked at: files opened for writing, made, renamed, deleted or
changed in their mode, programs started, everything of the network. A call that was refused counts as tried.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ..tables import table

_ROOT = Path(__file__).parents[3]
_OPENING = {"open", "openat", "openat2", "creat"}
#: Calls that change what is on the disk; every path in them counts.
_CHANGING = {
    "rename", "renameat", "renameat2", "unlink", "unlinkat", "rmdir", "mkdir",
    "mkdirat", "link", "linkat", "symlink", "symlinkat", "mknod", "mknodat",
    "truncate", "chmod", "fchmod", "fchmodat", "fchmodat2", "chown", "lchown",
    "fchown", "fchownat", "utime", "utimes", "utimensat", "futimesat", "setxattr",
    "lsetxattr", "fsetxattr", "removexattr",
}  # fmt: skip
_STARTING = {"execve", "execveat"}
_HERE = re.compile(r"AT_FDCWD<([^>]*)>")
_NETWORK = {
    "socket", "socketpair", "connect", "bind", "listen", "accept", "accept4",
    "sendto", "sendmsg", "sendmmsg", "recvfrom", "recvmsg", "recvmmsg", "shutdown",
    "getsockname", "getpeername", "setsockopt", "getsockopt",
}  # fmt: skip
_LINE = re.compile(r"^(\d+)\s+(\w+)\((.*)\)\s*=\s*(-?\d+|\?|0x[0-9a-f]+)\S*\s*(E[A-Z0-9]+)?")
_UNFINISHED = re.compile(r"^(\d+)\s+(\w+)\((.*?)\s*<unfinished \.\.\.>$")
_RESUMED = re.compile(r"^(\d+)\s+<\.\.\. (\w+) resumed>(.*)$")
_PLACE = re.compile(r'(?:(?:AT_FDCWD|\d+)<([^>]*)>,\s*)?"((?:[^"\\]|\\.)*)"')
_WRITING = re.compile(r"\bO_(WRONLY|RDWR|CREAT|TRUNC|APPEND|TMPFILE)\b")
_SCRATCH = re.compile(r"/preflight-[^/]+/\d+(/|$)")
#: Where a child may read besides its scratch folder and its artwork.
_SYSTEM = ("/usr", "/lib", "/lib64", "/etc/fonts", "/var/cache/fontconfig", "/etc/ld.so.cache", "/etc/ld.so.preload",
           "/etc/ghostscript",
           "/var/lib/ghostscript", "/etc/papersize", "/dev", "/proc", "/sys", "/etc/localtime",
           "/etc/mime.types")  # fmt: skip


@dataclass(slots=True)
class Seen:
    """What was seen, each with how often.

    Parameters
    ----------
    main_may
        Folders and files that the program itself may write to.
    may_read
        What the children may read beside the system's folders.
    calls, processes
        How much was looked at.
    network, network_tried
        Calls of the network that went through, and that were refused. Pairs of sockets within a program do not count.
    outside, outside_tried
        Changes outside the scratch folders, and refused ones.
    looked, looked_tried
        Files that children opened elsewhere, and tried to.
    started, started_tried
        Programs.
    """

    main_may: tuple[str, ...] = ()
    may_read: tuple[str, ...] = ()
    calls: int = 0
    processes: set[int] = field(default_factory=set)
    network: Counter[str] = field(default_factory=Counter)
    network_tried: Counter[str] = field(default_factory=Counter)
    outside: Counter[str] = field(default_factory=Counter)
    outside_tried: Counter[str] = field(default_factory=Counter)
    looked: Counter[str] = field(default_factory=Counter)
    looked_tried: Counter[str] = field(default_factory=Counter)
    started: Counter[str] = field(default_factory=Counter)
    started_tried: Counter[str] = field(default_factory=Counter)
    _main: int = 0
    _here: dict[int, str] = field(default_factory=dict)  #: the folder that a process works in

    def take(self, lines: Iterable[str]) -> Seen:
        """Read strace's lines; the first process is the program itself, all others are its children."""
        for number, call, said, refused in _calls(lines):
            self._main = self._main or number
            self.processes.add(number)
            self.calls += 1
            if found := _HERE.search(said):
                self._here[number] = found[1]
            here = self._here.get(number, "?")
            if call == "chdir":
                self._here[number] = here if refused else _paths(said, here)[0]
            elif call in _NETWORK:
                self._talk(call, said, refused)
            elif call in _STARTING:
                if number != self._main and refused != "ENOENT":  # a program is looked for along PATH
                    (self.started_tried if refused else self.started)[_paths(said, here)[0]] += 1
            elif call in _CHANGING or (call in _OPENING and (call == "creat" or _WRITING.search(_flags(said)))):
                self._change(number, call, _paths(said, here), refused)
            elif call in _OPENING and number != self._main:
                self._look(_paths(said, here), refused)
        return self

    def _talk(self, call: str, said: str, refused: str | None) -> None:
        if call == "socketpair" and said.startswith("AF_UNIX"):
            return
        (self.network_tried if refused else self.network)[f"{call}({said.split(',')[0]})"] += 1

    def _change(self, number: int, call: str, paths: Sequence[str], refused: str | None) -> None:
        if refused in ("ENOENT", "EEXIST", "ENOTDIR"):
            return
        may = self.main_may if number == self._main else ()
        for path in paths:
            if path == "/dev/null" or _SCRATCH.search(path) or any(_within(path, place) for place in may):
                continue
            (self.outside_tried if refused else self.outside)[f"{call} {path}"] += 1

    def _look(self, paths: Sequence[str], refused: str | None) -> None:
        if refused in ("ENOENT", "ENOTDIR"):
            return
        for path in paths:
            if not _SCRATCH.search(path) and not any(_within(path, place) for place in (*_SYSTEM, *self.may_read)):
                (self.looked_tried if refused else self.looked)[path] += 1


def _within(path: str, place: str) -> bool:
    return path == place or path.startswith(place.rstrip("/") + "/")


def _flags(said: str) -> str:
    """What follows the path in a call that opens."""
    return _PLACE.sub("", said, count=1)


def _paths(said: str, here: str) -> list[str]:
    """Each path in a call, whole; ``here`` is the folder that the process works in."""
    found = (os.path.normpath(os.path.join(base or here, name)) for base, name in _PLACE.findall(said))  # noqa: PTH118
    return list(found) or [said[:80]]


def _calls(lines: Iterable[str]) -> Iterator[tuple[int, str, str, str | None]]:
    """Process, call, its arguments, and the system's word when it was refused; calls in two parts are put together."""
    begun: dict[tuple[int, str], str] = {}
    for line in lines:
        if found := _UNFINISHED.match(line):
            begun[int(found[1]), found[2]] = found[3]
            continue
        if found := _RESUMED.match(line):
            line = f"{found[1]} {found[2]}({begun.pop((int(found[1]), found[2]), '')}{found[3]}"
        if found := _LINE.match(line):
            yield int(found[1]), found[2], found[3], found[5]


def possible() -> str | None:
    """Why nothing can be traced here; None when it can."""
    if sys.platform != "linux" or shutil.which("strace") is None:
        return "strace is not installed"
    done = subprocess.run(["strace", "-f", "-o", os.devnull, "true"], capture_output=True, check=False)
    return None if done.returncode == 0 else "this system does not let programs be traced"


def traced(command: Sequence[str], log: Path, **more: object) -> subprocess.CompletedProcess[str]:
    """Run a command under strace, its calls written to ``log``.

    Plain stops at each call, not the quicker way by seccomp: there a call that the child's own filter refuses is not
    seen.
    """
    calls = ",".join(f"?{name}" for name in sorted({"chdir"} | _OPENING | _CHANGING | _STARTING | _NETWORK))
    run = ["strace", "-f", "-y", "-qq", "-s", "300", "-o", str(log), "-e", f"trace={calls}", "-e", "signal=none"]
    return subprocess.run([*run, *command], capture_output=True, text=True, check=False, **more)  # type: ignore[call-overload,no-any-return]


def run_traced(folder: Path, jobs: int, only: Sequence[str]) -> Seen:
    """Every file once more, under the tracer."""
    reason = possible()
    if reason is not None:
        raise SystemExit(reason)
    temporary, log, records = folder / "traced-tmp", folder / "trace.log", folder / "traced.jsonl"
    shutil.rmtree(temporary, ignore_errors=True)
    temporary.mkdir()
    records.unlink(missing_ok=True)
    command = [sys.executable, "-m", "tests.bench.corpus", "run", "--folder", str(folder), "--records", str(records)]
    command += ["--jobs", str(jobs), *(["--only", *only] if only else [])]
    environment = os.environ | {"TMPDIR": str(temporary), "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(_ROOT)}
    done = traced(command, log, cwd=_ROOT, env=environment)
    print(done.stderr[-2000:], file=sys.stderr)
    if done.returncode:
        raise SystemExit(f"the traced run ended with {done.returncode}")
    may = (str(temporary), str(records), str(records.with_suffix(".good.json")), str(folder / "good.png"))
    seen = Seen(main_may=may, may_read=(str(folder / "files"), str(folder / "good.png"), *library_folders()))
    with log.open(encoding="utf-8", errors="replace") as lines:
        seen.take(lines)
    left = [str(path) for path in temporary.rglob("*")]
    seen.outside.update(f"left behind {path}" for path in left)
    return seen


def library_folders() -> tuple[str, ...]:
    """Where Python, its packages and this program lie."""
    return (str(_ROOT), sys.prefix, sys.base_prefix, str(Path(os.__file__).parent))


def told(seen: Seen) -> str:
    """The findings as a paragraph and a table."""
    said = (
        f"{seen.calls:,} calls of {len(seen.processes):,} processes were looked at. Network calls that went through: "
        f"**{sum(seen.network.values())}**; tried: {sum(seen.network_tried.values())}. Files written, made, renamed, "
        f"deleted or changed outside the scratch folders: **{sum(seen.outside.values())}**; tried: "
        f"{sum(seen.outside_tried.values())}. Files that children read outside libraries, fonts and their artwork: "
        f"**{sum(seen.looked.values())}**; tried: {sum(seen.looked_tried.values())}."
    )
    rows = []
    for what, counts in {
        "network, done": seen.network, "network, refused": seen.network_tried, "changed": seen.outside,
        "change refused": seen.outside_tried, "read": seen.looked, "reading refused": seen.looked_tried,
        "program started": seen.started, "program refused": seen.started_tried,
    }.items():  # fmt: skip
        grouped: Counter[str] = Counter()
        for path, count in counts.items():
            grouped[_alike(path)] += count
        rows += [(f"{what}: `{path}`", count) for path, count in grouped.most_common(12)]
    return said + "\n\n" + table(("what", "times"), rows)


def _alike(path: str) -> str:
    """A path without what differs from machine to machine and from run to run."""
    for place, name in (
        (str(_ROOT), "(program)"),
        (sys.prefix, "(Python)"),
        (sys.base_prefix, "(Python)"),
        (str(Path.home()), "~"),
    ):
        path = path.replace(place, name)
    path = re.sub(r"/preflight-[^/ ]+", "/preflight-…", path)
    path = re.sub(r"<[^>]*/([^/>]*)>", r"<…/\1>", path)  # a file behind a number
    return re.sub(r"\d+", "N", path).replace("|", "/")[:90]
