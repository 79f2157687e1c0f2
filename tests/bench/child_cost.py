"""What a child of its own for each file costs, beside the same check without one.

    python -m tests.bench.child_cost --write

Warm: milliseconds a file, once the program is loaded and has answered files before. Cold: the whole command for one
file. Both are measured in fresh processes in turn, so that other work on the machine meets all alike; the least of the
rounds counts. CPU is user plus system time of the process and its children.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

from .heavy_sheets import PPI, make
from .tables import machine, put, table

_ROOT = Path(__file__).parents[2]
_WARM = ("bare", "child", "two at once")
_COLD = ("cold bare", "cold child")


def once(mode: str, path: Path, width_mm: float, count: int) -> tuple[float, float]:
    """Milliseconds of CPU and on the clock for a file, in a process that is ready for it."""
    from preflight.child import Workshop
    from preflight.engine import Checker
    from preflight.jobs import answers
    from preflight.rulebook import load_rulebook
    from preflight.shop import Shop
    from preflight.ticket import Order
    from tests.direct import Direct

    shop = Shop.default()
    checker = Checker(Order(width_mm=width_mm), shop, load_rulebook(shop))
    at_once = 2 if mode == "two at once" else 1
    with Direct() if mode == "bare" else Workshop() as workshop:
        workshop.warm_up(checker.separation)
        list(answers([path] * at_once, checker.way, workshop, at_once))
        cpu, clock = _cpu(), time.perf_counter()
        files = answers([path] * count, checker.way, workshop, at_once)
        reports = [report for each in files for report in each]
        cpu, clock = _cpu() - cpu, time.perf_counter() - clock
    if any("traceback" in report.extra or report.print_size is None for report in reports):
        raise RuntimeError(f"{path.name} was not measured")
    return cpu / count * 1000, clock / count * 1000


def command(mode: str, path: Path, width_mm: float) -> tuple[float, float]:
    """The same for the whole command, from its start to its end."""
    from preflight import cli
    from preflight.commands import check
    from tests.direct import Direct

    if mode == "cold bare":
        check.Workshop = Direct  # type: ignore[misc]
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
    with contextlib.suppress(SystemExit):
        cli.main(["check", str(path), "--width", f"{width_mm:.3f}mm", "--size-of", "canvas"])
    sys.stdout = sys.__stdout__
    return _cpu() * 1000, time.clock_gettime(time.CLOCK_MONOTONIC) * 1000


def _cpu() -> float:
    import resource

    both = (resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in both)


def _fresh(mode: str, path: Path, width_mm: float, count: int) -> tuple[float, float]:
    """One of the two above in a fresh process."""
    run = [sys.executable, "-m", "tests.bench.child_cost", "--mode", mode, "--picture", str(path)]
    run += ["--width", str(width_mm), "--count", str(count)]
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": str(_ROOT)}
    start = time.clock_gettime(time.CLOCK_MONOTONIC) * 1000
    done = subprocess.run(run, capture_output=True, text=True, cwd=_ROOT, env=environment, check=True)
    cpu, clock = (float(word) for word in done.stdout.split())
    return cpu, clock - start if mode in _COLD else clock


def pictures(folder: Path) -> Iterable[tuple[str, Path, float, int]]:
    """What is measured: its name, the file, the print's width, how often a round does it."""
    from PIL import Image, ImageDraw

    small = folder / "small.png"
    picture = Image.new("RGBA", (600, 400))
    ImageDraw.Draw(picture).ellipse((40, 40, 560, 360), fill=(200, 30, 60, 255))
    picture.save(small)
    yield "600 × 400 px", small, 600 * 25.4 / PPI, 40
    yield "A3, 3508 × 4961 px", make(folder, "a3-artwork"), 297.0, 6


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "bench-sheets")
    options.add_argument("--times", type=int, default=5)
    options.add_argument("--write", action="store_true", help="write the table to docs/security.md")
    for hidden, kind in (("--mode", str), ("--picture", Path), ("--width", float), ("--count", int)):
        options.add_argument(hidden, type=kind, help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.mode:
        measured = (
            command(asked.mode, asked.picture, asked.width)
            if asked.mode in _COLD
            else once(asked.mode, asked.picture, asked.width, asked.count)
        )
        print(*measured)
        return 0
    asked.folder.mkdir(parents=True, exist_ok=True)
    rows = [_row(*picture, asked.times) for picture in pictures(asked.folder)]
    text = f"{machine()}. The least of {asked.times} rounds in turn.\n\n{table(_HEAD, rows)}"
    print(text)
    if asked.write:
        put("security.md", "child", text)
    return 0


_HEAD = ("picture", "without a child, ms CPU", "in a child", "more", "in a child, ms on the clock", "two at once",
         "whole command without, ms CPU", "with", "more")  # fmt: skip


def _row(told: str, path: Path, width_mm: float, count: int, times: int) -> tuple[object, ...]:
    found: dict[str, list[tuple[float, float]]] = {}
    for _ in range(times):
        for mode in (*_WARM, *_COLD):
            found.setdefault(mode, []).append(_fresh(mode, path, width_mm, count))
    cpu = {mode: min(one[0] for one in runs) for mode, runs in found.items()}
    clock = {mode: min(one[1] for one in runs) for mode, runs in found.items()}
    return (
        told, f"{cpu['bare']:.0f}", f"{cpu['child']:.0f}", f"**{cpu['child'] - cpu['bare']:.0f}**",
        f"{clock['child']:.0f}", f"{clock['two at once']:.0f}",
        f"{cpu['cold bare']:.0f}", f"{cpu['cold child']:.0f}", f"**{cpu['cold child'] - cpu['cold bare']:.0f}**",
    )  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
