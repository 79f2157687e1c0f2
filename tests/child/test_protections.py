"""What a child may not do on Linux: tried for real, each with what must still work beside it."""

from __future__ import annotations

import ctypes
import os
import re
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from preflight.child import Limits, Workshop, landlock, protections, syscalls, windows
from tests.child import hostile
from tests.child.conftest import LINUX
from tests.child.hostile import job

pytestmark = [
    pytest.mark.skipif(not LINUX, reason="Linux alone holds these"),
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning"),
]
needs_landlock = pytest.mark.skipif(not LINUX or not landlock.version(), reason="this kernel has no Landlock")
DENIED = "PermissionError"
HEADER = Path("/usr/include/x86_64-linux-gnu/asm/unistd_64.h")
OTHER_HEADER = Path("/usr/include/asm-generic/unistd.h")


@needs_landlock
def test_nothing_is_written_outside_the_scratch_folder(workshop: Workshop, art: Path) -> None:
    before = (art.read_bytes(), sorted(art.parent.rglob("*")))
    told = workshop.run(job(hostile.write_outside, art))
    assert told == [DENIED] * 8
    assert art.read_bytes() == before[0]
    assert not (Path(hostile.__file__).parent / "left-behind").exists()


def test_attributes_of_files_are_left_alone(workshop: Workshop, art: Path) -> None:
    before = art.stat()
    assert workshop.run(job(hostile.change_attributes, art)) == [DENIED] * 4
    assert (art.stat().st_mode, art.stat().st_mtime) == (before.st_mode, before.st_mtime)


@needs_landlock
def test_only_the_one_file_is_read(workshop: Workshop, art: Path) -> None:
    art.with_name("other.txt").write_text("another customer's")
    assert workshop.run(job(hostile.read_others, art)) == [DENIED, DENIED, DENIED, DENIED, "done"]


def test_a_link_leads_to_the_one_file(workshop: Workshop, art: Path) -> None:
    place = art.parent / "elsewhere"
    place.mkdir()
    link = place / "link.png"
    link.symlink_to(art)
    assert workshop.run(job(hostile.read_others, link))[-1] == "done"


@needs_landlock
def test_a_folder_named_as_the_file_opens_nothing_in_it(workshop: Workshop, art: Path) -> None:
    art.with_name("other.txt").write_text("another customer's")
    (art.parent / "inner").mkdir()
    told = workshop.run(job(hostile.read_others, art.parent / "inner"))
    assert told[0] == DENIED


def test_the_scratch_folder_is_there_to_be_written(workshop: Workshop, art: Path) -> None:
    assert workshop.run(job(hostile.use_the_scratch, art)) == ["done"] * 5


def test_no_file_grows_without_end(workshop: Workshop, art: Path) -> None:
    assert workshop.run(job(hostile.write_much, art)) == ["OSError"]


def test_there_is_no_network(workshop: Workshop, art: Path) -> None:
    assert workshop.run(job(hostile.call_home, art)) == [DENIED] * 5


def test_no_process_is_started(workshop: Workshop, art: Path) -> None:
    assert workshop.run(job(hostile.start_others, art)) == [DENIED] * 3


def test_other_processes_are_left_alone(workshop: Workshop, art: Path) -> None:
    assert workshop.run(job(hostile.harm_others, art)) == [DENIED] * 3


@needs_landlock
def test_a_program_that_is_wanted_runs_under_the_same_limits(workshop: Workshop, art: Path) -> None:
    told = workshop.run(job(hostile.run_a_program, art, programs=True))
    assert told == ["made", "kept out", "blind", ""]
    assert not art.with_name("written").exists()


def test_a_program_ends_with_its_child(workshop: Workshop, art: Path) -> None:
    (pid,) = workshop.run(job(hostile.leave_a_program, art, programs=True))
    for _ in range(100):
        if not alive(int(pid)):
            return
        time.sleep(0.02)
    pytest.fail("it still runs")


@pytest.mark.skipif(not LINUX, reason="elsewhere the time of a child is not known")
@pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning")
def test_time_that_a_program_took_is_counted_though_nobody_waited_for_it(art: Path) -> None:
    """The child itself takes a few hundredths of a second."""
    with Workshop(Limits(), method="fork") as workshop:
        child = workshop.start(job(hostile.leave_a_busy_program, art, programs=True))
        while child in workshop._busy:
            workshop._look()
    child.answer()
    assert child.cpu_seconds is not None
    assert child.cpu_seconds > 0.4


def test_no_open_file_of_the_parent_comes_along(workshop: Workshop, art: Path, tmp_path: Path) -> None:
    with (tmp_path / "report.part").open("w"), (tmp_path / "other").open("rb+" if False else "w"):
        found = workshop.run(job(hostile.find_open_files, art))
    assert not [name for name in found if "report.part" in name or "other" in name]
    pipes = [name for name in found if name.startswith(("pipe:", "socket:"))]
    assert len(pipes) <= (1 if workshop._method == "fork" else 4), found


def test_each_child_is_another_process_with_another_folder(workshop: Workshop, art: Path) -> None:
    one, other = (workshop.run(job(hostile.who, art)) for _ in range(2))
    assert one[0] != other[0]
    assert one[1] != other[1]


