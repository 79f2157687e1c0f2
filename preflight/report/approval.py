"""The block with which a customer approves one version of an artwork: what it is, what is accepted, where to sign."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from preflight.model import Report, Severity, Verdict
from preflight.records import dataclass
from preflight.report.language import Language
from preflight.report.words import sentence


@dataclass(frozen=True, slots=True)
class Approval:
    """What the block says. ``change``: what stands in the way; with it there is nothing to sign yet."""

    title: str
    lead: str
    facts: tuple[tuple[str, str], ...]  #: label and text
    change: tuple[str, ...]
    accept: tuple[str, ...]  #: each with a box to tick
    answer: str
    sign: tuple[str, ...]  #: labels of the lines to write on


def approval(report: Report, file: str, order: tuple[tuple[str, str], ...], language: Language) -> Approval | None:
    """The block, or None where there is nothing to approve: not all of it was checked, or its size is not known.

    Parameters
    ----------
    file
        The file's name as the customer knows it.
    order
        Label and text of what was ordered.
    """
    size = report.print_size
    if report.sha256 is None or size is None or not size.width_mm or report.verdict is Verdict.UNCHECKED:
        return None
    numbered = tuple(enumerate(report.findings, 1))
    stops = tuple(each for each in numbered if each[1].severity is Severity.STOP)
    rest = tuple(each for each in numbered if each[1].severity is not Severity.STOP)
    return Approval(
        title=language.say("Your approval"),
        lead=_lead(bool(stops), bool(rest), language),
        facts=tuple(_facts(report.sha256, file, order, language)),
        change=tuple(
            language.say("Point {number}: {title}.", number=str(number), title=sentence(finding.title))
            for number, finding in stops
        ),
        accept=tuple(
            language.say("I accept point {number}: {title}.", number=str(number), title=sentence(finding.title))
            for number, finding in rest
        ),
        answer=_answer(bool(stops), bool(rest), language),
        sign=() if stops else (language.say("Name"), language.say("Date"), language.say("Signature")),
    )


def _lead(stops: bool, rest: bool, language: Language) -> str:
    if stops:
        return language.say("This version is not printed. Change these points, and send us the new file:")
    if rest:
        return language.say("Tick each point that you accept. We then print the file as it is.")
    return language.say("Sign here when we may print this file.")


def _answer(stops: bool, rest: bool, language: Language) -> str:
    if stops and rest:
        return language.say("You get a new report for the new file. Tick what may stay as it is in that one too.")
    if stops:
        return language.say("You get a new report for the new file. That is the one to sign.")
    return language.say("Send this back signed, or answer the message that it came with and name this file.")


def _facts(sha256: str, file: str, order: tuple[tuple[str, str], ...], language: Language) -> Iterator[tuple[str, str]]:
    yield language.say("File"), file
    yield from order
    yield language.say("Date of this check"), date.today().isoformat()
    yield language.say("Fingerprint (SHA-256)"), sha256
