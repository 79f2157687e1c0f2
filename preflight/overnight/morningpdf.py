"""The morning sheet to print: the same as the page, on sheets of the reports' look, with its fonts inside.

Where the page has a link to a report, paper says where it lies.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from preflight.language import ENGLISH, Language
from preflight.overnight.ledger import Row
from preflight.overnight.morning import Order, Sheet
from preflight.overnight.morningwords import Words, report
from preflight.overnight.telling import last
from preflight.records import dataclass
from preflight.report.letterhead import read_logo
from preflight.report.pdf.fonts import clipped, written
from preflight.report.pdf.parts import letterhead
from preflight.report.pdf.pictures import Badge
from preflight.report.pdf.sheets import About, laid
from preflight.report.pdf.styles import INK, RULE, Bold, Styles, bare, paragraph
from preflight.shop import Shop

#: Widths of the columns of an order's number, its figures and mode, of a file's name and answer, of totals' names, mm.
_NUMBER, _FIGURES, _MODE, _NAME, _ANSWER, _TOTALS = 13, (24, 18, 18), 30, 58, 30, 42
_GAP = 3 * mm
#: A text in a cell or beside a bullet is no higher than this, pt: two of them have room on a sheet. One that is cut has
#: so many lines, and twice as many where its words leave half of each empty.
_HIGHEST, _LINES = 310, 12
#: Letters of an order's and its first file's texts up to which they stay on one sheet.
_TOGETHER = 600
#: Lines of one table: the time that reportlab takes for one grows with their square.
_MOST_LINES = 400


def document(told: Sheet, shop: Shop, language: Language = ENGLISH) -> bytes:
    """The whole sheet.

    Parameters
    ----------
    told
        The sheet.
    shop
        For its letterhead, its paper and its usual print mode.
    language
        Of the words.

    Returns
    -------
    bytes
        A PDF file with its fonts inside and nothing active.
    """
    words = Words(told, shop, language)
    about = About(f"{words.title()} – {words.when()}", words.lead(), words.foot())
    return laid(lambda wide: _Morning(words, wide).story(), about, shop.letterhead, language)


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of a table."""

    cells: list[Flowable | list[Flowable] | str]
    of: bool = False  #: one of an order's files: no rule stands above it
    keeps: bool = False  #: the next one stays on the same sheet
    across: bool = False  #: the first cell takes all columns


