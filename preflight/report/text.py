"""The report for a person at a terminal: worst first, readable without colour and at 80 columns."""

from __future__ import annotations

import io
from collections.abc import Collection, Iterable, Iterator
from typing import TextIO

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from preflight.measure.catalogue import MEASURES
from preflight.model import (
    CHANNELS,
    Cost,
    Finding,
    InkUse,
    Measurement,
    Place,
    PrintSize,
    Report,
    Saving,
    Severity,
    Verdict,
)
from preflight.report import words
from preflight.report.language import ENGLISH
from preflight.report.terminal import console, labelled, listed
from preflight.rulebook.words import show
from preflight.units import show_number

#: So many places of one finding are told; the rest is counted.
PLACES_TOLD = 3
#: Less than this is nothing to speak of.
LEAST_SAVING_G = 0.01
_LABEL = 7

_VERDICT_STYLES = {
    Verdict.READY: "bold",
    Verdict.ASK: "bold cyan",
    Verdict.STOP: "bold reverse magenta",
    Verdict.UNCHECKED: "bold reverse",
}
_SEVERITY_STYLES = {Severity.STOP: "bold magenta", Severity.ASK: "bold cyan", Severity.NOTE: "bold"}


def document(reports: Iterable[Report]) -> str:
    """All reports of a run as they are written to a file: plain text of 80 columns."""
    page = io.StringIO()
    printer = Printer(page)
    for report in reports:
        printer.report(report)
    printer.close()
    return page.getvalue()


class Printer:
    """Prints the reports of a run one by one, as they come.

    Parameters
    ----------
    stream
        Where to.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._console = console(stream)
        self._verdicts: list[Verdict] = []
        self._assumed: set[str] = set()
        self._example: str | None = None

    def report(self, report: Report) -> None:
        """Print one report."""
        self._console.print(render(report, self._assumed))
        self._stream.flush()
        self._verdicts.append(report.verdict)
        self._assumed.update(report.assumptions)
        if self._example is None and report.findings:
            self._example = report.findings[0].rule

    def close(self) -> None:
        """Print the last lines: the tally when there are several files, and where to read more about a finding."""
        if len(self._verdicts) > 1:
            self._console.print(Text(words.tally(self._verdicts), style="bold"))
        if self._example is not None:
            self._console.print(Text(f"More about a rule and its limits: preflight rules {self._example}"))
        self._stream.flush()


def render(report: Report, told: Collection[str] = ()) -> RenderableType:
    """One artwork's report, ready for ``Console.print``.

    Parameters
    ----------
    report
        The artwork.
    told
        Assumptions that the reader has been told already.
    """
    currency = "" if report.cost is None else report.cost.currency
    blocks: list[RenderableType] = [Rule(style="dim"), _head(report)]
    since = _since(report)
    blocks += [] if since is None else [Padding(since, (1, 0, 0, 0))]
    blocks += [Padding(_finding(finding, currency), (1, 0, 0, 0)) for finding in report.findings]
    ends = (_bill(report), _unmeasured(report), _assumed(report, told))
    blocks += [Padding(block, (1, 0, 0, 0)) for block in ends if block is not None]
    return Group(*blocks, Text())


def _head(report: Report) -> RenderableType:
    name = Text(words.plain(report.file), style="bold", overflow="fold")
    verdict = Text.assemble(
        (f" {words.VERDICT_WORDS[report.verdict]} ", _VERDICT_STYLES[report.verdict]),
        " " + words.VERDICT_SENTENCES[report.verdict],
    )
    rows = [("File", _file(report)), ("Print", _size(report.print_size)), ("Order", words.ordered(report))]
    return Group(name, verdict, labelled(((label, text) for label, text in rows if text), _LABEL))


def _since(report: Report) -> RenderableType | None:
    """What became of the earlier version's findings."""
    if not report.extra:
        return None
    from preflight.report.compared import compared  # only a run that compares needs it

    told = compared(report, ENGLISH)
    if told is None:
        return None
    lead = [Padding(Text(told.lead), (0, 0, 0, 1))] if told.lead else []
    return Group(Text(f" {told.title}", style="bold"), *lead, *(listed(head, lines) for head, lines in told.groups))


def _file(report: Report) -> str:
    parts = [words.plain(report.format)] if report.format is not None else []
    if 1 < report.pages >= report.page:
        parts.append(f"page {report.page} of {report.pages}")
    elif report.page > 1:
        parts.append(f"page {report.page}")
    if report.print_size is not None:
        parts.append("{} × {} px".format(*report.print_size.canvas))
    return ", ".join(parts)


