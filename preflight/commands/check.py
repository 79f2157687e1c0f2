"""``preflight check``: answer artwork files, in the order in which they were named."""

from __future__ import annotations

import glob
import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from preflight.child import Limits, Workshop, protections
from preflight.commands.numbers import whole_number
from preflight.commands.output import WholeFile, refuse_broken_promise, standard_output
from preflight.commands.progress import Progress
from preflight.commands.reportlanguage import report_language
from preflight.engine import SAID, TRACEBACK, Checker
from preflight.errors import UsageError
from preflight.jobs import MOST_JOBS, answers
from preflight.model import ExitStatus, Report, Verdict
from preflight.pages import Pages
from preflight.records import dataclass
from preflight.rulebook import load_rulebook
from preflight.shop import Shop, load_shop
from preflight.ticket import MOST_COPIES, merge, read_options

if TYPE_CHECKING:
    from preflight.report.earlier import Archive

FORMATS = ("text", "json", "html", "pdf")
#: Those whose reports are pages with pictures.
PAGED = ("html", "pdf")
_TICKET_ENDING = ".ticket.toml"
#: Formats whose endings a report can have too.
_OF_REPORTS = ("text", "web page")
STATUS = {
    Verdict.READY: ExitStatus.READY,
    Verdict.ASK: ExitStatus.ASK,
    Verdict.STOP: ExitStatus.STOP,
    Verdict.UNCHECKED: ExitStatus.UNCHECKED,
}


@dataclass(frozen=True, slots=True)
class Request:
    """The options of ``preflight check`` as they were written."""

    files: Sequence[str]
    width: str | None = None
    height: str | None = None
    size_of: str | None = None
    copies: str | None = None
    garments: Sequence[str] = ()
    mode: str | None = None
    pages: str | None = None
    shop: str | None = None
    rules: str | None = None
    format: str = "text"
    output: str | None = None
    jobs: str = "1"
    verbose: bool = False
    compare: str | None = None
    language: str | None = None


def check(request: Request) -> ExitStatus:
    """Do what the request asks and choose the exit status.

    Raises
    ------
    UsageError
        For every slip in the options and in the shop's files, before any artwork is opened.
    OutputError
        When the report cannot be written.
    """
    written = _format(request.format)
    refuse_broken_promise(request.output, written)
    jobs = whole_number("--jobs", request.jobs, MOST_JOBS)
    checker = checker_of(request)
    earlier = None if request.compare is None else _archive(request.compare)
    paths = [Path(name) for name in _without_tickets(_expanded(request.files))]
    checker.pictures = written in PAGED
    checker.summed = written != "text" or earlier is not None  # text does not show it
    if checker.pictures:
        from preflight.commands.webpages import refuse

        refuse(written, request.output, paths)
    limits = Limits.of(checker.shop)
    if request.verbose:
        _tell_protections(limits)
    progress = Progress(len(paths))
    with progress, Workshop(limits, idle=progress.pulse) as workshop:
        if len(paths) > 1:
            workshop.warm_up(checker.separation, paths)
        work = answers(paths, checker.way, workshop, jobs)
        reports = _counted(work, progress, request.verbose)
        if earlier is not None:
            reports = _beside(reports, earlier, checker, alone=len(paths) == 1)
        if checker.pictures:
            verdicts = _write_pages(reports, written, request.output, paths, checker)
        elif request.output is not None:
            verdicts = _save(reports, Path(request.output), paths, written)
        elif written == "json":
            verdicts = _print_json(reports)
        else:
            verdicts = print_text(reports, progress)
    return max((STATUS[verdict] for verdict in verdicts), default=ExitStatus.READY)


def print_text(reports: Iterable[Report], progress: Progress) -> list[Verdict]:
    """Print each report on standard output as soon as it is there, then the closing lines; give the verdicts."""
    from preflight.report.text import Printer

    printer = Printer(standard_output())
    verdicts = []
    for report in reports:
        verdicts.append(report.verdict)
        with progress.aside():
            printer.report(report)
    printer.close()
    return verdicts


def _format(name: str) -> str:
    if name not in FORMATS:
        raise UsageError(f"--format {name} is not known", f"Choose one of {', '.join(FORMATS)}.")
    return name


def checker_of(request: Request) -> Checker:
    """Order, shop and rules, each checked before the first file is opened."""
    copies = None if request.copies is None else whole_number("--copies", request.copies, MOST_COPIES)
    order = read_options(
        width=request.width,
        height=request.height,
        size_of=request.size_of,
        copies=copies,
        garments=request.garments,
        mode=request.mode,
    )
    shop = Shop.default() if request.shop is None else load_shop(request.shop)
    merge(order, None, shop)
    language = report_language(request.language, request.format, shop)
    rulebook = load_rulebook(shop, None if request.rules is None else Path(request.rules), language)
    checker = Checker(order, shop, rulebook, None if request.pages is None else Pages.read(request.pages))
    checker.separation  # noqa: B018 - a profile that cannot be used is a slip of the shop, not of each file
    return checker


