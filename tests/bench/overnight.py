"""How far one machine goes overnight: files an hour with one job and two, and what 100,000 remembered files cost.

Run ``python -m tests.bench.overnight``; with ``--write`` the tables go between the markers of ``docs/scale.md``.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from preflight.model import CHANNELS
from preflight.overnight.finished import Folder, Stamp, state_of
from preflight.overnight.ledger import Ledger, Row

from .heavy_sheets import make
from .speed import about
from .tables import put, table

ROOT = Path(__file__).resolve().parents[2]
#: Most load of the machine at which two jobs against one say anything.
QUIET = 1.5
REMEMBERED = (0, 1_000, 10_000, 100_000)
_TOLD = {
    "file": "a.png", "verdict": "ready", "pages": 1, "rule": None, "title": None, "fix": None, "findings": 0,
    "copies": 2, "garments": ["navy"], "mode": None, "reference": None, "width_mm": 50.0, "height_mm": 40.0,
    "grams": dict.fromkeys(CHANNELS, 1.5), "film_mm": 500.0, "minutes": 2.0, "total": 3.0, "interval": [2.0, 4.0],
    "currency": "EUR",
}  # fmt: skip


def remembered(folder: Path) -> list[tuple[str, ...]]:
    """A row for each count of files in the ledger: seconds for a look-up, an entry, and a look at the kept folder."""
    rows = []
    ledger = Ledger(folder / "preflight.sqlite")
    kept = folder / "in"
    done = 0
    for count in REMEMBERED:
        _fill(ledger, kept, done, count)
        done = count
        asked = [f"sum {number}" for number in range(0, max(count, 1), max(1, count // 50))]
        look_up = _best(partial(_look_up, ledger, asked), len(asked))
        entries = (_row(f"new {count} {number}", 1.0) for number in range(100))
        entry = _best(partial(_enter, ledger, entries), 1, time.perf_counter)
        known, place = ledger.kept(), Folder(kept)
        place.scan()
        scan = _best(partial(_look, place, known), 1)
        size = (folder / "preflight.sqlite").stat().st_size / 1e6
        rows.append((f"{count:,}", f"{look_up * 1e3:.2f}", f"{entry * 1e3:.1f}", f"{scan * 1e3:.0f}", f"{size:.1f}"))
    ledger.close()
    return rows


def _look_up(ledger: Ledger, sums: Iterable[str]) -> None:
    for total in sums:
        ledger.same(total, "set")


def _enter(ledger: Ledger, rows: Iterator[Row]) -> None:
    ledger.add(next(rows))


def _look(place: Folder, known: dict[str, str]) -> int:
    """A look at the folder with originals kept in place: each is compared with its state."""
    return len(place.scan(known).found)


def _fill(ledger: Ledger, kept: Path, start: int, end: int) -> None:
    kept.mkdir(exist_ok=True)
    with ledger._writing() as database:
        for number in range(start, end):
            row = _row(f"order-{number // 40}/{number}.png", float(number))
            path = kept / row.file
            if number % 40 == 0:
                path.parent.mkdir(exist_ok=True)
            path.write_bytes(b"")
            values = (
                row.id, row.at, json.dumps(row.file), f"sum {number}", "set", row.verdict, 1, 0.5, 3.0, "EUR", 0, "[]",
                None, json.dumps(row.summary),
            )  # fmt: skip
            database.execute(f"INSERT INTO answers VALUES ({', '.join('?' * len(values))})", values)
            stamp = state_of(Stamp.of(path.stat()), {})
            database.execute("INSERT INTO kept VALUES (?, ?)", (json.dumps(row.file), stamp))


def _row(name: str, at: float) -> Row:
    return Row(name, at, name, "sum", "set", "ready", 1, 0.5, 3.0, "EUR", False, (), None, {**_TOLD, "file": name})


def _best(work: Callable[[], object], times: int, clock: Callable[[], float] = time.process_time) -> float:
    """Seconds of one of ``times`` pieces of the work, the best of five."""
    best = float("inf")
    for _ in range(5):
        start = clock()
        work()
        best = min(best, clock() - start)
    return best / times


@dataclass(frozen=True, slots=True)
class Took:
    """What a night took: seconds on the clock, and of the processors."""

    clock: float
    cpu: float

    def least(self, other: Took | None) -> Took:
        """The quicker of both, each figure by itself."""
        return self if other is None else Took(min(self.clock, other.clock), min(self.cpu, other.cpu))


def throughput(folder: Path, count: int, formats: str) -> tuple[list[tuple[str, ...]], float]:
    """A row for each number of jobs, and how many times faster two are than one.

    Taken off is the time of a night with a single file of a few bytes: starting, seeing that a file is still, the
    morning sheet.
    """
    source = Path(make(folder, "a3-artwork")).read_bytes()
    whole: dict[int, Took] = {}
    empty: dict[int, Took] = {}
    for jobs in (1, 2, 1, 2):
        empty[jobs] = _night(folder, [b"no artwork"], jobs, formats).least(empty.get(jobs))
        # What is added stands after the end of the picture, where nothing is looked at.
        files = (source + b"%d" % number for number in range(count))
        whole[jobs] = _night(folder, files, jobs, formats).least(whole.get(jobs))
    rows, seconds = [], {}
    for jobs in sorted(whole):
        seconds[jobs] = each = (whole[jobs].clock - empty[jobs].clock) / count
        cpu = (whole[jobs].cpu - empty[jobs].cpu) / count
        rows.append(
            (str(jobs), f"{each * count:.1f}", f"{each:.3f}", f"{cpu:.3f}", f"{cpu / each:.2f}", f"{3600 / each:,.0f}")
        )
    return rows, seconds[1] / seconds[2]


def _night(folder: Path, files: Iterable[bytes], jobs: int, formats: str) -> Took:
    """What ``watch --once`` takes for such files."""
    incoming, out = folder / "in", folder / "out"
    for place in (incoming, out):
        shutil.rmtree(place, ignore_errors=True)
    incoming.mkdir()
    count = 0
    for number, data in enumerate(files):
        (incoming / f"{number}.png").write_bytes(data)
        count += 1
    os.sync()  # or the first fsync of the night pays for what was just written
    command = [sys.executable, "-m", "preflight", "watch", str(incoming), str(out), "--once", "--jobs", str(jobs)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    start, before = time.perf_counter(), _cpu()
    subprocess.run(
        [*command, "--formats", formats, "--width", "297mm", "--size-of", "canvas"], env=environment, check=False,
        stdout=subprocess.DEVNULL,
    )  # fmt: skip
    took = Took(time.perf_counter() - start, _cpu() - before)
    if len(list(out.rglob("*.report.json"))) != count:
        raise RuntimeError("not every file was answered")
    return took


def _cpu() -> float:
    """Seconds of the processor that ended children took, and theirs."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main() -> int:
    """Measure, print, and write where asked."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=60)
    options.add_argument("--formats", default="json,text,html")
    options.add_argument("--write", action="store_true")
    options.add_argument("--only", choices=("remembered", "throughput"))
    asked = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="overnight-") as name:
        if asked.only != "throughput":
            rows = remembered(Path(name))
            heads = ("remembered", "look-up, ms CPU", "entry, ms", "a look at the kept folder, ms CPU", "ledger, MB")
            _tell("remembered", f"{about()}\n\n{table(heads, rows)}", write=asked.write)
        if asked.only != "remembered":
            load = os.getloadavg()[0]
            rows, faster = throughput(Path(name), asked.count, asked.formats)
            quiet = "" if load < QUIET else f" The machine was not quiet (load {load:.1f}): it must be measured again."
            heads = ("jobs", "seconds", "seconds a file", "CPU seconds a file", "processors busy", "files an hour")
            told = f"{about()}\n\n{table(heads, rows)}\n\nTwo jobs are **{faster:.2f} ×** as fast as one.{quiet}"
            _tell("throughput", told, write=asked.write)
    return 0


def _tell(mark: str, text: str, *, write: bool) -> None:
    print(text)
    if write:
        put("scale.md", mark, text)


if __name__ == "__main__":
    sys.exit(main())
