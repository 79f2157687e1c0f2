"""The watcher: looks, takes, answers, waits, and begins again. Whatever happens to one file, the others go on."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from preflight.child import Workshop
from preflight.errors import PreflightError
from preflight.jobs import Way, answers
from preflight.overnight import work
from preflight.overnight.diary import Diary
from preflight.overnight.disk import sweep
from preflight.overnight.faults import Delays, told
from preflight.overnight.finished import STILL, Folder, Found, Scan, Stamp
from preflight.overnight.handling import MOST_FAULTS, Handling, PassingError, StillArrivingError
from preflight.overnight.late import LateTickets
from preflight.overnight.ledger import NAME as LEDGER
from preflight.overnight.ledger import Ledger, Row
from preflight.overnight.lock import Lock
from preflight.overnight.mornings import Mornings
from preflight.overnight.reasons import ARRIVING, SHORT, TICKETLESS, WRITTEN
from preflight.overnight.settings import Settings
from preflight.overnight.waiting import wait
from preflight.overnight.work import Item
from preflight.overnight.writers import being_written

#: Delays under this name concern the folders and not one file.
_FOLDERS = ""
#: So many looks in vain are spent on files that still arrive before ``--once`` leaves them for the next time.
_IDLE_LOOKS = 4
#: Between two looks lies so many times what one takes: a folder with very many originals kept in place costs little.
_PAUSES = 10.0


class Watcher:
    """One watcher at work.

    Parameters
    ----------
    settings
        What it is told to do.
    workshop
        Makes the place where files are opened, a new one each time: scratch folders do not live for weeks.
    lock
        Held, on the folder of answers.
    tell
        Is called with the watcher whenever something is new, for who shows it.
    """

    def __init__(
        self,
        settings: Settings,
        workshop: Callable[[], Workshop],
        lock: Lock,
        tell: Callable[[Watcher], None] | None = None,
    ) -> None:
        self.settings, self._workshop = settings, workshop
        self.verdicts: Counter[str] = Counter()  #: answered by this run
        self.in_hand: dict[Path, Item] = {}
        self.scan = Scan()
        self.delays = Delays()
        self.stopping = False
        self._lock, self._tell = lock, tell
        self._work = settings.out / work.NAME
        self._ledger = Ledger(settings.out / LEDGER)
        self._handling = Handling(settings, self._ledger)
        self._folder = Folder(settings.root)
        self._diary = Diary(settings.out)
        self._late = LateTickets(self._ledger, settings, self._diary)
        self._mornings = Mornings(settings, self._ledger, self._diary)
        self._kept: dict[str, str] | None = None
        self._short: dict[str, tuple[Stamp, float]] = {}
        self._tasks: dict[Path, Found | Item] = {}
        self._final: set[str] = set()
        self._look_took = 0.0

    def run(self, *, once: bool) -> None:
        """Work until ``stop`` is called; with ``once`` until everything finished that lies there is answered."""
        self._diary.note("start", root=str(self.settings.root), once=once)
        idle = 0
        sweep(self.settings.out)
        try:
            while not self.stopping:
                idle = 0 if self._guarded_pass() else idle + 1
                if once and self._nothing_left(idle):
                    break
                if idle and not self.stopping:
                    self._wait(once=once)
        finally:
            self._close()

    def _nothing_left(self, idle: int) -> bool:
        """Whether one more look, after so many idle ones, would bring no more now."""
        if any(each.tries <= MOST_FAULTS for each in self.delays.waiting.values()):
            return False
        return idle >= (_IDLE_LOOKS if self.scan.arriving else 2)

    def stop(self) -> None:
        """Take nothing more; what is in hand is finished."""
        self.stopping = True

    def pulse(self) -> None:
        """Time goes by while children work."""
        self._diary.beat(self.state)
        if self._tell is not None:
            self._tell(self)

    def not_yet(self) -> dict[str, str]:
        """What could not be answered so far, and why."""
        told = {each.rel: ARRIVING for each in self.scan.arriving}
        told |= dict.fromkeys(self._short, SHORT)
        if self.settings.wait_for_ticket:
            told |= {each.rel: TICKETLESS for each in self.scan.found if not each.tickets}
        told |= {each.label: each.why for each in self.delays.waiting.values()}
        return told

    def state(self) -> dict[str, Any]:
        """What it is doing, plain data for the heartbeat."""
        return {
            "state": "ending" if self.stopping else "working" if self.in_hand else "waiting",
            "in_hand": sorted(item.rel for item in self.in_hand.values()),
            "answered": dict(self.verdicts),
            "not_yet": self.not_yet(),
            "left_alone": dict(self.scan.left),
            "tickets_without_artwork": list(self.scan.lonely),
        }

    def _guarded_pass(self) -> bool:
        """One pass; a fault of the folders themselves is met with patience."""
        if not self.delays.due(_FOLDERS):
            return False
        try:
            if not self._lock.still_there():
                raise OSError("the folder of answers has vanished")
            worked = self._pass()
        except (OSError, PreflightError) as slip:
            where = getattr(slip, "filename", None) or self.settings.out
            delay = self.delays.add(_FOLDERS, f"{where}: {told(slip)}", "the folders")
            self._diary.note("trouble", why=delay.why, tries=delay.tries)
            worked = False
        else:
            self.delays.over(_FOLDERS)
        self._diary.beat(self.state, always=worked)
        if self._tell is not None:
            self._tell(self)
        return worked

    def _pass(self) -> bool:
        """Answer whatever can be answered now; whether anything was."""
        before = self.verdicts.total()
        self._tasks = {}
        waiting = list(work.left(self._work, self.settings.root, self._stuck))
        for item in waiting:
            if self.delays.due(item.id):
                self._tasks[item.folder] = item
        if self._kept is None:
            self._kept = self._ledger.kept()
        start = time.process_time()
        self.scan = self._folder.scan(self._kept)
        self._look_took = time.process_time() - start
        fetched = self._late.fetch(self.scan.late)
        taken = {item.rel for item in waiting if item.way == "keep"}
        for found in self._wanted(taken):
            self._tasks[found.path] = found
        self._forget()
        if self._tasks:
            with self._workshop() as workshop:
                for _ in answers(list(self._tasks), self._way, workshop, self.settings.jobs):
                    pass
        self._mornings.keep(self.state)
        return fetched or self.verdicts.total() > before

    def _wanted(self, taken: set[str]) -> list[Found]:
        """The finished files that are to be answered now."""
        wanted = []
        for each in self.scan.found:
            parked = self._short.get(each.rel)
            if parked is not None and (parked[0] != each.stamp or parked[1] <= time.monotonic()):
                del self._short[each.rel]
                parked = None
            ticketed = each.tickets or not self.settings.wait_for_ticket
            if each.finished and ticketed and parked is None and each.rel not in taken and self.delays.due(each.rel):
                wanted.append(each)
        return wanted

    def _forget(self) -> None:
        """Files that went away are waited for no longer."""
        here = {each.rel for each in self.scan.found}
        for rel in [rel for rel in self._short if rel not in here]:
            del self._short[rel]
        at_work = {path.name for path in self._work.iterdir()}
        for name in [name for name in self.delays.waiting if name not in here | at_work | {_FOLDERS}]:
            self.delays.over(name)

    def _way(self, path: Path) -> Way[Any, Any]:
        """The way of one task, for ``jobs.answers``; raises nothing."""
        task = self._tasks[path]
        if self.stopping:
            return ()
        name = task.rel if isinstance(task, Found) else task.id
        try:
            item = self._taken(task) if isinstance(task, Found) else task
            if item is not None:
                name = item.id
                still = task.still if isinstance(task, Found) else 0.0
                yield None
                if self._too_late(task):
                    return ()  # it is given back at the end
                yield from self._worked(item, math.inf if item.id in self._final else still)
        except OSError as slip:
            self._later(name, told(slip), task.rel)
        except Exception as failure:  # noqa: BLE001 - one file must not take the others' answers
            self._later(name, f"this program failed on it ({type(failure).__name__}: {failure})", task.rel)
        return ()

    def _too_late(self, task: Found | Item) -> bool:
        """Whether a file that was just taken is better not begun."""
        return self.stopping and isinstance(task, Found)

    def _taken(self, found: Found) -> Item | None:
        if being_written(found.path):
            self._later(found.rel, WRITTEN, found.rel)
            return None
        self.delays.over(found.rel)
        keep = self.settings.originals == "keep"
        try:
            item = work.take(found, self.settings.root, self._work, found.state, keep=keep)
        except work.NotYetError:
            return None
        self._diary.note("taken", file=found.rel, work=item.id)
        return item

    def _worked(self, item: Item, still: float) -> Way[Any, Any]:
        """Answer a file in hand, and put it in its place."""
        self.in_hand[item.folder] = item
        self.pulse()
        try:
            if item.answer() is None:
                yield from self._handling.answered(item, still, self.delays.tries(item.id))
            row = yield from self._handling.finish(item)
            self._count(row, item)
        except StillArrivingError:
            self._parked(item)
        except PassingError as slip:
            item.ended()
            self._later(item.id, str(slip), item.rel)
        except OSError:
            with suppress(OSError):
                item.ended()
            raise
        finally:
            self.in_hand.pop(item.folder, None)
        return ()

    def _parked(self, item: Item) -> None:
        """Give a file back that ends too soon, and wait for the rest of it."""
        stamp = None
        if item.artwork.exists():
            stamp = Stamp.of(item.artwork.stat())
        if not work.put_back(item, self.settings.root):
            self._final.add(item.id)  # a newer file of that name has come: nothing more will be written to this one
            return
        if stamp is not None:
            home = Stamp.of((self.settings.root / item.rel).stat())
            self._short[item.rel] = home, time.monotonic() + self.settings.settle
        self._diary.note("incomplete", file=item.rel)

    def _count(self, row: Row, item: Item) -> None:
        self.delays.over(item.id)
        self.verdicts[row.verdict] += 1
        if item.way == "keep" and self._kept is not None:
            self._kept[item.rel] = item.stamp
        told = {"file": row.file, "verdict": row.verdict, "seconds": row.seconds, "tries": row.tries}
        self._diary.note("answered", work=row.id, again=row.again, artwork=row.artwork, **told)
        self.pulse()

    def _later(self, name: str, why: str, rel: str) -> None:
        delay = self.delays.add(name, why, rel)
        self._diary.note("later", file=rel, why=why, tries=delay.tries)

    def _stuck(self, name: str, slip: Exception) -> None:
        self._diary.note("stuck", work=name, why=told(slip))

    def _wait(self, *, once: bool) -> None:
        pause = STILL + 0.05 if once or self.scan.arriving else self.settings.every
        pause = max(min(pause, max(self.settings.every, STILL + 0.05)), _PAUSES * self._look_took)
        until = time.monotonic() + pause
        self._diary.beat(self.state)
        wait(self.settings.root, until, lambda: self.stopping, self.pulse)

    def _close(self) -> None:
        """Give back what is not answered, and say that it is over."""
        with suppress(OSError):
            for item in work.left(self._work, self.settings.root, self._stuck):
                if item.answer() is None:
                    work.put_back(item, self.settings.root)
        with suppress(OSError):
            self._mornings.keep(self.state, last=True)
        self._diary.beat(self.state, always=True)
        self._diary.note("end", answered=dict(self.verdicts))
        self._ledger.close()