def _size(size: PrintSize | None) -> str:
    if size is None:
        return ""
    if size.width_mm is None or size.height_mm is None or size.ppi is None:
        return "size unknown"
    source = ", as the file itself says" if size.size_from == "file" else ""
    return f"{words.size(size.width_mm, size.height_mm)} at {show_number(size.ppi)} ppi{source}"


def _finding(finding: Finding, currency: str) -> RenderableType:
    title = Table.grid(padding=(0, 1), expand=True)
    title.add_column(width=_LABEL - 1, no_wrap=True)
    title.add_column(ratio=1)
    title.add_column(justify="right", style="dim", no_wrap=True)
    word = Text(f" {words.SEVERITY_WORDS[finding.severity]}", style=_SEVERITY_STYLES[finding.severity])
    title.add_row(word, Text(words.sentence(finding.title), style="bold"), Text(finding.rule))
    return Group(title, labelled(_told(finding, currency), _LABEL))


def _told(finding: Finding, currency: str) -> Iterator[tuple[str, str]]:
    """What there is to say about a finding, label by label."""
    seen = words.sentence(finding.operator)
    yield "", words.capital(seen)
    if finding.places:
        yield "Where", _places(finding)
    yield "Why", words.sentence(finding.why)
    fix = words.sentence(finding.fix)
    if fix not in seen:
        yield "Fix", fix
    if finding.saves is not None and abs(finding.saves.ink_g) >= LEAST_SAVING_G:
        yield "Saves" if finding.saves.ink_g > 0 else "Costs", _saving(finding.saves, currency)


def _saving(saving: Saving, currency: str) -> str:
    money = f", {words.money(abs(saving.money), currency)}" if currency else ""
    amount = f"{show_number(abs(saving.ink_g))} g of ink{money} a copy"
    return amount if saving.ink_g > 0 else f"{amount}: the mended file needs more"


def _places(finding: Finding) -> str:
    told = finding.places[:PLACES_TOLD]
    lines = [_place(place, finding.unit) for place in told]
    total = max(finding.places_total, len(finding.places))
    if total > len(told):
        lines.append(f"and {total - len(told)} more")
    return "\n".join(lines)


def _place(place: Place, unit: str) -> str:
    left, top = (show_number(round(max(0.0, offset)), 6) for offset in (place.x_mm, place.y_mm))
    value = "" if place.value is None else f"{show(place.value, unit)}, "
    extent = f"{show_number(place.width_mm, 2)} × {show_number(place.height_mm, 2)} mm"
    return f"{value}{left} mm from the left and {top} mm from the top ({extent})"


def _bill(report: Report) -> RenderableType | None:
    if report.ink is None:
        return None
    rows = [("Ink", _ink(report.ink))]
    if report.cost is not None:
        copies = report.ticket.copies
        rows += [("Cost", _cost(report.cost, copies)), ("Film", _film(report.cost))]
        rows.append(("Time", f"{show_number(report.cost.minutes, 2)} minutes"))
    return labelled(rows, _LABEL)


def _ink(use: InkUse) -> str:
    decimals = 3 if use.grams < 1 else 2 if use.grams < 10 else 1
    named = [f"{name} {use.channels[name].grams:.{decimals}f}" for name in CHANNELS if name in use.channels]
    return f"{use.grams:.{decimals}f} g for one copy: {', '.join(named)}"


def _cost(cost: Cost, copies: int) -> str:
    low, high = cost.interval
    each = f", {words.money(cost.per_copy, cost.currency)} each" if copies > 1 else ""
    parts = ", ".join(f"{name} {amount:.2f}" for name, amount in cost.parts.items())
    total = words.money(cost.total, cost.currency)
    return f"{total} for {words.many(copies, 'copy', 'copies')}{each} ({low:.2f} to {high:.2f} in all): {parts}"


def _film(cost: Cost) -> str:
    beside = f", {cost.across} beside each other" if cost.across > 1 else ""
    turned = ", turned by a quarter" if cost.turned else ""
    return f"{cost.film_mm / 1000:.2f} m{beside}{turned}"


def _unmeasured(report: Report) -> RenderableType | None:
    missing = [measure for measure in report.measures.values() if measure.why_not is not None and measure.applies]
    return listed("Could not be measured", map(_why_not, missing)) if missing else None


def _why_not(measure: Measurement) -> str:
    what = MEASURES[measure.id].what if measure.id in MEASURES else measure.id
    return f"{what}: {words.sentence(measure.why_not or '')}"


def _assumed(report: Report, told: Collection[str]) -> RenderableType | None:
    """What is taken for granted, apart from what earlier reports of the run have said already."""
    new = [words.sentence(assumption) for assumption in report.assumptions if assumption not in told]
    if new:
        return listed("Taken for granted", new)
    return Text(" Taken for granted: the same as above.", style="dim") if report.assumptions else None
