"""Every file through the real checker: its own children, its own limits, as the command does it."""

from __future__ import annotations

import contextlib
import hashlib
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from preflight.child import Child, Limits, Workshop
from preflight.child.workshop import usual_method
from preflight.engine import Checker
from preflight.errors import ChildDied
from preflight.jobs import answers
from preflight.model import Report
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order

from .bombs.damaged import art
from .record import Life, Record, read, record, write

#: What every file is ordered as.
ORDER = Order(width_mm=280.0, garments=("black",))
#: A good file is looked at again after so many others.
EVERY = 50
_ROOT = Path(__file__).parents[3]


class Watched(Workshop):
    """A workshop that keeps what became of each child."""

    def __init__(self, limits: Limits) -> None:
        super().__init__(limits, idle=self._sample)
        self._peaks: dict[int, int] = {}
        self._lives: dict[Path, list[Life]] = {}

    def lives(self, path: Path) -> list[Life]:
        """Those of a file; they are told once."""
        return self._lives.pop(path, [])

    def _sample(self) -> None:
        """Look at the memory of those at work: a child that dies does not tell of it."""
        for child in self._busy:
            with contextlib.suppress(OSError, ValueError, AttributeError, StopIteration):
                status = Path(f"/proc/{child.process.pid}/status").read_text(encoding="ascii")  # type: ignore[attr-defined]
                line = next(line for line in status.splitlines() if line.startswith("VmHWM:"))
                self._peaks[id(child)] = int(line.split()[1]) * 1024

    def _finish(self, child: Child[Any], outcome: object, patience: float) -> None:
        clock = time.monotonic() - child.started
        super()._finish(child, outcome, patience)
        how = child._outcome.how if isinstance(child._outcome, ChildDied) else None
        peak = max(child.peak, self._peaks.pop(id(child), 0))
        if child.job.path is not None:
            self._lives.setdefault(child.job.path, []).append(
                Life(child.cpu_seconds or 0.0, clock, peak, how, child.said)
            )


@dataclass(frozen=True, slots=True)
class Outcome:
    """How often the good file was asked about and answered otherwise than at the start."""

    asked: int
    otherwise: int


def run(folder: Path, records: Path, *, jobs: int, only: Sequence[str], again: bool) -> Outcome:
    """Check each file of ``folder``/files that ``records`` does not tell of yet.

    Parameters
    ----------
    records
        Lines of JSON are added to it.
    jobs
        Files at the same time.
    only
        Corpora, or corpus/file; none: all.
    again
        Check those too that have been answered by an earlier state of the program.
    """
    shop = Shop.default()
    checker = Checker(ORDER, shop, load_rulebook(shop))
    now = state()
    done = {(one.corpus, one.file) for one in read(records) if not again or one.state == now}
    todo = [path for path in files(folder, only) if (path.parent.name, path.name) not in done]
    good = folder / "good.png"
    art().resize((2400, 1600)).save(good)
    turns: list[Path] = []
    for number, path in enumerate(todo):
        turns += [good] if number % EVERY == 0 else []
        turns.append(path)
    turns.append(good)
    asked = otherwise = 0
    first: tuple[Report, ...] | None = None
    with Watched(Limits.of(shop)) as workshop:
        if sys.platform == "linux" and usual_method() != "fork":
            raise RuntimeError("a library has started threads: children would not be started as the command does")
        workshop.warm_up(checker.separation)
        for path, reports in zip(turns, answers(turns, checker.way, workshop, jobs), strict=True):
            if path == good:
                plain = tuple(replace(report, seconds=0.0) for report in reports)
                first = first or plain
                asked, otherwise = asked + 1, otherwise + (plain != first)
                continue
            one = record(path.parent.name, path, now, reports, workshop.lives(path))
            write(records, [one])
            _tell(one)
    return Outcome(asked, otherwise)


def files(folder: Path, only: Sequence[str] = ()) -> Iterator[Path]:
    """All files, corpus by corpus."""
    for path in sorted((folder / "files").glob("*/*")):
        corpus = path.parent.name
        if not only or corpus in only or f"{corpus}/{path.name}" in only:
            yield path


def state() -> str:
    """Eight letters that change with the program and its rules."""
    digest = hashlib.sha256()
    for path in sorted((*(_ROOT / "preflight").rglob("*.py"), *(_ROOT / "rules").glob("*.toml"))):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:8]


def _tell(one: Record) -> None:
    """On standard error what must not be, and what took long."""
    if one.failure or one.deaths or not one.verdicts or one.slowest > 10:
        last = (one.failure or "").strip().rpartition("\n")[2]
        print(f"{one.corpus}/{one.file!r}: {one.verdict} {one.deaths} {one.slowest} s {last}", file=sys.stderr)