def _expanded(names: Iterable[str]) -> Iterator[str]:
    """The names; a pattern that the shell left as it is (Windows' shells do) stands for the files it matches."""
    for name in names:
        pattern = glob.has_magic(name) and not os.path.lexists(name)
        found = sorted(glob.glob(name, recursive=True)) if pattern else []  # noqa: PTH207 - keeps the name as written
        yield from found or [name]


def _without_tickets(names: Iterable[str]) -> list[str]:
    """The names without tickets: a ticket is read with its artwork.

    Raises
    ------
    UsageError
        When nothing else was named.
    """
    listed = list(names)
    artwork = [name for name in listed if not name.lower().endswith(_TICKET_ENDING)]
    if listed and not artwork:
        raise UsageError("only tickets were named", "Name the artwork; its ticket is found beside it.")
    return artwork


def _counted(files: Iterable[Sequence[Report]], progress: Progress, verbose: bool) -> Iterator[Report]:
    """The reports of each file, the files counted; with ``verbose`` what is known of a failure is told."""
    for reports in files:
        for report in reports:
            known = report.extra.get(TRACEBACK) or report.extra.get(SAID)
            if verbose and known:
                from preflight.report.words import plain

                with progress.aside():  # it comes from where the customer's file was open
                    sys.stderr.writelines(f"{plain(line)}\n" for line in known.splitlines())
        progress.tick()
        yield from reports


def _archive(path: str) -> Archive:
    """The earlier report of ``--compare``; UsageError when it is none."""
    from preflight.report.earlier import Archive

    return Archive(path)


def _beside(reports: Iterable[Report], earlier: Archive, checker: Checker, *, alone: bool) -> Iterator[Report]:
    """Each report with what the earlier one said of the same file."""
    from preflight.report.earlier import EARLIER, Against

    titles = {rule.id: rule.words.title for rule in checker.rulebook.rules}
    for report in reports:
        against = Against(earlier.of(report, alone=alone), titles)
        yield replace(report, extra={**report.extra, EARLIER: against})


def _tell_protections(limits: Limits) -> None:
    """Say on standard error what is in force here while a customer's file is open."""
    sys.stderr.write("While a customer's file is open:\n")
    sys.stderr.writelines(f"  {clause}\n" for clause in protections(limits))


def _print_json(reports: Iterable[Report]) -> list[Verdict]:
    from preflight.report import json

    listed = list(reports)
    sys.stdout.flush()
    sys.stdout.buffer.write(json.document(listed).encode("utf-8"))
    sys.stdout.buffer.flush()
    return [report.verdict for report in listed]


def _save(reports: Iterable[Report], output: Path, paths: Sequence[Path], written: str) -> list[Verdict]:
    _refuse_over_artwork(output, paths)
    file = WholeFile(output)
    try:
        listed = list(reports)
        file.write(_whole(listed, written))
    finally:
        file.give_up()
    return [report.verdict for report in listed]


def _write_pages(
    reports: Iterable[Report], written: str, output: str | None, paths: Sequence[Path], checker: Checker
) -> list[Verdict]:
    from preflight.commands.webpages import write_pages

    if output is not None:
        _refuse_over_artwork(Path(output), paths)
    return write_pages(reports, written, output, checker.shop, checker.rulebook.language)


def _whole(reports: Sequence[Report], written: str) -> str:
    if written == "json":
        from preflight.report import json

        return json.document(reports)
    from preflight.report import text

    return text.document(reports)


def _refuse_over_artwork(output: Path, paths: Iterable[Path]) -> None:
    """Raise UsageError when the report would take the place of a file that it must not touch."""
    step = "Give --output a name of its own, such as report.json."
    if any(_same(output, path) for path in paths):
        raise UsageError("the report would be written over the artwork", step, file=str(output))
    if output.is_file() and _may_be_precious(output):
        raise UsageError("a file that is no report is there already", step, file=str(output))


def _may_be_precious(output: Path) -> bool:
    """Whether the name is that of artwork or settings: what comes after --output was then meant as a file to check."""
    from preflight.intake.sniff import FORMATS as KNOWN

    if output.suffix.lower() == ".pdf":  # artwork and reports are called so: what lies in it tells
        from preflight.commands.webpages import is_report

        return not is_report(output)
    artwork = {ending for kind in KNOWN.values() if kind.name not in _OF_REPORTS for ending in kind.endings}
    return output.suffix.lower() in {*artwork, ".toml", ".icc"}


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):
        return False
