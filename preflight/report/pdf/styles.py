"""How text stands on a sheet. The only place where text becomes the markup of reportlab's paragraphs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, HRFlowable, ListFlowable, Paragraph, Spacer, Table

from preflight.report.letterhead import legible
from preflight.report.pdf.fonts import BOLD, REGULAR, written
from preflight.shop import Letterhead

INK, PAPER = HexColor("#111111"), HexColor("#ffffff")
QUIET, RULE = HexColor("#4a5058"), HexColor("#c9ced4")


class Bold(str):
    """Text in bold."""

    __slots__ = ()


class Styles:
    """The styles of one document; the colour of its text is the shop's."""

    def __init__(self, letterhead: Letterhead) -> None:
        self.accent: Color = HexColor(letterhead.accent)
        self.text: Color = HexColor(legible(letterhead.text))
        self.body = self._style("body", 9.4, 13)
        self.lead = self._style("lead", 10.5, 14.5)
        self.title = self._style("title", 17, 21, bold=True, keepWithNext=1)
        self.section = self._style("section", 12.5, 16, bold=True, keepWithNext=1)
        self.point = self._style("point", 10.6, 14, bold=True)
        self.heading = self._style("heading", 9.4, 13, bold=True, keepWithNext=1)
        self.shop = self._style("shop", 12, 15, bold=True)
        self.label = self._style("label", 7.6, 10, colour=QUIET)
        self.row = self._style("row", 8, 11, bold=True, keepWithNext=1)
        self.caption = self._style("caption", 8, 11, colour=QUIET)
        self.small = self._style("small", 7.6, 10)
        self.fine = self._style("fine", 8.4, 11.6)
        self.figure = self._style("figure", 8.4, 11.6, alignment=TA_RIGHT)
        self.figure_head = self._style("figure head", 7.2, 9.4, bold=True, alignment=TA_RIGHT)
        self.cell = self._style("cell", 7.4, 9.1)
        self.head = self._style("head", 7.2, 9.4, bold=True)

    def _style(
        self, name: str, size: float, leading: float, *, bold: bool = False, colour: Color | None = None,
        keepWithNext: int = 0, alignment: Literal[0, 2] = TA_LEFT,  # noqa: N803 - reportlab's name
    ) -> ParagraphStyle:  # fmt: skip
        font = BOLD if bold else REGULAR
        return ParagraphStyle(
            name,
            fontName=font,
            bulletFontName=REGULAR,
            fontSize=size,
            leading=leading,
            textColor=colour or self.text,
            keepWithNext=keepWithNext,
            alignment=alignment,
            splitLongWords=1,
        )

    def section_head(self, title: str) -> list[Flowable]:
        """A rule, and the title of what follows."""
        line = HRFlowable(width="100%", thickness=0.6, color=RULE, spaceBefore=5 * mm, spaceAfter=1.5 * mm)
        line.keepWithNext = 1
        return [line, paragraph(self.section, title), _kept(Spacer(1, 1.5 * mm))]

    def bullets(self, lines: Sequence[str], style: ParagraphStyle | None = None) -> Flowable:
        """A line for each."""
        used = style or self.body
        items = [paragraph(used, line) for line in lines]
        return ListFlowable(
            items, bulletType="bullet", start="•", bulletFontName=REGULAR, bulletFontSize=used.fontSize,
            bulletColor=self.text, leftIndent=10,
        )  # fmt: skip


def paragraph(style: ParagraphStyle, *parts: str) -> Paragraph:
    """Text, parts of it in bold. Whatever is put in as text comes out as text."""
    told = (f"<b>{_escaped(each)}</b>" if isinstance(each, Bold) else _escaped(each) for each in parts)
    return Paragraph("".join(told), style)


def short(text: str, most: int = 300) -> str:
    """A text for a cell of a table, which must fit on a sheet."""
    return text if len(text) <= most else f"{text[:most]}…"


def side_by_side(cells: Sequence[Flowable | list[Flowable]], widths: Sequence[float], gap: float = 2 * mm) -> Table:
    """Flowables beside each other from the top, each in a column of that width, pt. None is as high as a sheet."""
    table = Table([list(cells)], colWidths=list(widths), hAlign="LEFT")
    table.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *bare(gap)])
    return table


def bare(gap: float) -> list[tuple[str, tuple[int, int], tuple[int, int], float | str]]:
    """Commands for a table whose cells have no room but ``gap`` at their right, pt."""
    first, last = (0, 0), (-1, -1)
    return [
        ("LEFTPADDING", first, last, 0.0),
        ("RIGHTPADDING", first, last, gap),
        ("TOPPADDING", first, last, 0.0),
        ("BOTTOMPADDING", first, last, 0.0),
        ("FONTNAME", first, last, REGULAR),  # or each table names one that is not inside the file
    ]


def _kept(flowable: Flowable) -> Flowable:
    flowable.keepWithNext = 1
    return flowable


def _escaped(text: str) -> str:
    return escape(written(text))
