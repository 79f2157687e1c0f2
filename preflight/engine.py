"""One artwork's way: open, measure, judge, price. The only room that knows all four.

The first two touch the customer's file and are done in a child process; ``conclude`` needs nothing but what they gave.
"""

from __future__ import annotations

import hashlib
import math
import time
import traceback
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeAlias

from preflight.child import ChildFailed, Job, Limits, Workshop, examination
from preflight.errors import ChildDied, IntakeError, PreflightError, SettingsError
from preflight.jobs import answers
from preflight.model import (
    Cost,
    Coverage,
    Examination,
    Finding,
    InkUse,
    Measurement,
    PixelFacts,
    Report,
    Separation,
    Ticket,
    Verdict,
)
from preflight.rulebook import Rulebook, verdict
from preflight.shop import Shop
from preflight.ticket import Order, load_ticket, merge, ticket_beside

#: Measurement that an IntakeError becomes, by the rule it names.
_UNREAD = {"unreadable-file": "file-unreadable", "cut-short": "file-cut-short"}
#: Measures that are only searched for up to a width.
_SEARCHED = ("narrowest-line", "narrowest-gap")
#: The way of one file: asks for a job in a child, is given its answer or what it raised, and ends with the report.
Way: TypeAlias = Generator[Job[Examination], Examination, Report]
#: Key of ``Report.extra`` under which the traceback of an unforeseen failure lies, for ``--verbose``.
TRACEBACK = "traceback"
#: The same for what the libraries in a child printed before it died.
SAID = "said"


@dataclass(slots=True)
class Checker:
    """Everything that is the same for all files of a run.

    Parameters
    ----------
    order
        What the options say; each file's ticket adds to it.
    shop, rulebook
        What the shop is set to.
    """

    order: Order
    shop: Shop
    rulebook: Rulebook
    _separation: Separation | None = field(default=None, repr=False)

    def __call__(self, path: Path) -> Report:
        """Check one file; see ``check``."""
        return check(path, self)

    def way(self, path: Path) -> Way:
        """The way of one file, for ``jobs.answers``; raises nothing. See ``check``."""
        start = time.perf_counter()
        try:
            report = yield from _checked(path, self)
        except Exception as failure:  # noqa: BLE001 - one file's failure must not take the others' answers
            report = failed(path, self, failure)
        return replace(report, seconds=time.perf_counter() - start)

    @property
    def reach(self) -> dict[str, float]:
        """How far the searches for narrow things must go: the softest limit of any rule, mm, by measure id."""
        found = ((name, self.rulebook.reach(name)) for name in _SEARCHED)
        return {name: limit for name, limit in found if limit is not None}

    @property
    def separation(self) -> Separation:
        """How colours become ink here; opened when first asked for.

        Raises
        ------
        SettingsError
            When the profile that the shop names cannot be used.
        """
        if self._separation is None:
            from preflight.ink.separation import open_separation

            self._separation = open_separation(self.shop)
        return self._separation


def check(path: Path, checker: Checker) -> Report:
    """Answer one file. Whatever is wrong with it is part of the answer; nothing is raised for it.

    Parameters
    ----------
    path
        The customer's file. Its ticket is looked for beside it.
    checker
        Order, shop and rules.

    Returns
    -------
    Report
        With the verdict "unchecked" when the file or its ticket could not be read, or the work on it failed.

    Raises
    ------
    PreflightError
        When there is no room for a scratch folder.
    """
    with Workshop(Limits.of(checker.shop)) as workshop:
        (report,) = answers([path], checker.way, workshop, 1)
    return report


def failed(path: Path, checker: Checker, failure: BaseException) -> Report:
    """The report of a file on which the program itself failed, here or in the child."""
    name, trace = type(failure).__name__, "".join(traceback.format_exception(failure))
    if isinstance(failure, ChildFailed):
        name, trace = failure.name, failure.trace
    if isinstance(failure, MemoryError):
        reason, step = "the memory of this machine ran out", "Close other programs, or check it with --jobs 1."
    else:
        reason = f"this program failed on it ({name})"
        step = "The file may still be good. Run it again with --verbose and report what that prints."
    report = unread(path, checker, "file-unreadable", reason, step)
    return replace(report, extra={TRACEBACK: trace})


def unread(path: Path, checker: Checker, measure: str, reason: str, next_step: str) -> Report:
    """The report of a file that was not read, or not to its end, or whose ticket was not.

    Parameters
    ----------
    measure
        "file-unreadable", "file-cut-short" or "ticket-unreadable".
    reason
        A clause without a full stop.
    next_step
        A whole sentence.
    """
    measures = {measure: Measurement(measure, 1.0, "count", details={"reason": reason, "next_step": next_step})}
    findings, _ = checker.rulebook.judge(measures, None)
    return Report(
        file=str(path),
        sha256=_sha256(path),
        format=_format(path),
        page=1,
        verdict=Verdict.UNCHECKED,
        ticket=_ticket_or_options(path, checker),
        print_size=None,
        measures=measures,
        findings=tuple(finding for finding in findings if finding.measure == measure),
        ink=None,
        cost=None,
        assumptions=(),
        seconds=0.0,
    )


