"""One file's way: open, measure, judge, price, page by page. The only room that knows all four.

The first two touch the customer's file and are done in a child process, each page in one of its own; what follows
needs nothing but what they gave.
"""

from __future__ import annotations

import time
import traceback
from collections.abc import Generator
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

from preflight.child import ChildFailed, Job, Limits, Workshop, measuring
from preflight.concluding import Source, Standards, conclude, ticket_for, unread
from preflight.errors import ChildDied, IntakeError, PreflightError, SettingsError
from preflight.jobs import answers
from preflight.model import Report, Ticket

#: Measurement that an IntakeError becomes, and its value, by the rule it names.
_UNREAD = {
    "unreadable-file": ("file-unreadable", 1.0),
    "cut-short": ("file-cut-short", 1.0),
    "locked-file": ("file-lock", 2.0),
}
#: Most pages of one file that are checked when nobody chose: a longer document is seldom artwork.
MOST_UNASKED = 50
#: The way of one file: asks for jobs in children, is given their answers or what they raised, ends with its reports.
Way: TypeAlias = Generator[Job[Any], Any, tuple[Report, ...]]
#: Key of ``Report.extra`` under which the traceback of an unforeseen failure lies, for ``--verbose``.
TRACEBACK = "traceback"
#: The same for what the libraries in a child printed before it died.
SAID = "said"
#: The same for the pictures, ``preflight.views.model.Views``; not there when none were wanted or could be drawn.
VIEWS = "views"


class Checker(Standards):
    """Everything that is the same for all files of a run, and the way of each; see ``Standards``."""

    __slots__ = ()

    def __call__(self, path: Path) -> Report:
        """Check one file; see ``check``."""
        return check(path, self)

    def way(self, path: Path) -> Way:
        """The way of one file, for ``jobs.answers``; raises nothing. One report for each page that is wanted."""
        return _way(path, self)


def check(path: Path, checker: Checker) -> Report:
    """Answer one file: its first page, or the first that is wanted. See ``check_pages``."""
    return check_pages(path, checker)[0]


def check_pages(path: Path, checker: Checker) -> tuple[Report, ...]:
    """Answer one file. Whatever is wrong with it is part of the answer; nothing is raised for it.

    Parameters
    ----------
    path
        The customer's file. Its ticket is looked for beside it.
    checker
        Order, shop and rules.

    Returns
    -------
    tuple of Report
        At least one, in the order of the pages; with the verdict "unchecked" when the page, the file or its ticket
        could not be read, or the work on it failed.

    Raises
    ------
    PreflightError
        When there is no room for a scratch folder.
    """
    with Workshop(Limits.of(checker.shop)) as workshop:
        (reports,) = answers([path], checker.way, workshop, 1)
    return reports


def failed(source: Source, checker: Checker, failure: BaseException) -> Report:
    """The report of a page on which the program itself failed, here or in the child."""
    name, trace = type(failure).__name__, "".join(traceback.format_exception(failure))
    if isinstance(failure, ChildFailed):
        name, trace = failure.name, failure.trace
    if isinstance(failure, MemoryError):
        reason, step = "the memory of this machine ran out", "Close other programs, or check it with --jobs 1."
    else:
        reason = f"this program failed on it ({name})"
        step = "The file may still be good. Run it again with --verbose and report what that prints."
    report = unread(source, checker, "file-unreadable", reason, step)
    return replace(report, extra={TRACEBACK: trace})


def _way(path: Path, checker: Checker) -> Way:
    """From a file to its reports: the first page tells how many there are."""
    start = time.perf_counter()
    source = Source.of(path, summed=checker.summed)
    try:
        ticket = ticket_for(path, checker)
    except PreflightError as slip:
        report = unread(source, checker, "ticket-unreadable", _where(slip), slip.next_step)
        return (_timed(report, start),)
    except Exception as failure:  # noqa: BLE001 - one file's failure must not take the others' answers
        return (_timed(failed(source, checker, failure), start),)
    wanted = checker.pages
    first = 1 if wanted is None else wanted.first
    report, count = yield from _answered(replace(source, page=first), ticket, checker)
    reports = [report]
    pages = range(1, min(count, MOST_UNASKED) + 1) if wanted is None else wanted.among(count)
    for page in pages:
        if page == first:
            continue
        report, _ = yield from _answered(replace(source, page=page), ticket, checker)
        reports.append(report)
    if wanted is None and count > MOST_UNASKED:
        reports.append(_too_many(replace(source, page=MOST_UNASKED + 1), count, checker))
    elif wanted is not None and wanted.beyond(count) and reports[0].print_size is not None:
        note = f"The file has {count} page{'s' if count > 1 else ''}; pages beyond that were asked for."
        reports[-1] = replace(reports[-1], assumptions=(*reports[-1].assumptions, note))
    return tuple(reports)


def _answered(source: Source, ticket: Ticket, checker: Checker) -> Generator[Job[Any], Any, tuple[Report, int]]:
    """The report of one page, and how many pages the file has as far as that is known; raises nothing."""
    start = time.perf_counter()
    count = 1
    try:
        examined, programs = yield from measuring(
            source.path, ticket, checker.shop, checker.separation, checker.reach, page=source.page
        )
        count = examined.pages
        report = conclude(source, examined, ticket, checker)
        if checker.pictures:
            report = yield from _drawn(source, report, checker, programs=programs)
    except IntakeError as refusal:
        count = refusal.pages
        measure, value = _UNREAD[refusal.rule]
        report = unread(source, checker, measure, refusal.what, refusal.next_step, value)
        if isinstance(refusal, ChildDied):
            report = replace(report, extra={SAID: refusal.said})
    except Exception as failure:  # noqa: BLE001 - one file's failure must not take the others' answers
        report = failed(source, checker, failure)
    return replace(_timed(report, start), pages=count), count


def _drawn(source: Source, report: Report, checker: Checker, *, programs: bool) -> Generator[Job[Any], Any, Report]:
    """The report with its pictures. They are an addition: without them it stands as it is."""
    from preflight.child.viewing import drawing
    from preflight.views.wishes import wanted

    tolerance = next((rule.tolerance for rule in checker.rulebook.rules if rule.id == "heavy-ink"), 0.0)
    wishes = wanted(report, checker.shop, ink_tolerance=tolerance)
    if wishes is None:
        return report
    try:
        views = yield drawing(
            source.path, wishes, report.ticket, checker.shop, checker.separation, page=source.page, programs=programs
        )
    except Exception as failure:  # noqa: BLE001 - what was measured is answered all the same
        trace = failure.trace if isinstance(failure, ChildFailed) else "".join(traceback.format_exception(failure))
        return replace(report, extra={TRACEBACK: trace})
    return replace(report, extra={VIEWS: views})


def _too_many(source: Source, count: int, checker: Checker) -> Report:
    reason = f"it has {count} pages; only the first {MOST_UNASKED} were checked"
    step = f"Name the pages that are to be printed, such as --pages {source.page}-{min(count, source.page + 9)}."
    return unread(source, checker, "file-unreadable", reason, step)


def _timed(report: Report, start: float) -> Report:
    return replace(report, seconds=time.perf_counter() - start)


def _where(slip: PreflightError) -> str:
    """What is wrong with a ticket and where, as a clause."""
    if not isinstance(slip, SettingsError):
        return slip.what
    parts = [Path(slip.file).name if slip.file else "", f"line {slip.line}" if slip.line else "", slip.key or ""]
    return f"{', '.join(part for part in parts if part)}: {slip.what}".removeprefix(": ")
