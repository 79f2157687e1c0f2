"""One file's way through the night: taken, checked or answered from the ledger, told, put in its place."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from preflight.concluding import Source, unread
from preflight.engine import TRACEBACK, Checker, Way
from preflight.errors import PreflightError
from preflight.model import Report
from preflight.overnight import placing, telling
from preflight.overnight.disk import sha256, write_whole
from preflight.overnight.faults import Listener, crowded
from preflight.overnight.ledger import Ledger, Row
from preflight.overnight.settings import Settings, under
from preflight.overnight.work import Item
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

    def answered(self, item: Item, still: float, faults: int) -> Way:
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
        total = sha256(item.artwork)
        settings = self._settings_of(item)
        earlier = self.ledger.same(total, settings)
        made = None if earlier is None else self._again(item, earlier)
        if made is not None and earlier is not None:
            verdict, told, again = earlier.verdict, {**earlier.summary, "file": item.rel}, True
        else:
            item = item.counted(item.begun + 1)
            reports = yield from self._reports(item, total, faults)
            self._not_cut_short(item, reports, still)
            made = telling.write(
                reports, self.settings.formats, item.out, self.settings.checker.shop, read_logo(self._letterhead)
            )
            verdict, told, again = telling.worst(reports).verdict.value, telling.summary(item.rel, reports), False
        if sha256(item.artwork) != total:
            raise PassingError("somebody still wrote to it while it was checked")
        item.settle(
            {
                "verdict": verdict,
                "sha256": total,
                "settings": settings,
                "at": at,
                "tries": max(1, item.begun) + faults,
                "seconds": round(time.monotonic() - start, 3),
                "again": again,
                "summary": {**told, "ticketed": bool(item.tickets)},
                "moves": placing.plan(item, verdict, made, self.settings.out, self.settings.originals),
            }
        )
        return ()

    def finish(self, item: Item) -> Row:
        """Put an answered file in its place and enter it in the ledger; may be done again after any end.

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
        row = placing.row(item, placed)
        self.ledger.add(row, item.stamp if item.way == "keep" else None)
        item.end()
        return row

    def _reports(self, item: Item, total: str, faults: int) -> Way:
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
            step = "The file may still be good. Check it by hand with preflight check."
            return (self._unread(item, total, f"{fault}, {faults + 1} times", step),)
        return tuple(replace(report, file=item.rel) for report in reports)

    def _fault(self, reports: Sequence[Report], listener: Listener) -> str | None:
        """Why the answer says nothing of the file itself; None when it does."""
        unread_ones = [report for report in reports if report.print_size is None]
        if not unread_ones:
            return None
        if any(report.sha256 is None for report in unread_ones):
            return "it could not be read"
        if any(TRACEBACK in report.extra for report in unread_ones):
            return listener.fault or "this program failed on it"
        return listener.fault or crowded()

    def _unread(self, item: Item, total: str, reason: str, step: str) -> Report:
        source = Source(item.artwork, total)
        return replace(unread(source, self.settings.checker, "file-unreadable", reason, step), file=item.rel)

    def _not_cut_short(self, item: Item, reports: Sequence[Report], still: float) -> None:
        if still >= self.settings.settle or not any("file-cut-short" in report.measures for report in reports):
            return
        now = time.time()
        if now - self.ledger.short_since(item.rel, item.stamp, now) < self.settings.settle:
            raise StillArrivingError

    def _again(self, item: Item, earlier: Row) -> list[tuple[str, str]] | None:
        """The reports of an earlier file with the same bytes, under this one's name; None when they cannot be had."""
        if earlier.verdict == "unchecked":
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
        item.out.mkdir(exist_ok=True)
        for _, name, data in made:
            write_whole(item.out / name, data)
        return [(kind, name) for kind, name, _ in made]

    @property
    def _letterhead(self) -> Any:
        return self.settings.checker.shop.letterhead

    def _checker(self, item: Item) -> Checker:
        """The one for this file: what its ticket says goes before the options."""
        checker = self.settings.checker
        try:
            beside = ticket_beside(item.artwork)
            order = checker.order if beside is None else under(checker.order, load_ticket(beside).order)
        except PreflightError:
            return checker  # its report will tell
        mine = Checker(order, checker.shop, checker.rulebook, checker.pages, checker.pictures)
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
