"""From what was measured, or could not be, to the report: judge and price. No customer's file is open here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import field, replace
from pathlib import Path

from preflight.errors import PreflightError
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
from preflight.pages import Pages
from preflight.records import dataclass
from preflight.rulebook import Rulebook, verdict
from preflight.shop import Shop
from preflight.ticket import Order, load_ticket, merge, ticket_beside

#: Measures that are only searched for up to a width.
_SEARCHED = ("narrowest-line", "narrowest-gap")


@dataclass(slots=True)
class Standards:
    """What every file of a run is held to.

    Parameters
    ----------
    order
        What the options say; each file's ticket adds to it.
    shop, rulebook
        What the shop is set to.
    pages
        Which pages of a document are wanted; None: nobody chose, all of them.
    pictures
        Whether pictures are drawn for the reports, as web pages and PDF show them.
    summed
        Whether the SHA-256 of each file is told. It takes a tenth of the time of a large photograph.
    """

    order: Order
    shop: Shop
    rulebook: Rulebook
    pages: Pages | None = None
    pictures: bool = False
    summed: bool = True
    _separation: Separation | None = field(default=None, repr=False)

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


@dataclass(frozen=True, slots=True)
class Source:
    """What a report is about: one page of a file, and the sum of all the file's bytes."""

    path: Path
    sha256: str | None
    page: int = 1

    @classmethod
    def of(cls, path: Path, *, summed: bool = True) -> Source:
        """A file's first page. The sum is that of a regular file; None for what is none or cannot be read."""
        try:
            if not summed or not path.is_file():
                return cls(path, None)
            import hashlib  # takes 3 ms to load

            with path.open("rb") as stream:  # read in pieces
                return cls(path, hashlib.file_digest(stream, "sha256").hexdigest())
        except (OSError, ValueError):
            return cls(path, None)


def unread(
    source: Source, standards: Standards, measure: str, reason: str, next_step: str, value: float = 1.0
) -> Report:
    """The report of a file that was not read, or not to its end, or whose ticket was not.

    Parameters
    ----------
    measure
        "file-unreadable", "file-cut-short", "file-lock" or "ticket-unreadable".
    reason
        A clause without a full stop.
    next_step
        A whole sentence.
    value
        Of the measure.
    """
    measures = {measure: Measurement(measure, value, "count", details={"reason": reason, "next_step": next_step})}
    findings, _ = standards.rulebook.judge(measures, None)
    return Report(
        file=str(source.path),
        sha256=source.sha256,
        format=_format(source.path),
        page=source.page,
        verdict=Verdict.UNCHECKED,
        ticket=_ticket_or_options(source.path, standards),
        print_size=None,
        measures=measures,
        findings=tuple(finding for finding in findings if finding.measure == measure),
        ink=None,
        cost=None,
        assumptions=(),
        seconds=0.0,
    )


def conclude(source: Source, examination: Examination, ticket: Ticket, standards: Standards) -> Report:
    """Judge and price what was measured; the customer's file is no longer needed.

    Raises
    ------
    SettingsError
        When the shop's profile cannot be used.
    """
    known = [*_ending(source.path, examination.facts), *_surplus(examination.pages, standards.pages)]
    measures = _sound([*examination.measures.values(), *known])
    findings, unjudged = standards.rulebook.judge(measures, examination.print_size)
    use, cost = _priced(examination, ticket, standards.shop)
    return Report(
        file=str(source.path),
        sha256=source.sha256,
        format=examination.facts.format,
        page=examination.page,
        verdict=verdict(findings, unjudged),
        ticket=ticket,
        print_size=examination.print_size,
        measures=measures,
        findings=tuple(_with_savings(findings, use, examination, standards.shop)),
        ink=use,
        cost=cost,
        assumptions=tuple(dict.fromkeys(_assumptions(examination, ticket, cost, standards))),
        seconds=0.0,
        pages=examination.pages,
        fine=standards.rulebook.fine(measures, findings, unjudged),
    )


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


def _surplus(pages: int, chosen: Pages | None) -> Iterator[Measurement]:
    """Tell when more than one page came and nobody said which are wanted."""
    if pages > 1 and chosen is None:
        yield Measurement("surplus-pages", float(pages - 1), "count", details={"pages": str(pages)})


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


def _assumptions(examination: Examination, ticket: Ticket, cost: Cost | None, standards: Standards) -> Iterator[str]:
    """What the answer takes for granted, whole sentences."""
    yield from examination.assumptions
    caveat = standards.separation.caveat
    if examination.coverage is not None and examination.separation == standards.separation.name and caveat is not None:
        yield caveat
    if cost is not None:
        yield from standards.shop.assumptions
        if ticket.mode is None:
            yield f"No print mode was ordered: the time is that of mode {standards.shop.default_mode}."


def ticket_for(path: Path, standards: Standards) -> Ticket:
    """What was ordered of a file: its ticket and the options.

    Raises
    ------
    PreflightError
        When its ticket cannot be read.
    """
    beside = ticket_beside(path)
    return merge(standards.order, None if beside is None else load_ticket(beside), standards.shop)


def _ticket_or_options(path: Path, standards: Standards) -> Ticket:
    try:
        return ticket_for(path, standards)
    except PreflightError:
        return merge(standards.order, None, standards.shop)
