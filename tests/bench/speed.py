"""What a whole check costs, beside what it costs a common imaging library merely to open the same file.

    python -m tests.bench.speed --write

Each figure is the CPU time (user and system) of a fresh process and of its children, the best of three; the largest
process is the peak memory of the largest one among them. The files are drawn in code and kept in ``--folder``.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import os
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import psutil

from .heavy_sheets import PPI, SHEETS, make
from .tables import machine, put, table

#: Most CPU against opening, and most megabytes, by group (the aims of docs/performance.md).
AIMS = {"a3": (2.0, 250), "large": (1.4, 400), "worst": (6.0, 700)}
_OPEN = "import sys; from PIL import Image; Image.MAX_IMAGE_PIXELS = None; Image.open(sys.argv[1]).load()"
_DECODE = """
import sys, pyvips
picture = pyvips.Image.new_from_file(sys.argv[1], access="sequential", fail_on="error")
for y in range(0, picture.height, 256):
    picture.crop(0, y, picture.width, min(256, picture.height - y)).write_to_memory()
"""
_MB = 1e6


@dataclass(frozen=True, slots=True)
class Cost:
    """One process, whole: seconds of CPU, seconds on the clock, megabytes of its largest process."""

    cpu: float
    wall: float
    peak: float


def cost(command: list[str], fine: tuple[int, ...] = (0,)) -> Cost:
    """Run a command and say what it took. Memory is watched from outside, about every 10 ms.

    Raises
    ------
    RuntimeError
        When the command ends with a status that is not ``fine``.
    """
    before = os.times()
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=_environment())
    watch = _Watch(process.pid)
    watch.start()
    _, said = process.communicate()
    wall = time.perf_counter() - start
    watch.join()
    after = os.times()
    if process.returncode not in fine:
        raise RuntimeError(f"{command[:4]} ended with {process.returncode}: {said.decode(errors='replace')[-500:]}")
    cpu = after.children_user - before.children_user + after.children_system - before.children_system
    return Cost(cpu, wall, watch.peak / _MB)


def _environment() -> dict[str, str]:
    root = str(Path(__file__).parents[2])
    paths = [root, *os.environ.get("PYTHONPATH", "").split(os.pathsep)]
    return os.environ | {"PYTHONPATH": os.pathsep.join(path for path in paths if path)}


class _Watch(threading.Thread):
    """The largest resident size that a process or any of its children reached."""

    def __init__(self, pid: int) -> None:
        super().__init__(daemon=True)
        self.pid = pid
        self.peak = 0.0

    def run(self) -> None:
        try:
            parent = psutil.Process(self.pid)
            while parent.status() != psutil.STATUS_ZOMBIE:
                for process in (parent, *parent.children(recursive=True)):
                    self.peak = max(self.peak, _high_water(process))
                time.sleep(0.01)
        except (psutil.Error, OSError):
            return


def _high_water(process: psutil.Process) -> float:
    """Peak resident size where the system keeps it (VmHWM), else the size at this moment."""
    try:
        for line in Path(f"/proc/{process.pid}/status").read_text(encoding="ascii", errors="replace").splitlines():
            if line.startswith("VmHWM:"):
                return float(line.split()[1]) * 1024
    except OSError:
        pass
    return float(process.memory_info().rss)


def best(command: list[str], times: int, fine: tuple[int, ...] = (0,)) -> Cost:
    """The cheapest of several runs; the largest memory of them."""
    runs = [cost(command, fine) for _ in range(times)]
    return Cost(min(r.cpu for r in runs), min(r.wall for r in runs), max(r.peak for r in runs))


def measure(name: str, folder: Path, times: int, jobs: str | None) -> dict[str, Cost]:
    path = str(make(folder, name))
    width = next(sheet[3][0] for sheet in SHEETS if sheet[0] == name)
    python = sys.executable
    check = [python, "-m", "preflight", "check", path, "--width", f"{width * 25.4 / PPI:.3f}mm", "--size-of", "canvas"]
    if jobs:
        check += ["--jobs", jobs]
    return {
        "open": best([python, "-c", _OPEN, path], times),
        "decode": best([python, "-c", _DECODE, path], times),
        "check": best(check, times, (0, 10, 11, 12)),
    }


def row(name: str, told: str, group: str, costs: dict[str, Cost]) -> tuple[object, ...]:
    most_ratio, most_mb = AIMS[group]
    floor, check, decode = costs["open"], costs["check"], costs["decode"]
    ratio = check.cpu / floor.cpu
    kept = "yes" if ratio <= most_ratio and check.peak <= most_mb else "**no**"
    return (
        told, f"{floor.cpu:.2f}", f"{decode.cpu:.2f}", f"{check.cpu:.2f}", f"{check.wall:.2f}",
        f"{decode.cpu / floor.cpu:.2f} ×", f"**{ratio:.2f} ×**", f"{most_ratio:.1f} ×",
        f"{floor.peak:.0f}", f"{check.peak:.0f}", most_mb, kept,
    )  # fmt: skip


_HEAD = ("sheet", "open, s CPU", "decode in strips, s CPU", "check, s CPU", "check, s on the clock", "decode ÷ open",
         "check ÷ open", "aim", "open, MB", "check, MB", "aim, MB", "kept")  # fmt: skip


def about() -> str:
    versions = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in ("pillow", "pyvips", "numpy"))
    return f"{machine()}; {versions}. Best of the runs; CPU is user plus system time of the process and its children."


def start_up(times: int) -> str:
    """What the command costs before it has a file to look at."""
    bare = best([sys.executable, "-c", "pass"], times)
    program = best([sys.executable, "-m", "preflight", "--help"], times)
    return f"Python alone starts in {bare.cpu:.2f} s of CPU, the command with `--help` in {program.cpu:.2f} s."


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "bench-sheets")
    options.add_argument("--times", type=int, default=3)
    options.add_argument("--only", help="names that contain this")
    options.add_argument("--check-jobs", help="passed to the check as --jobs")
    options.add_argument("--write", action="store_true", help="write the table to docs/performance.md")
    asked = options.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    rows = []
    for name, told, _, _, _, group in SHEETS:
        if asked.only and asked.only not in name:
            continue
        costs = measure(name, asked.folder, asked.times, asked.check_jobs)
        rows.append(row(name, told, group, costs))
        print(*rows[-1], sep=" | ", file=sys.stderr)
    text = f"{about()} {start_up(asked.times)}\n\n{table(_HEAD, rows)}"
    print(text)
    if asked.write:
        put("performance.md", "speed", text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
