"""One file's way through the night: taken, checked or answered from the ledger, told, put in its place."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Generator, Sequence
from dataclasses import field, replace
from pathlib import Path
from typing import Any

from preflight.concluding import Source, unread
from preflight.engine import TRACEBACK, Checker
from preflight.errors import PreflightError
from preflight.jobs import Way
from preflight.model import Report
from preflight.overnight import placing, telling
from preflight.overnight.disk import sha256
from preflight.overnight.faults import Listener, crowded
from preflight.overnight.inlanguage import in_language
from preflight.overnight.ledger import Ledger, Row
from preflight.overnight.settings import Settings, under
from preflight.overnight.work import Item
from preflight.overnight.writers import Seen
from preflight.records import dataclass
from preflight.report.letterhead import read_logo
from preflight.ticket import load_ticket, ticket_beside

#: A file at which the work was begun so often, and never ended, is answered without: it may be what ends it.
MOST_BEGUN = 8
#: Faults of one file after which it counts as one that cannot be checked here.
MOST_FAULTS = 3


class PassingError(Exception):
    """The file cannot be answered now; why, in a clause."""


class StillArrivingError(Exception):
    """The file ends too soon, and has not been still for long."""


@dataclass(frozen=True, slots=True)
class _Answer:
    """What is known of a file whose reports are written."""

    verdict: str
    summary: dict[str, Any]
    made: list[tuple[str, str]]  #: format and ending of each report
    again: bool = False  #: from an earlier report
    read: bool = True  #: it could be read


@dataclass(slots=True)
class Handling:
    """What all files have in common.

    Parameters
    ----------
    settings
        What the watcher is told to do.
    ledger
        Of answers.
    """

    settings: Settings
    ledger: Ledger
    _digest: str = field(init=False)

    def __post_init__(self) -> None:
        self._digest = self.settings.digest()

    def answered(self, item: Item, still: float, faults: int) -> Way[Any, None]:
        """Answer a file in hand; ends with its reports' place written down (``Item.settle``), and raises what passes.

        Parameters
        ----------
        still
            Seconds for which the file did not change before it was taken.
        faults
            How often it met a fault already.

        Raises
        ------
        PassingError, OSError
            When it is to be tried again.
        StillArrivingError
            When it may not be complete.
        """
        start, at = time.monotonic(), time.time()
        seen, total = Seen.of(item.artwork), sha256(item.artwork)
        settings = self._settings_of(item)
        answer = self._again(item, total, settings)
        if answer is None:
            item.begin()
            answer = yield from self._anew(item, total, still, faults)
        if not (answer.read and seen.still(item.artwork)) and sha256(item.artwork) != total:
            raise PassingError("somebody still wrote to it while it was checked")
        item.settle(
            {
                "verdict": answer.verdict,
                "sha256": total,
                "settings": settings,
                "at": at,
                "tries": max(1, item.begun) + faults,
                "seconds": round(time.monotonic() - start, 3),
                "again": answer.again,
                "summary": {**answer.summary, "ticketed": bool(item.tickets)},
                "moves": placing.plan(item, answer.verdict, answer.made, self.settings.out, self.settings.originals),
            }
        )

    def finish(self, item: Item) -> Generator[None, None, Row]:
        """Put an answered file in its place and enter it in the ledger; may be done again after any end.

        Up to its first pause the names that were found free for it stay so.

        Raises
        ------
        OSError
            When it cannot be done now.
        """
        answer = item.answer()
        if answer is None:
            raise RuntimeError("only what is answered can be put in its place")
        placed = placing.place(item, answer, self.settings.out)
        if placed["moves"] != answer["moves"]:
            item.settle(placed)  # somebody took a name meanwhile
        yield None
        row = placing.row(item, placed)
        self.ledger.add(row, item.stamp if item.way == "keep" else None)
        item.end()
        return row

    def _anew(self, item: Item, total: str, still: float, faults: int) -> Way[Any, _Answer]:
        """Check a file and write its reports. What no try gets over is answered with what is known."""
        try:
            reports = yield from self._reports(item, total, faults)
            yield None
            self._not_cut_short(item, reports, still)
            return (yield from self._written(item, reports, faults))
        except (OSError, PassingError, StillArrivingError):
            raise
        except Exception as failure:
            if faults < MOST_FAULTS or crowded() is not None:
                raise
            fault = f"this program failed on it ({getattr(failure, 'why', type(failure).__name__)})"
            return (yield from self._written(item, (self._given_up(item, total, fault, faults),), faults))

    def _written(self, item: Item, reports: Sequence[Report], faults: int) -> Way[Any, _Answer]:
        """Write the reports; after so many tries without those that cannot be made, and then always as JSON."""
        formats, lacking = self.settings.formats, dict[str, str]()
        rulebook, head = self.settings.pages, self.settings.checker.shop.letterhead
        pages = reports if rulebook is None else tuple(in_language(report, rulebook) for report in reports)
        look = telling.Look(head, read_logo(head), self.settings.language)
        while True:
            try:
                made = yield from telling.write(reports, pages, formats, item.out, look, lacking)
                break
            except telling.PageError as slip:
                if faults < MOST_FAULTS or crowded() is not None:
                    raise PassingError(str(slip)) from None
                lacking[slip.kind] = slip.why
                formats = tuple(kind for kind in dict.fromkeys(("json", *formats)) if kind not in lacking)
                if not formats:
                    raise
        return _Answer(
            telling.worst(reports).verdict.value,
            telling.summary(item.rel, reports, None if rulebook is None else pages, tuple(lacking)),
            made,
            read=all(report.print_size is not None for report in reports),
        )

    def _reports(self, item: Item, total: str, faults: int) -> Way[Any, Sequence[Report]]:
        checker = self._checker(item)
        if item.begun > MOST_BEGUN:
            reason = f"this program was ended {MOST_BEGUN} times while it worked on it"
            return (self._unread(item, total, reason, "Check it by hand, and keep it away from the night's folder."),)
        listener = Listener()
        reports: Sequence[Report] = yield from listener.along(checker.way(item.artwork))
        fault = self._fault(reports, listener)
        if fault is not None:
            if faults < MOST_FAULTS or crowded() is not None:
                raise PassingError(fault)
            return (self._given_up(item, total, fault, faults),)
        return tuple(replace(report, file=item.rel, sha256=total) for report in reports)

    def _fault(self, reports: Sequence[Report], listener: Listener) -> str | None:
        """Why the answer says nothing of the file itself; None when it does."""
        unread_ones = [report for report in reports if report.print_size is None]
        if not unread_ones:
            return None
        if any(TRACEBACK in report.extra for report in unread_ones):
            return listener.fault or "this program failed on it"
        return listener.fault or crowded()

    def _given_up(self, item: Item, total: str, fault: str, faults: int) -> Report:
        step = "The file may still be good. Check it by hand with preflight check."
        return self._unread(item, total, f"{fault}, {faults + 1} times", step)

    def _unread(self, item: Item, total: str, reason: str, step: str) -> Report:
        source = Source(item.artwork, total)
        return replace(unread(source, self.settings.checker, "file-unreadable", reason, step), file=item.rel)

    def _not_cut_short(self, item: Item, reports: Sequence[Report], still: float) -> None:
        if still >= self.settings.settle or not any("file-cut-short" in report.measures for report in reports):
            return
        now = time.time()
        if now - self.ledger.short_since(item.rel, item.stamp, now) < self.settings.settle:
            raise StillArrivingError

    def _again(self, item: Item, total: str, settings: str) -> _Answer | None:
        """The answer to an earlier file with the same bytes, under this one's name; None when it cannot be had."""
        earlier = self.ledger.same(total, settings)
        if earlier is None or earlier.verdict == "unchecked":
            return None
        made = []
        for kind, path in earlier.reports:
            try:
                found = telling.renamed((self.settings.out / path).read_bytes(), kind, earlier.file, item.rel)
            except (OSError, ValueError, KeyError, TypeError):
                return None
            if found is None:
                return None
            made.append((kind, _ending(path), found))
        telling.lay(item.out, ((name, data) for _, name, data in made))
        summary = {**earlier.summary, "file": item.rel}
        return _Answer(earlier.verdict, summary, [(kind, name) for kind, name, _ in made], again=True)

    def _checker(self, item: Item) -> Checker:
        """The one for this file: what its ticket says goes before the options."""
        checker = self.settings.checker
        try:
            beside = ticket_beside(item.artwork)
            order = checker.order if beside is None else under(checker.order, load_ticket(beside).order)
        except PreflightError:
            order = checker.order  # its report will tell
        mine = Checker(order, checker.shop, checker.rulebook, checker.pages, checker.pictures, summed=False)
        mine._separation = checker.separation
        return mine

    def _settings_of(self, item: Item) -> str:
        """A sum of everything besides the bytes that the answer depends on: the name's ending is judged too."""
        total = hashlib.sha256(f"{self._digest}\0{Path(item.name).suffix.lower()}".encode("utf-8", "backslashreplace"))
        for ticket in sorted(item.tickets_here()):
            total.update(b"\0" + (b"whole" if ticket.name.startswith(item.name) else b"stem") + b"\0")
            total.update(ticket.read_bytes())
        return total.hexdigest()


def _ending(path: str) -> str:
    """Ending of a report from its path."""
    name = path.rpartition("/")[2]
    return name[name.rindex(".report.") :]
