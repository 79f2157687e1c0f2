"""Predicted against weighed, as a picture: a field for each ink, a ring for each job, and the line on which both agree.

It reads without colour: each field says in words which ink it is, jobs that lie far off are filled, and the two dashed
lines hold 95 of 100 weighings.
"""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from itertools import pairwise
from typing import TypeAlias

from PIL import Image, ImageDraw, ImageFont

from preflight.ink.calibration import Calibration, ChannelFit
from preflight.model import CHANNELS
from preflight.report.words import many, plain
from preflight.units import show_number as show

#: From grams predicted and weighed to a point on the sheet.
_Place: TypeAlias = Callable[[float, float], tuple[float, float]]
#: Drawn so many times larger, then made smaller: lines at a slant become smooth.
_FINER = 2
_FIELD, _GAP, _HEAD, _FOOT = 430, 40, 92, 64
_INSET_LEFT, _INSET_BOTTOM, _INSET_TOP = 58, 52, 58
_PAPER, _INK, _QUIET, _RULE = "#fbfaf7", "#1d2228", "#5a636d", "#cfd3d6"
_RINGS = {"cyan": "#00718f", "magenta": "#a3195b", "yellow": "#8a6a00", "black": "#1d2228", "white": "#4b5a67"}
#: 95 of 100 of a normal distribution lie within so many standard deviations.
_HOLD_95 = 1.96


def draw(found: Calibration, shop: str) -> bytes:
    """The picture as the bytes of a PNG.

    Parameters
    ----------
    found
        With at least one fit.
    shop
        Name of the shop, for the heading.
    """
    fits = [found.fits[channel] for channel in CHANNELS if channel in found.fits]
    across = min(len(fits), 3)
    down = -(-len(fits) // across)
    width = max(across * (_FIELD + _GAP) + _GAP, 960)
    height = _HEAD + down * (_FIELD + _GAP) + _FOOT
    sheet = _Sheet(width, height)
    sheet.text(_GAP, 26, f"Ink predicted and weighed: {plain(shop)[:60]}", 26)
    jobs = f"{many(found.jobs, 'weighed job')}, the last on {found.last.isoformat()}"
    sheet.text(_GAP, 60, f"{jobs}. A ring is a job. On the line, fit and scale agree.", 17, _QUIET)
    for number, fit in enumerate(fits):
        _field(sheet, fit, _GAP + number % across * (_FIELD + _GAP), _HEAD + number // across * (_FIELD + _GAP))
    note = (
        "Dashed: 95 of 100 weighings lie between. Filled: far off, look for a slip of the pen. Brackets: 95 % interval."
    )
    sheet.text(_GAP, height - _FOOT + 8, note, 16, _QUIET)
    if found.refusals:
        sheet.text(_GAP, height - _FOOT + 32, f"No figure yet for {', '.join(found.refusals)}.", 16)
    return sheet.png()


class _Sheet:
    """A sheet to draw on in its own pixels; it is made finer and then smaller."""

    def __init__(self, width: int, height: int) -> None:
        self._image = Image.new("RGB", (width * _FINER, height * _FINER), _PAPER)
        self._draw = ImageDraw.Draw(self._image)
        self._fonts: dict[int, ImageFont.FreeTypeFont | ImageFont.ImageFont] = {}

    def text(self, x: float, y: float, text: str, size: int, colour: str = _INK, anchor: str = "la") -> None:
        if size not in self._fonts:
            self._fonts[size] = ImageFont.load_default(size * _FINER)
        self._draw.text((x * _FINER, y * _FINER), text, font=self._fonts[size], fill=colour, anchor=anchor)

    def line(self, x: float, y: float, to_x: float, to_y: float, colour: str, width: float = 1.0) -> None:
        ends = [each * _FINER for each in (x, y, to_x, to_y)]
        self._draw.line(ends, fill=colour, width=max(1, round(width * _FINER)))

    def dashed(self, x: float, y: float, to_x: float, to_y: float, colour: str) -> None:
        steps = max(1, round(((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5 / 6))
        for step in range(0, steps, 2):
            a, b = step / steps, min(1.0, (step + 1) / steps)
            self.line(x + a * (to_x - x), y + a * (to_y - y), x + b * (to_x - x), y + b * (to_y - y), colour)

    def ring(self, x: float, y: float, colour: str, filled: bool) -> None:
        radius = 7.0 if filled else 5.0
        box = [(x - radius) * _FINER, (y - radius) * _FINER, (x + radius) * _FINER, (y + radius) * _FINER]
        self._draw.ellipse(box, outline=colour, width=2 * _FINER, fill=colour if filled else None)

    def png(self) -> bytes:
        stream = BytesIO()
        self._image.reduce(_FINER).quantize(64).save(stream, "PNG", optimize=True)
        return stream.getvalue()


def _field(sheet: _Sheet, fit: ChannelFit, left: float, top: float) -> None:
    grams = fit.per_m2
    sheet.text(left, top, fit.channel, 22)
    said = f"{show(grams.likely)} g per square metre ({show(grams.low)} to {show(grams.high)})"
    sheet.text(left + _FIELD, top + 4, said, 17, anchor="ra")
    job = f"each job {show(fit.per_job.likely, 2)} g ({show(fit.per_job.low, 2)} to {show(fit.per_job.high, 2)})"
    sheet.text(left + _FIELD, top + 28, job, 15, _QUIET, "ra")
    x0, y1 = left + _INSET_LEFT, top + _FIELD - _INSET_BOTTOM
    x1, y0 = left + _FIELD, top + _INSET_TOP
    most, step = _scale(max(max(pair.weighed, pair.predicted) for pair in fit.pairs))

    def place(predicted: float, weighed: float) -> tuple[float, float]:
        return x0 + predicted / most * (x1 - x0), y1 - weighed / most * (y1 - y0)

    for number in range(round(most / step) + 1):
        x, y = place(number * step, number * step)
        sheet.line(x, y0, x, y1, _RULE)
        sheet.line(x0, y, x1, y, _RULE)
        sheet.text(x, y1 + 6, show(number * step), 14, _QUIET, "ma")
        sheet.text(x0 - 8, y, show(number * step), 14, _QUIET, "rm")
    sheet.line(x0, y1, x1, y0, _INK, 1.5)
    _band(sheet, fit, place, most)
    for pair in fit.pairs:
        sheet.ring(*place(pair.predicted, pair.weighed), _RINGS[fit.channel], pair.far_off)
    sheet.text((x0 + x1) / 2, y1 + 26, "predicted, g", 15, _INK, "ma")
    sheet.text(x0, y0 - 20, "weighed, g", 15, _INK)


def _band(sheet: _Sheet, fit: ChannelFit, place: _Place, most: float) -> None:
    """The dashed lines on both sides of the line of agreement."""
    pairs = sorted(fit.pairs, key=lambda pair: pair.predicted)
    for side in (-1.0, 1.0):
        points = [(pair.predicted, pair.predicted + side * _HOLD_95 * pair.sigma) for pair in pairs]
        inside = [place(x, min(max(y, 0.0), most)) for x, y in points]
        for (x, y), (to_x, to_y) in pairwise(inside):
            sheet.dashed(x, y, to_x, to_y, _QUIET)


def _scale(largest: float) -> tuple[float, float]:
    """The end of an axis and the step of its rules: 4 to 8 steps of 1, 2 or 5 times a power of ten."""
    power = 0.001
    while True:
        for times in (1, 2, 5):
            step = power * times
            count = -(-largest * 1.02 // step)
            if count <= 8:
                return step * max(count, 1), step
        power *= 10