def conclude(path: Path, examination: Examination, ticket: Ticket, checker: Checker) -> Report:
    """Judge and price what was measured; the customer's file is no longer needed.

    Raises
    ------
    SettingsError
        When the shop's profile cannot be used.
    """
    measures = _sound([*examination.measures.values(), *_ending(path, examination.facts)])
    findings, unjudged = checker.rulebook.judge(measures, examination.print_size)
    use, cost = _priced(examination, ticket, checker.shop)
    return Report(
        file=str(path),
        sha256=_sha256(path),
        format=examination.facts.format,
        page=examination.page,
        verdict=verdict(findings, unjudged),
        ticket=ticket,
        print_size=examination.print_size,
        measures=measures,
        findings=tuple(_with_savings(findings, use, examination, checker.shop)),
        ink=use,
        cost=cost,
        assumptions=tuple(dict.fromkeys(_assumptions(examination, ticket, cost, checker))),
        seconds=0.0,
    )


def _checked(path: Path, checker: Checker) -> Way:
    try:
        ticket = _ticket(path, checker)
    except PreflightError as slip:
        return unread(path, checker, "ticket-unreadable", _where(slip), slip.next_step)
    try:
        examined = yield examination(path, ticket, checker.shop, checker.separation, checker.reach)
    except IntakeError as refusal:
        report = unread(path, checker, _UNREAD[refusal.rule], refusal.what, refusal.next_step)
        return replace(report, extra={SAID: refusal.said}) if isinstance(refusal, ChildDied) else report
    return conclude(path, examined, ticket, checker)


def _ticket(path: Path, checker: Checker) -> Ticket:
    beside = ticket_beside(path)
    return merge(checker.order, None if beside is None else load_ticket(beside), checker.shop)


def _ticket_or_options(path: Path, checker: Checker) -> Ticket:
    try:
        return _ticket(path, checker)
    except PreflightError:
        return merge(checker.order, None, checker.shop)


def _where(slip: PreflightError) -> str:
    """What is wrong with a ticket and where, as a clause."""
    if not isinstance(slip, SettingsError):
        return slip.what
    parts = [Path(slip.file).name if slip.file else "", f"line {slip.line}" if slip.line else "", slip.key or ""]
    return f"{', '.join(part for part in parts if part)}: {slip.what}".removeprefix(": ")


def _sha256(path: Path) -> str | None:
    """Of a regular file, read in pieces; None for anything else and for what cannot be read."""
    try:
        if not path.is_file():
            return None
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except (OSError, ValueError):
        return None


def _format(path: Path) -> str | None:
    """What an unread file is by its first bytes, as far as they tell."""
    from preflight.intake.sniff import HEAD_BYTES, sniff

    try:
        if not path.is_file():
            return None
        with path.open("rb") as stream:
            return sniff(stream.read(HEAD_BYTES))
    except (OSError, ValueError):
        return None


def _sound(measures: Iterable[Measurement]) -> dict[str, Measurement]:
    """The measurements by id. One that gave no number was not taken: compared with a limit it would seem to pass."""
    return {
        measure.id: measure
        if measure.value is None or math.isfinite(measure.value)
        else replace(measure, value=None, why_not="measuring it gave no number")
        for measure in measures
    }


def _ending(path: Path, facts: PixelFacts) -> Iterator[Measurement]:
    """Tell when the name promises another format than the content is."""
    from preflight.intake import ending_of_another

    if ending_of_another(path.name, facts.format) is not None:
        details = {"content": facts.format, "ending": path.suffix}
        yield Measurement("extension-mismatch", 1.0, "count", details=details)


def _priced(examination: Examination, ticket: Ticket, shop: Shop) -> tuple[InkUse | None, Cost | None]:
    """Ink and cost; neither while the print size is unknown."""
    if examination.coverage is None:
        return None, None
    from preflight.ink.cost import price
    from preflight.ink.grams import weigh

    use = weigh(examination.coverage, shop, examination.separation)
    return use, price(use, examination.print_size, ticket, shop)


def _with_savings(
    findings: Iterable[Finding], use: InkUse | None, examination: Examination, shop: Shop
) -> Iterator[Finding]:
    """The findings; where the artwork was also measured as mended, with the ink that mending saves."""
    for finding in findings:
        mended: Coverage | None = examination.coverage_fixed.get(finding.rule)
        if use is None or mended is None:
            yield finding
            continue
        from preflight.ink.cost import saving
        from preflight.ink.grams import weigh

        yield replace(finding, saves=saving(use, weigh(mended, shop, examination.separation), shop))


def _assumptions(examination: Examination, ticket: Ticket, cost: Cost | None, checker: Checker) -> Iterator[str]:
    """What the answer takes for granted, whole sentences."""
    yield from examination.assumptions
    caveat = checker.separation.caveat
    if examination.coverage is not None and examination.separation == checker.separation.name and caveat is not None:
        yield caveat
    if cost is not None:
        yield from checker.shop.assumptions
        if ticket.mode is None:
            yield f"No print mode was ordered: the time is that of mode {checker.shop.default_mode}."
