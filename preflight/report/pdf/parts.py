"""The parts of an artwork's report, from what is to be said to what reportlab lays out on sheets."""

from __future__ import annotations

from io import BytesIO

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, HRFlowable, Image, KeepTogether, Spacer, Table

from preflight.report.content import Content
from preflight.report.language import Language
from preflight.report.letterhead import Logo
from preflight.report.overviews import Layer
from preflight.report.pdf import images, pictures
from preflight.report.pdf.styles import INK, RULE, Bold, Styles, bare, paragraph, short, side_by_side
from preflight.report.points import Closely, Told
from preflight.report.words import hex_code, percent
from preflight.shop import Letterhead
from preflight.views.model import Swatch

#: Most that a logo takes, the picture of the whole artwork, and that of a layer, mm.
_LOGO, _HIGHEST, _LAYER = (48, 17), 92, (62, 42)
#: A text that is higher than this does not stand beside its close-up, and does not keep its picture company, pt.
_HIGH = 150 * mm
_LONG_LINE = 200
#: More lines than this do not stand in two columns; more garments and lines of a letterhead than these are left out.
_MOST_FINE, _MOST_GARMENTS, _MOST_LINES = 80, 20, 12


def letterhead(told: Letterhead, logo: Logo | None, styles: Styles, wide: float) -> list[Flowable]:
    """The shop's head of the first sheet, so wide, pt."""
    lines: list[Flowable] = [paragraph(styles.shop, told.name)]
    lines += [paragraph(styles.small, line) for line in told.lines[:_MOST_LINES]]
    picture = None if logo is None else _logo(logo)
    if picture is not None:
        across = picture.drawWidth + 5 * mm
        lines = [side_by_side([picture, lines], [across, wide - across])]
    line = HRFlowable(width="100%", thickness=1.8, color=styles.accent, spaceBefore=3 * mm, spaceAfter=5 * mm)
    return [*lines, line]