class _Morning:
    """The parts, for text so wide, pt."""

    def __init__(self, words: Words, wide: float) -> None:
        self._words, self._told, self._wide = words, words.told, wide
        self._styles = Styles(words.shop.letterhead)

    def story(self) -> list[Flowable]:
        """All of it, in the order of the page."""
        styles, head = self._styles, self._words.shop.letterhead
        return [
            *letterhead(head, read_logo(head), styles, self._wide),
            paragraph(styles.title, self._words.title()),
            paragraph(styles.lead, self._words.lead()),
            *self._first(),
            *self._totals(),
            *self._waiting(),
            *self._aside(),
        ]

    def _first(self) -> list[Flowable]:
        if not self._told.first:
            return []
        title, why, heads = self._words.first()
        copies, film, minutes = (each * mm for each in _FIGURES)
        room = self._wide - (_NUMBER + _MODE) * mm - copies - film - minutes
        lines = [line for number, order in enumerate(self._told.first, 1) for line in self._ready(number, order, room)]
        widths = [_NUMBER * mm, room, copies, _MODE * mm, film, minutes]
        return [
            *self._styles.section_head(title),
            paragraph(self._styles.body, why),
            *self._table(heads, lines, widths, figures=(2, 4, 5)),
        ]

    def _ready(self, number: int, order: Order, wide: float) -> Iterator[_Line]:
        """An order; the files of one with several have lines of their own, which may go on on the next sheet."""
        styles, alone = self._styles, len(order.rows) == 1
        copies, mode, film, minutes = self._words.takes(order)
        name = [self._text(Bold(order.rows[0].file if alone else order.name), wide)]
        if alone:
            name += self._lies(order.rows[0], wide)
        cells: list[Flowable | list[Flowable] | str] = [
            paragraph(styles.fine, str(number)),
            name,
            paragraph(styles.figure, copies),
            self._text(mode, _MODE * mm),
            paragraph(styles.figure, film),
            paragraph(styles.figure, minutes),
        ]
        yield _Line(cells, keeps=not alone and self._is_low(order))
        if not alone:
            for row in order.rows:
                file = self._text(f"{last(row.file)}{self._words.size(row)}", wide)
                yield _Line(["", [file, *self._lies(row, wide)], "", "", "", ""], of=True)

    def _lies(self, row: Row, wide: float) -> list[Flowable]:
        """Where the artwork lies, when not where everybody would look."""
        if row.artwork is None or row.artwork == f"{row.verdict}/{row.file}":
            return []
        return [self._text(row.artwork, wide, quiet=True)]

    def _totals(self) -> list[Flowable]:
        found = self._words.totals()
        if found is None:
            return []
        title, head, told = found
        styles = self._styles
        lines = [
            _Line([paragraph(styles.fine, Bold(name)), *(paragraph(styles.figure, each) for each in cells)])
            for name, cells in told
        ]
        column = (self._wide - _TOTALS * mm) / 3
        widths = [_TOTALS * mm, *[column] * (len(head) - 1)]
        table = self._table(head, lines, widths, figures=range(1, len(head)))
        lacking = self._words.lacking()
        note = [] if lacking is None else [Spacer(1, 1.5 * mm), paragraph(styles.body, lacking)]
        return [KeepTogether([*styles.section_head(title), *table, *note])]

    def _waiting(self) -> list[Flowable]:
        title, heads, orders = self._words.waiting()
        if not orders:
            return []
        why = self._words.language.say("Send the report that is named under each file to the customer.")
        head = [*self._styles.section_head(title), paragraph(self._styles.body, why)]
        return [*head, *self._files(heads, orders)]

    def _aside(self) -> list[Flowable]:
        blocks: list[Flowable] = []
        heads, orders = self._words.unread()
        if orders:
            blocks += self._files(heads, orders)
        for title, lines in self._words.lists():
            blocks += [Spacer(1, 3 * mm), paragraph(self._styles.heading, title), self._bullets(lines)]
        return [*self._styles.section_head(self._words.aside()), *blocks] if blocks else []

    def _bullets(self, lines: Sequence[str]) -> Flowable:
        style = self._styles.body
        return self._styles.bullets([_cut(line, style, self._wide - _GAP) for line in lines])

    def _files(self, head: Sequence[str], orders: Sequence[Order]) -> list[Flowable]:
        widths = [_NAME * mm, _ANSWER * mm, self._wide - (_NAME + _ANSWER) * mm]
        lines: list[_Line] = []
        for order in orders:
            alone = len(order.rows) == 1
            if not alone:
                name = self._text(Bold(order.name), self._wide)
                lines.append(_Line([name, "", ""], keeps=self._is_low(order), across=True))
            lines += [
                _Line(self._file(row, row.file if alone else last(row.file), widths), of=not alone)
                for row in order.rows
            ]
        return self._table(head, lines, widths)

    def _file(self, row: Row, name: str, widths: Sequence[float]) -> list[Flowable | list[Flowable] | str]:
        title, fix, more = self._words.what(row)
        path = report(row)
        file = [self._text(name, widths[0])]
        if path is not None:
            file.append(self._text(path, widths[0], quiet=True))
        what = [self._text(Bold(title), widths[2])] if title else []
        what += [self._text(fix, widths[2])] if fix else []
        what += [self._text(more, widths[2], quiet=True)] if more else []
        return [file, Badge(row.verdict, self._words.badge(row.verdict)), what]

    def _is_low(self, order: Order) -> bool:
        """Whether the order's name and its first file are sure to have room on one sheet."""
        told = order.rows[0]
        texts = (order.name, told.file, report(told), told.artwork, *self._words.what(told))
        return sum(len(written(each)) for each in texts if each) < _TOGETHER

    def _text(self, text: str, wide: float, *, quiet: bool = False) -> Flowable:
        """A text in a column of that width."""
        style = self._styles.label if quiet else self._styles.fine
        told = _cut(text, style, wide - _GAP)
        return paragraph(style, Bold(told) if isinstance(text, Bold) else told)

    def _table(
        self, head: Sequence[str], lines: Sequence[_Line], widths: Sequence[float], figures: Collection[int] = ()
    ) -> list[Flowable]:
        """Lines with a rule above each that begins an order; the head is on every sheet."""
        styles, tables = self._styles, list[Flowable]()
        for start in range(0, len(lines), _MOST_LINES):
            part = lines[start : start + _MOST_LINES]
            first = [
                paragraph(styles.figure_head if at in figures else styles.head, each) for at, each in enumerate(head)
            ]
            cells: list[list[Any]] = [first, *(line.cells for line in part)]
            table = Table(cells, colWidths=list(widths), repeatRows=1, hAlign="LEFT", spaceBefore=1.5 * mm)
            table.setStyle([*_look(part)])
            tables.append(table)
        return tables


def _cut(text: str, style: ParagraphStyle, wide: float) -> str:
    """The text as it is written, cut where it would be higher than ``_HIGHEST`` in so wide a column, pt."""
    told = written(text)
    if len(told) * style.fontSize < _LINES * wide:
        return told
    if paragraph(style, Bold(told) if isinstance(text, Bold) else told).wrap(wide, _HIGHEST)[1] <= _HIGHEST:
        return told
    return clipped(told, style.fontSize, _LINES * wide)


def _look(lines: Sequence[_Line]) -> Iterator[tuple[Any, ...]]:
    """Commands for a table of a head and these lines."""
    first, end = (0, 0), (-1, -1)
    yield ("VALIGN", first, end, "TOP")
    yield from bare(_GAP)
    yield ("RIGHTPADDING", (-1, 0), end, 0.0)
    yield ("TOPPADDING", first, end, 2.6)
    yield ("BOTTOMPADDING", first, end, 2.6)
    yield ("LINEBELOW", first, (-1, 0), 0.8, INK)
    for at, line in enumerate(lines, 1):
        whole = (0, at), (-1, at)
        if line.of:
            yield ("TOPPADDING", *whole, 0.0)
        elif at > 1:
            yield ("LINEABOVE", *whole, 0.4, RULE)
        if line.across:
            yield ("SPAN", *whole)
        if line.keeps and at < len(lines):
            yield ("NOSPLIT", (0, at), (-1, at + 1))
