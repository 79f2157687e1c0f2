"""A sheet to draw on in millimetres, for the pictures of the demo."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import TypeAlias

from PIL import Image, ImageDraw, ImageFont

from preflight.units import MM_PER_INCH

Point: TypeAlias = tuple[float, float]
Colour: TypeAlias = str | tuple[int, int, int] | tuple[int, int, int, int]

#: A sheet is drawn so many times larger and then made smaller, which smooths its edges.
FINER = 2
_CLEAR = (0, 0, 0, 0)


class Sheet:
    """A transparent sheet. All lengths are millimetres; y grows downwards.

    Parameters
    ----------
    width, height
        Size of the print.
    ppi
        Pixels per inch of the picture that ``finish`` gives.
    """

    def __init__(self, width: float, height: float, ppi: float = 300.0) -> None:
        self.width, self.height, self.ppi = width, height, ppi
        self._scale = ppi / MM_PER_INCH * FINER
        self._size = (round(width * ppi / MM_PER_INCH), round(height * ppi / MM_PER_INCH))
        self.image = Image.new("RGBA", (self._size[0] * FINER, self._size[1] * FINER), _CLEAR)
        self._draw = ImageDraw.Draw(self.image)

    def disc(self, centre: Point, radius: float, fill: Colour) -> None:
        """A filled circle."""
        self.oval(centre, radius, radius, fill)

    def oval(self, centre: Point, across: float, down: float, fill: Colour, turn: float = 0.0) -> None:
        """A filled ellipse with half axes ``across`` and ``down``, turned clockwise by ``turn`` degrees."""
        self.shape(turned(ellipse(centre, across, down), centre, turn), fill)

    def shape(self, outline: Iterable[Point], fill: Colour) -> None:
        """A filled polygon."""
        self._draw.polygon([self._at(point) for point in outline], fill=fill)

    def line(self, points: Sequence[Point], width: float, fill: Colour) -> None:
        """A line with round ends and corners."""
        dots = [self._at(point) for point in points]
        half = width * self._scale / 2
        for (x, y), (x_too, y_too) in pairwise(dots):
            length = math.hypot(x_too - x, y_too - y) or 1.0
            aside = (-(y_too - y) / length * half, (x_too - x) / length * half)
            near = [(x - aside[0], y - aside[1]), (x + aside[0], y + aside[1])]
            far = [(x_too + aside[0], y_too + aside[1]), (x_too - aside[0], y_too - aside[1])]
            self._draw.polygon(near + far, fill=fill)
        for x, y in dots:
            self._draw.ellipse([x - half, y - half, x + half, y + half], fill=fill)

    def box(self, left: float, top: float, width: float, height: float, fill: Colour, round_by: float = 0.0) -> None:
        """A filled rectangle with rounded corners."""
        corners = [self._at((left, top)), self._at((left + width, top + height))]
        self._draw.rounded_rectangle(corners, radius=round_by * self._scale, fill=fill)

    def text(self, words: str, centre: Point, height: float, fill: Colour, bold: float = 0.0) -> None:
        """A line of text; ``height`` is that of the font, ``bold`` thickens each stroke by so much all round."""
        font = self._font(height)
        stroke = round(bold * self._scale)
        self._draw.text(self._at(centre), words, font=font, fill=fill, anchor="mm", stroke_width=stroke)

    def text_round(
        self,
        words: str,
        centre: Point,
        radius: float,
        height: float,
        fill: Colour,
        *,
        bold: float = 0.0,
        low: bool = False,
    ) -> None:
        """Text along a circle: over its top, or with ``low`` under its bottom; ``radius`` runs through the letters."""
        font = self._font(height)
        stroke = bold * self._scale
        steps = [font.getlength(letter) + 2 * stroke for letter in words]
        up = 1 if low else -1
        angle = -sum(steps) / (radius * self._scale) / 2
        for letter, step in zip(words, steps, strict=True):
            half = step / (radius * self._scale) / 2
            angle += half
            where = (centre[0] + radius * math.sin(angle), centre[1] + up * radius * math.cos(angle))
            self._letter(letter, where, -up * math.degrees(angle), font, fill, round(stroke))
            angle += half

    def finish(self) -> Image.Image:
        """The picture, RGBA with straight alpha and smooth edges."""
        return self.image.reduce(FINER)

    def _letter(
        self, letter: str, where: Point, degrees: float, font: ImageFont.FreeTypeFont, fill: Colour, stroke: int
    ) -> None:
        side = round(font.size * 2)
        stamp = Image.new("RGBA", (side, side), _CLEAR)
        pen = ImageDraw.Draw(stamp)
        pen.text((side / 2, side / 2), letter, font=font, fill=fill, anchor="mm", stroke_width=stroke)
        stamp = stamp.rotate(-degrees, Image.Resampling.BICUBIC)
        x, y = self._at(where)
        self.image.alpha_composite(stamp, (round(x - side / 2), round(y - side / 2)))

    def _font(self, height: float) -> ImageFont.FreeTypeFont:
        font = ImageFont.load_default(height * self._scale)
        if not isinstance(font, ImageFont.FreeTypeFont):
            raise TypeError("this build of Pillow has no scalable font")
        return font

    def _at(self, point: Point) -> Point:
        return point[0] * self._scale, point[1] * self._scale


def ellipse(centre: Point, across: float, down: float, points: int = 180) -> list[Point]:
    """The outline of an ellipse."""
    steps = (math.tau * step / points for step in range(points))
    return [(centre[0] + across * math.cos(angle), centre[1] + down * math.sin(angle)) for angle in steps]


def turned(outline: Iterable[Point], about: Point, degrees: float) -> list[Point]:
    """The outline turned clockwise about a point."""
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [
        (
            about[0] + (x - about[0]) * cosine - (y - about[1]) * sine,
            about[1] + (x - about[0]) * sine + (y - about[1]) * cosine,
        )
        for x, y in outline
    ]


def curve(start: Point, pull: Point, pull_too: Point, end: Point, points: int = 40) -> list[Point]:
    """A cubic Bézier curve from ``start`` to ``end``."""
    return [
        (
            (1 - t) ** 3 * start[0] + 3 * (1 - t) ** 2 * t * pull[0] + 3 * (1 - t) * t**2 * pull_too[0] + t**3 * end[0],
            (1 - t) ** 3 * start[1] + 3 * (1 - t) ** 2 * t * pull[1] + 3 * (1 - t) * t**2 * pull_too[1] + t**3 * end[1],
        )
        for t in (step / points for step in range(points + 1))
    ]


def leaf(root: Point, tip: Point, width: float) -> list[Point]:
    """A pointed leaf from root to tip, ``width`` wide at its middle."""
    along = (tip[0] - root[0], tip[1] - root[1])
    length = math.hypot(*along)
    aside = (-along[1] / length * width * 0.67, along[0] / length * width * 0.67)

    def beside(share: float, sense: float) -> Point:
        return root[0] + along[0] * share + sense * aside[0], root[1] + along[1] * share + sense * aside[1]

    there = curve(root, beside(0.25, 1), beside(0.7, 1), tip)
    back = curve(tip, beside(0.7, -1), beside(0.25, -1), root)
    return there + back


def star(centre: Point, outer: float, inner: float, tips: int) -> list[Point]:
    """A star with its first tip upwards."""
    outline = []
    for step in range(2 * tips):
        radius, angle = (outer, inner)[step % 2], math.pi * step / tips
        outline.append((centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle)))
    return outline
