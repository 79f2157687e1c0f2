"""Pictures of a sheet, and what is drawn over them: marks, scale bar, the measured width, plates and chips."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from preflight.report.dimension import dimension, shown_width_mm
from preflight.report.language import Language
from preflight.report.marks import Mark, scale_bar_mm
from preflight.report.overviews import Layer, Overview
from preflight.report.pdf.fonts import BOLD, REGULAR, width, written
from preflight.report.pdf.images import lay
from preflight.report.pdf.styles import INK, PAPER
from preflight.report.points import Closely
from preflight.report.words import hex_code
from preflight.views.model import Picture

_FRAME = HexColor("#aab0b7")
#: Room between a garment's edge and the artwork on it, and the bar's height, pt.
_PADDING, _BAR = 5 * mm, 5.0
#: An outline is no smaller than this, pt: a speck of a tenth of a millimetre is to be found.
_LEAST = 9.0
_FIGURE = 8.0


class Shape(Flowable):
    """Something of a fixed size. ``alternative``: what it shows, for who does not see it."""

    def __init__(self, wide: float, high: float, alternative: str = "") -> None:
        super().__init__()
        self.wide, self.high, self.alternative = wide, high, alternative

    def wrap(self, *_: float) -> tuple[float, float]:
        """Its size, pt."""
        return self.wide, self.high

    def draw(self) -> None:
        """Draw it; called by reportlab."""
        with described(self.canv, self.alternative):
            self.paint(self.canv)

    def paint(self, canvas: Canvas) -> None:
        """Draw it with its lower left corner at the origin."""
        raise NotImplementedError


class Cloth(Shape):
    """The artwork on its garment, with marks, and a scale bar below it."""

    def __init__(
        self, shown: Overview, marks: tuple[Mark, ...], wide: float, most_high: float, *, bar: bool, language: Language
    ) -> None:
        picture = shown.picture
        ratio = picture.width / picture.height
        self._across = min(wide - 2 * _PADDING, most_high * ratio)
        self._down = self._across / ratio
        self._below = 3 * mm + _BAR if bar and picture.width_mm else 0.0
        super().__init__(wide, self._down + 2 * _PADDING + self._below, shown.alternative)
        self._shown, self._marks, self._language = shown, marks, language

    def paint(self, canvas: Canvas) -> None:
        """See ``Shape``."""
        canvas.setStrokeColor(_FRAME)
        canvas.setLineWidth(0.6)
        canvas.setFillColor(HexColor(hex_code(self._shown.rgb)))
        canvas.rect(0, self._below, self.wide, self.high - self._below, stroke=1, fill=1)
        left, bottom = (self.wide - self._across) / 2, self._below + _PADDING
        picture = self._shown.picture
        lay(canvas, picture, left, bottom, self._across, self._down)
        if picture.width_mm:
            canvas.saveState()
            canvas.translate(left, bottom)
            self._mark(canvas, self._across / picture.width_mm)
            if self._below:
                self._scale(canvas, self._across / picture.width_mm)
            canvas.restoreState()

    def _mark(self, canvas: Canvas, scale: float) -> None:
        for mark in self._marks:
            place = mark.place
            wide, high = max(place.width_mm * scale, _LEAST), max(place.height_mm * scale, _LEAST)
            x = (place.x_mm + place.width_mm / 2) * scale - wide / 2
            y = self._down - (place.y_mm + place.height_mm / 2) * scale - high / 2
            for colour, line in ((PAPER, 3.2), (INK, 1.3)):
                canvas.setStrokeColor(colour)
                canvas.setLineWidth(line)
                canvas.roundRect(x, y, wide, high, 1.6, stroke=1, fill=0)
        for mark in self._marks:
            if mark.label:
                plate(canvas, mark.label, mark.plate_x_mm * scale, self._down - mark.plate_y_mm * scale)

    def _scale(self, canvas: Canvas, scale: float) -> None:
        length = scale_bar_mm(self._shown.picture.width_mm, inches=self._language.inches)
        unit, factor = ("in", 25.4) if self._language.inches else ("cm", 10.0)
        long, bottom = length * scale, -_PADDING - 2 * mm - _BAR
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.8)
        canvas.setFillColor(INK)
        canvas.rect(0, bottom, long / 2, _BAR, stroke=1, fill=1)
        canvas.rect(long / 2, bottom, long / 2, _BAR, stroke=1, fill=0)
        canvas.setFont(REGULAR, 8)
        canvas.drawString(long + 4, bottom, written(f"{self._language.figure(length / factor)} {unit}"))


class Close(Shape):
    """A place, enlarged, with its measured width drawn in."""

    def __init__(self, closely: Closely) -> None:
        picture = closely.close_up.picture
        self.scale = shown_width_mm(picture) * mm / picture.width_mm  #: pt of paper for a mm of print
        super().__init__(picture.width_mm * self.scale, picture.height_mm * self.scale, closely.alternative)
        self._closely = closely

    def paint(self, canvas: Canvas) -> None:
        """See ``Shape``."""
        lay(canvas, self._closely.close_up.picture, 0, 0, self.wide, self.high)
        canvas.saveState()
        clip = canvas.beginPath()
        clip.rect(0, 0, self.wide, self.high)
        canvas.clipPath(clip, stroke=0, fill=0)
        self._measured(canvas)
        canvas.restoreState()
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.7)
        canvas.rect(0, 0, self.wide, self.high, stroke=1, fill=0)

    def _measured(self, canvas: Canvas) -> None:
        ruler, picture = self._closely.close_up.ruler, self._closely.close_up.picture
        if ruler is None or not self._closely.figure:
            return
        drawn = dimension(picture, ruler)
        canvas.setLineCap(1)
        for colour, line in ((PAPER, 0.018), (INK, 0.008)):
            canvas.setStrokeColor(colour)
            canvas.setLineWidth(line * self.wide)
            for x1, y1, x2, y2 in drawn.lines:
                k = self.scale
                canvas.line(x1 * k, self.high - y1 * k, x2 * k, self.high - y2 * k)
        figure = written(self._closely.figure)
        wide, high = width(figure, _FIGURE, BOLD) + 8, _FIGURE + 6
        x, y = drawn.label_x * self.scale, self.high - drawn.label_y * self.scale
        x = min(max(x, wide / 2 + 1), self.wide - wide / 2 - 1)
        _box(canvas, x, y, wide, high, PAPER, INK)
        _middle(canvas, figure, x, y, _FIGURE, INK)


class Plain(Shape):
    """A picture with a thin frame."""

    def __init__(self, picture: Picture, wide: float, alternative: str = "") -> None:
        super().__init__(wide, wide * picture.height / picture.width, alternative)
        self._picture = picture

    def paint(self, canvas: Canvas) -> None:
        """See ``Shape``."""
        lay(canvas, self._picture, 0, 0, self.wide, self.high)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.6)
        canvas.rect(0, 0, self.wide, self.high, stroke=1, fill=0)


def layer(shown: Layer, most_wide: float, most_high: float) -> Plain:
    """The picture of a layer, no larger than that, pt."""
    ratio = shown.picture.width / shown.picture.height
    return Plain(shown.picture, min(most_wide, most_high * ratio), shown.alternative)


class Chip(Shape):
    """A piece of a colour."""

    def __init__(self, rgb: tuple[int, int, int], wide: float = 24.0, high: float = 11.0) -> None:
        super().__init__(wide, high)
        self._colour = HexColor(hex_code(rgb))

    def paint(self, canvas: Canvas) -> None:
        """See ``Shape``."""
        canvas.setFillColor(self._colour)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.6)
        canvas.rect(0, 0, self.wide, self.high, stroke=1, fill=1)


class Plate(Shape):
    """The number of a point, as it stands on the picture."""

    def __init__(self, text: str, size: float = 9.0) -> None:
        super().__init__(max(width(text, size, BOLD) + 8, size + 7), size + 6)
        self._text, self._size = text, size

    def paint(self, canvas: Canvas) -> None:
        """See ``Shape``."""
        plate(canvas, self._text, self.wide / 2, self.high / 2, self._size)


class Badge(Shape):
    """A verdict or severity as a plate: told apart by its frame, not by a colour. ``kind``: "stop", "ask", …"""

    _SIZE = 7.4

    def __init__(self, kind: str, word: str) -> None:
        self._word = written(word)
        super().__init__(width(self._word, self._SIZE, BOLD) + 12, self._SIZE + 7)
        self._kind = kind

    def paint(self, canvas: Canvas) -> None:
        """See ``Shape``."""
        dark = self._kind in ("stop", "unchecked")
        x, y = self.wide / 2, self.high / 2
        canvas.setLineWidth(1.3)
        canvas.setDash(*{"note": ([0.4, 2.4], 0), "unchecked": ([4, 2.4], 0)}.get(self._kind, ([], 0)))
        canvas.setLineCap(1 if self._kind == "note" else 0)
        _box(canvas, x, y, self.wide - 1.3, self.high - 1.3, INK if dark else PAPER, PAPER if dark else INK)
        if self._kind == "ready":
            canvas.setLineWidth(0.5)
            _box(canvas, x, y, self.wide - 5.2, self.high - 5.2, PAPER, INK)
        canvas.setDash([], 0)
        _middle(canvas, self._word, x, y, self._SIZE, PAPER if dark else INK)


class Tick(Shape):
    """An empty box to tick."""

    def __init__(self) -> None:
        super().__init__(10.0, 10.0)

    def paint(self, canvas: Canvas) -> None:
        """See ``Shape``."""
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.9)
        canvas.rect(0.5, 0.5, 9, 9, stroke=1, fill=0)


def plate(canvas: Canvas, text: str, x: float, y: float, size: float = 7.2) -> None:
    """A plate around that middle."""
    told = written(text)
    wide = max(width(told, size, BOLD) + 6, size + 4.5)
    canvas.setLineWidth(0.6)
    _box(canvas, x, y, wide + 1.6, size + 6.1, INK, INK)
    _box(canvas, x, y, wide, size + 4.5, INK, PAPER)
    _middle(canvas, told, x, y, size, PAPER)


@contextmanager
def described(canvas: Canvas, alternative: str) -> Iterator[None]:
    """What is drawn inside has words in its place (ISO 32000-1, 14.9.3): as a number, so that nothing can end it."""
    if not alternative:
        yield
        return
    told = alternative.encode("utf-16-be", "replace").hex()
    vars(canvas)["_code"].append(f"/Span <</Alt <feff{told}>>> BDC")  # reportlab has no name for it
    yield
    vars(canvas)["_code"].append("EMC")


def _box(canvas: Canvas, x: float, y: float, wide: float, high: float, fill: Color, line: Color) -> None:
    canvas.setFillColor(fill)
    canvas.setStrokeColor(line)
    canvas.roundRect(x - wide / 2, y - high / 2, wide, high, 1.8, stroke=1, fill=1)


def _middle(canvas: Canvas, text: str, x: float, y: float, size: float, colour: Color) -> None:
    canvas.setFillColor(colour)
    canvas.setFont(BOLD, size)
    canvas.drawCentredString(x, y - 0.36 * size, text)