class Parts:
    """The parts of one report.

    Parameters
    ----------
    told
        What is to be said.
    wide
        Of the text, pt.
    """

    def __init__(self, told: Content, styles: Styles, language: Language, wide: float) -> None:
        self._told, self._styles, self._language, self._wide = told, styles, language, wide

    def answer(self) -> list[Flowable]:
        """The main point, and what was ordered."""
        told, styles = self._told, self._styles
        badge = pictures.Badge(told.verdict.value, told.badge)
        name = paragraph(styles.body, Bold(short(told.file)))
        across = badge.wide + 3 * mm
        lead = [paragraph(styles.lead, told.lead)] if told.lead else []
        return [
            side_by_side([badge, name], [across, self._wide - across]),
            Spacer(1, 1.5 * mm),
            paragraph(styles.title, told.headline),
            *lead,
            Spacer(1, 3 * mm),
            self._order(),
        ]

    def _order(self) -> Flowable:
        cells: list[list[Flowable]] = [
            [paragraph(self._styles.label, label), paragraph(self._styles.body, short(text))]
            for label, text in self._told.order
        ]
        if self._told.garments:
            rows = [
                [pictures.Chip(rgb), paragraph(self._styles.body, short(name))]
                for name, rgb in self._told.garments[:_MOST_GARMENTS]
            ]
            across = self._wide / (len(cells) + 1) - 28 - 2 * mm
            cloths = Table(rows, colWidths=[28, max(across, 30 * mm)], hAlign="LEFT")
            cloths.setStyle([("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *bare(2 * mm)])
            cells.append([paragraph(self._styles.label, self._language.say("Garment")), cloths])
        if not cells:  # the order was not read
            return Spacer(1, 0)
        return side_by_side(cells, [self._wide / len(cells)] * len(cells), 3 * mm)

    def compared(self) -> list[Flowable]:
        """What became of the earlier version's points."""
        found = self._told.compared
        if found is None:
            return []
        parts = self._styles.section_head(found.title)
        if found.lead:
            parts.append(paragraph(self._styles.body, found.lead))
        for heading, lines in found.groups:
            parts += [Spacer(1, 1.5 * mm), paragraph(self._styles.heading, heading), self._styles.bullets(lines)]
        return parts

    def overview(self) -> list[Flowable]:
        """The artwork on each garment; the first one large, with the marks."""
        told, styles, say = self._told, self._styles, self._language.say
        if not told.overviews:
            head = styles.section_head(say("Your artwork")) if told.no_picture else []
            return [*head, paragraph(styles.body, told.no_picture)] if told.no_picture else []
        first, *others = told.overviews
        large = pictures.Cloth(first, told.marks, self._wide, _HIGHEST * mm, bar=True, language=self._language)
        captions = [first.caption]
        if any(mark.label for mark in told.marks):
            captions.append(say("The numbers are those of the points below."))
        words: list[Flowable] = [Spacer(1, 1.5 * mm), *(paragraph(styles.caption, each) for each in captions)]
        parts: list[Flowable] = [KeepTogether([*styles.section_head(say("Your artwork")), large, *words])]
        across = (self._wide - 6 * mm) / 3
        small: list[list[Flowable]] = []
        for each in others:
            cloth = pictures.Cloth(each, (), across, 50 * mm, bar=False, language=self._language)
            small.append([cloth, paragraph(styles.caption, short(each.caption))])
        for at in range(0, len(small), 3):
            row = small[at : at + 3]
            parts += [Spacer(1, 3 * mm), side_by_side(row, [across + 3 * mm] * len(row), 3 * mm)]
        return parts

    def findings(self) -> list[Flowable]:
        """Every finding, worst first."""
        if not self._told.findings:
            return []
        parts = self._styles.section_head(self._language.say("Point by point"))
        for number, finding in enumerate(self._told.findings):
            block = self._finding(finding)
            if number:
                parts.append(HRFlowable(width="100%", thickness=0.5, color=RULE, spaceBefore=3 * mm, spaceAfter=3 * mm))
            # The first one keeps the title of the section company.
            if number == 0:
                head, parts = parts, []
                block = [*head, *block]
            parts.append(KeepTogether(block))
        return parts

    def _finding(self, told: Told) -> list[Flowable]:
        plate = pictures.Plate(str(told.number))
        badge = pictures.Badge(told.severity.value, told.badge)
        title = paragraph(self._styles.point, short(told.title))
        rest = self._wide - plate.wide - badge.wide - 4.5 * mm
        cells: list[Flowable | list[Flowable]] = [plate, [], title, [], badge]
        widths = [plate.wide, 2.5 * mm, rest, 2 * mm, badge.wide]
        parts: list[Flowable] = [side_by_side(cells, widths, 0), Spacer(1, 2 * mm)]
        parts += self._beside(told)
        if told.heavy is not None:
            parts += [Spacer(1, 3 * mm), self.layer(told.heavy)]
        if told.swatches:
            parts += [Spacer(1, 3 * mm), self._swatches(told.swatches)]
        return parts

    def _beside(self, told: Told) -> list[Flowable]:
        """The words, and the close-up at their right where there is room."""
        if told.closely is None or not told.closely.close_up.picture.width_mm:
            return self._rows(told)
        close = self._closely(told.closely)
        across = max(pictures.Close(told.closely).wide, 50 * mm)
        rest = self._wide - across - 5 * mm
        words = self._rows(told)
        high = sum(each.wrap(rest, 1e6)[1] for each in words)
        if high > _HIGH:
            return [*self._rows(told), Spacer(1, 2 * mm), KeepTogether(close)]
        return [side_by_side([words, [], close], [rest, 5 * mm, across], 0)]

    def _rows(self, told: Told) -> list[Flowable]:
        styles = self._styles
        rows: list[list[Flowable]] = [
            [paragraph(styles.row, label), paragraph(styles.body, text)] for label, text in told.rows
        ]
        if told.places:
            places = [paragraph(styles.body, *((Bold(name), " ") if name else ()), text) for name, text in told.places]
            if told.more_places:
                places.append(paragraph(styles.body, told.more_places))
            rows.insert(1, [paragraph(styles.row, self._language.say("Where")), *places])
        return [each for row in rows for each in [*row, Spacer(1, 1.6 * mm)]]

    def _closely(self, closely: Closely) -> list[Flowable]:
        styles, say = self._styles, self._language.say
        close, picture = pictures.Close(closely), closely.close_up.picture
        times = self._language.figure(close.scale / mm, 2)
        told = say("{what}, {times} times as large as in print", what=closely.caption, times=times)
        parts: list[Flowable] = [close, Spacer(1, 1 * mm), paragraph(styles.caption, told)]
        if close.wide > picture.width_mm * mm:
            small = pictures.Plain(picture, picture.width_mm * mm)
            words = paragraph(styles.caption, say("In print it is this small."))
            across = small.wide + 3 * mm
            parts += [Spacer(1, 1 * mm), side_by_side([small, words], [across, max(close.wide - across, 38 * mm)])]
        return parts

    def layer(self, shown: Layer) -> Flowable:
        """A picture of a layer, and its words at the right."""
        picture = pictures.layer(shown, _LAYER[0] * mm, _LAYER[1] * mm)
        across = picture.wide + 5 * mm
        return side_by_side([picture, paragraph(self._styles.body, shown.caption)], [across, self._wide - across])

    def _swatches(self, swatches: tuple[Swatch, ...]) -> Flowable:
        styles, say = self._styles, self._language.say
        head = [say("In your file"), say("In print"), say("Share of it")]
        rows: list[list[Flowable]] = [[paragraph(styles.head, each) for each in head]]
        rows += [
            [
                self._coded(each.before),
                self._coded(each.after),
                paragraph(styles.small, percent(each.share, self._language)),
            ]
            for each in swatches
        ]
        table = Table(rows, colWidths=[45 * mm, 45 * mm, 30 * mm], hAlign="LEFT")
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK), *bare(0)])
        told = say("The largest of these colours, before and after. A screen shows them roughly.")
        return KeepTogether([paragraph(styles.caption, told), Spacer(1, 1 * mm), table])

    def _coded(self, rgb: tuple[int, int, int]) -> Flowable:
        words = paragraph(self._styles.small, hex_code(rgb))
        table = Table([[pictures.Chip(rgb, 40, 18), words]], colWidths=[46, 30 * mm], hAlign="LEFT")
        table.setStyle([("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *bare(0), ("TOPPADDING", (0, 0), (-1, -1), 2)])
        return table

    def white(self) -> list[Flowable]:
        """The white layer."""
        if self._told.white is None:
            return []
        return [KeepTogether([*self._styles.section_head(self._told.white.title), self.layer(self._told.white)])]

    def fine(self) -> list[Flowable]:
        """What was looked at and found well, in two columns."""
        lines = self._told.fine
        if not lines:
            return []
        head = self._styles.section_head(self._language.say("Checked, and fine"))
        if len(lines) > _MOST_FINE or max(map(len, lines)) > _LONG_LINE:
            return [*head, self._styles.bullets(lines, self._styles.fine)]
        half = (len(lines) + 1) // 2
        columns: list[list[Flowable]] = [
            [self._styles.bullets(part, self._styles.fine)] if part else [] for part in (lines[:half], lines[half:])
        ]
        table = side_by_side(columns, [self._wide / 2] * 2, 4 * mm)
        return [CondPageBreak(40 * mm), *head, table]


def _logo(logo: Logo) -> Image | None:
    """The shop's logo; None when its file is no whole picture."""
    whole = images.opened(logo.kind, logo.data)
    if whole is None:
        return None
    wide, high = whole.getSize()
    scale = min(_LOGO[0] * mm / wide, _LOGO[1] * mm / high)
    return Image(BytesIO(logo.data), wide * scale, high * scale)