def test_the_protections_are_told_as_they_are() -> None:
    told = "\n".join(protections(Limits(memory=3 * 2**30, seconds=7)))
    assert "3 GB" in told
    assert "7 s" in told
    assert ("Landlock" in told) == bool(landlock.version())
    assert ("no network" in told) == (os.uname().machine in ("x86_64", "aarch64"))
    assert "no program is started" in told


def test_a_kernel_without_landlock_or_filter_is_told_as_that(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(*_: object, **__: object) -> int:
        raise OSError("not there")

    monkeypatch.setattr(landlock, "confine", missing)
    monkeypatch.setattr(syscalls, "install", missing)
    told = "\n".join(protections(method="fork"))
    assert "Landlock" not in told
    assert "network" not in told
    assert "memory: 2 GB" in told


@pytest.mark.skipif(not HEADER.is_file(), reason="the kernel's header for x86-64 is not installed")
def test_the_numbers_of_the_calls_are_those_of_the_kernel() -> None:
    known = dict(re.findall(r"#define __NR_(\w+)\s+(\d+)", HEADER.read_text()))
    listed = syscalls.refused("x86_64", programs=False)
    assert len(listed) > 60
    assert {name: number for name, number in listed.items() if name in known} == {
        name: int(known[name]) for name in listed if name in known
    }
    assert len([name for name in listed if name not in known]) <= 3


@pytest.mark.skipif(not OTHER_HEADER.is_file(), reason="the kernel's generic header is not installed")
def test_the_numbers_of_the_other_machine_too() -> None:
    known = dict(re.findall(r"#define __NR(?:3264)?_(\w+)\s+(\d+)", OTHER_HEADER.read_text()))
    listed = syscalls.refused("aarch64", programs=False)
    assert {name: number for name, number in listed.items() if name in known} == {
        name: int(known[name]) for name in listed if name in known
    }
    assert len([name for name in listed if name not in known]) <= 3


@pytest.mark.skipif(ctypes.sizeof(ctypes.c_void_p) != 8, reason="sizes of a 64-bit system")
def test_the_limits_of_windows_have_the_documented_shape() -> None:
    wanted = windows.extended(Limits(memory=2**31), programs=False)
    assert ctypes.sizeof(wanted) == 144
    data = bytes(wanted)
    assert int.from_bytes(data[:8], "little") == Limits().cpu(1000.0) * 10**7
    assert int.from_bytes(data[16:20], "little") == 0x2 | 0x8 | 0x100 | 0x400
    assert int.from_bytes(data[40:44], "little") == 1
    assert int.from_bytes(data[112:120], "little") == 2**31


SCRIPT = """
    import os, signal, sys
    from pathlib import Path
    from preflight.child import Workshop
    from tests.child import hostile
    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with Workshop() as workshop:
            child = workshop.start(hostile.job(hostile.sleep, Path("art.png")))
            print(child.process.pid, child.scratch.parent, flush=True)
            workshop.finished()
    except KeyboardInterrupt:
        print("stopped", flush=True)
"""


def interrupted(how: signal.Signals, tmp_path: Path) -> tuple[str, int, Path]:
    """Let a parent be hit by a signal while its child sleeps: what it still said, its child's number, its folder."""
    root = Path(__file__).parents[2]
    environment = {**os.environ, "PYTHONPATH": str(root), "TMPDIR": str(tmp_path), "OPENBLAS_NUM_THREADS": "1"}
    parent = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(SCRIPT)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=environment,
        cwd=root,
        start_new_session=True,
    )
    assert parent.stdout is not None
    pid, folder = parent.stdout.readline().split()
    time.sleep(0.3)
    os.killpg(parent.pid, how)
    said, _ = parent.communicate(timeout=20)
    return said, int(pid), Path(folder)


def test_ctrl_c_ends_the_children_and_clears_up(tmp_path: Path) -> None:
    said, pid, folder = interrupted(signal.SIGINT, tmp_path)
    assert said == "stopped\n"
    assert not alive(pid)
    assert not folder.exists()


def test_a_child_dies_with_its_parent(tmp_path: Path) -> None:
    _, pid, _ = interrupted(signal.SIGKILL, tmp_path)
    for _ in range(100):
        if not alive(pid):
            return
        time.sleep(0.02)
    pytest.fail("it outlived its parent")


@pytest.mark.parametrize("closed", ["<&-", "<&- 2>&-", "<&- >&- 2>&-"])
def test_a_parent_without_standard_streams_gets_its_answer(tmp_path: Path, closed: str) -> None:
    root = Path(__file__).parents[2]
    code = (
        "import sys; from pathlib import Path; from preflight.child import Workshop; from tests.child import hostile\n"
        "with Workshop() as workshop:\n"
        "    told = workshop.run(hostile.job(hostile.chatter, Path('art.png')))\n"
        "    Path(sys.argv[1]).write_text(str(told))\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(root), "OPENBLAS_NUM_THREADS": "1"}
    shell = ["/bin/sh", "-c", f'exec "$@" {closed}', "sh", sys.executable, "-c", code, str(tmp_path / "told")]
    subprocess.run(shell, cwd=root, env=environment, check=True)
    assert (tmp_path / "told").read_text() == "[]"


def alive(pid: int) -> bool:
    """Whether a process is there and no mere entry that nobody has waited for."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    except (FileNotFoundError, ProcessLookupError):
        return False
