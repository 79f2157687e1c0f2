"""The last parts of a report: the approval, and the part for the shop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, HRFlowable, KeepTogether, PageBreak, Spacer
from reportlab.platypus import Table as Grid

from preflight.report.approval import Approval
from preflight.report.language import Language
from preflight.report.pdf.fonts import BOLD, width, written
from preflight.report.pdf.pictures import Tick
from preflight.report.pdf.styles import INK, RULE, Bold, Styles, bare, paragraph, short, side_by_side
from preflight.report.shopside import ShopSide, Table

#: Of the text of a table, pt.
_SIZE = 7.4
#: Letters of a text that stands in half a line.
_SHORT = 34


def approval(told: Approval, styles: Styles, wide: float) -> list[Flowable]:
    """The block to sign or to answer."""
    lead = paragraph(styles.body, told.lead)
    facts = _pairs(told.facts, styles, wide)
    parts: list[Flowable] = [*styles.section_head(told.title), *facts, Spacer(1, 2.5 * mm), lead, Spacer(1, 1.5 * mm)]
    if told.change:
        parts += [styles.bullets(told.change), Spacer(1, 2 * mm)]
    for line in told.accept:
        parts += [side_by_side([Tick(), paragraph(styles.body, short(line))], [16, wide - 16], 0), Spacer(1, 1.5 * mm)]
    parts += [Spacer(1, 1 * mm), paragraph(styles.body, told.answer)]
    if told.sign:
        column = wide / len(told.sign)
        lines = [_line(label, styles, column - 6 * mm) for label in told.sign]
        parts += [Spacer(1, 12 * mm), side_by_side(lines, [column] * len(lines), 6 * mm)]
    return [KeepTogether(parts)]


def _line(label: str, styles: Styles, wide: float) -> list[Flowable]:
    """A line to write on."""
    rule = HRFlowable(width=wide, thickness=0.8, color=INK, hAlign="LEFT", spaceAfter=1)
    return [rule, paragraph(styles.label, label)]


def shop_side(told: ShopSide, styles: Styles, language: Language, wide: float) -> list[Flowable]:
    """Figures, ink, cost and cautions, on sheets of their own: they can be left out of what is handed on."""
    parts: list[Flowable] = [PageBreak(), paragraph(styles.section, language.say("For the shop")), Spacer(1, 2 * mm)]
    parts += _pairs(told.file, styles, wide)
    for row in _rows(told.tables):
        parts += [Spacer(1, 3 * mm), CondPageBreak(25 * mm)]
        if len(row) == 1:
            parts += _table(row[0], styles, wide)
        else:
            column = (wide - 8 * mm) / 2
            left, right = (_table(table, styles, column) for table in row)
            parts.append(side_by_side([left, [], right], [column, 8 * mm, column], 0))
    parts += [Spacer(1, 3 * mm), KeepTogether(_pairs(told.production, styles, wide))]
    lists = (
        (language.say("Could not be measured"), told.unmeasured),
        (language.say("Taken for granted"), told.assumptions),
        (language.say("When you print it"), told.cautions),
    )
    for title, lines in lists:
        if lines:
            whole = [paragraph(styles.heading, title), styles.bullets(lines, styles.small)]
            parts += [Spacer(1, 2 * mm), KeepTogether(whole)]  # no last line alone on a sheet
    return parts


def _rows(tables: Sequence[Table]) -> Iterator[Sequence[Table]]:
    """The tables; two small ones that follow each other stand beside each other."""
    waiting: list[Table] = []
    for table in tables:
        if waiting and not _is_small(table):
            yield [waiting.pop()]
        waiting.append(table)
        if len(waiting) == 2 or not _is_small(table):
            yield waiting
            waiting = []
    if waiting:
        yield waiting


def _is_small(table: Table) -> bool:
    texts = [table.title, *table.head, *(cell for row in table.rows for cell in row)]
    return len(table.rows) <= 12 and max(map(len, texts)) < 60 and len(table.head) < 4


def _pairs(pairs: Sequence[tuple[str, str]], styles: Styles, wide: float) -> list[Flowable]:
    """Labels, and what they say beside them; short ones two by two."""
    lines: list[list[tuple[str, str]]] = []
    for label, text in pairs:
        short = len(label) <= _SHORT and len(text) <= _SHORT
        if short and lines and len(lines[-1]) == 1 and len(lines[-1][0][1]) <= _SHORT:
            lines[-1].append((label, text))
        else:
            lines.append([(label, text)])
    return [_line_of(each, styles, wide) for each in lines]


def _line_of(pairs: Sequence[tuple[str, str]], styles: Styles, wide: float) -> Flowable:
    label_wide = 36 * mm
    cells = [
        cell
        for label, text in pairs
        for cell in (paragraph(styles.label, label), paragraph(styles.small, short(text, 600)))
    ]
    rest = wide - label_wide if len(pairs) == 1 else wide / 2 - label_wide
    return side_by_side(cells, [label_wide, rest] * len(pairs), 3 * mm)


def _table(table: Table, styles: Styles, wide: float) -> list[Flowable]:
    rows = [[paragraph(styles.head, short(each)) for each in table.head]]
    rows += [[paragraph(styles.cell, short(cell, 600)) for cell in row] for row in table.rows]
    grid = Grid(rows, colWidths=_widths(table, wide), repeatRows=1)
    grid.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *bare(3 * mm),
            ("TOPPADDING", (0, 0), (-1, -1), 1.2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.6),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK),
            ("LINEBELOW", (0, 1), (-1, -1), 0.4, RULE),
        ]
    )
    return [paragraph(styles.heading, Bold(short(table.title))), grid]


def _widths(table: Table, wide: float) -> list[float]:
    """Columns: each as wide as its longest word, what is left by the length of what stands in them."""
    texts = [[table.head[at], *(row[at] for row in table.rows)] for at in range(len(table.head))]
    gap, most = 3 * mm, wide / len(texts)
    words = [
        max((width(word, _SIZE, BOLD) for text in column for word in written(text).split()), default=0.0)
        for column in texts
    ]
    least = [min(word + 1.0, most - gap) + gap for word in words]
    needs = [min(max(width(written(text), _SIZE) for text in column), wide) for column in texts]
    left = wide - sum(least)
    return [one + left * need / max(sum(needs), 1.0) for one, need in zip(least, needs, strict=True)]
