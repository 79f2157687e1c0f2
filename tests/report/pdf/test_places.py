"""Marks, scales and rulers of the PDF, as a renderer draws them on the sheet."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from preflight.model import Bytes
from preflight.report.pdf import document
from preflight.shop import Shop
from tests.report.html.conftest import Show
from tests.report.html.test_marks import BRICK, OFF, SIZE, artwork
from tests.views.made import clear, paint, stroke

from .reading import MM, drawings, pictures, rendered, tight, words

HEAD = Shop.default().letterhead
PPI = 400.0


def brick(pixels: Bytes) -> Bytes:
    """Where the art's colour is, or a mix of it with white."""
    red, green, blue = (pixels[..., each].astype(int) for each in range(3))
    return ((red - blue > 30) & (green < 190)).astype(np.uint8)


def dark(pixels: Bytes) -> Bytes:
    return (pixels.max(axis=2) < 90).astype(np.uint8)


@pytest.mark.parametrize("specks", [[(30.0, 60.0)], [(10.3, 30.7), (60.1, 8.2), (80.9, 33.3)]])
def test_a_mark_lies_on_the_planted_fault(specks: list[tuple[float, float]], show: Show) -> None:
    """The outline's middle against that of the speck in it, both found in the pixels of the rendered sheet."""
    shown = show(artwork(0.0, (22.0, 14.0), specks), SIZE[0], "white")
    data = document(shown, HEAD)
    sheet = rendered(data, 0, PPI)
    (place,) = [box for number, pixels, box in pictures(data) if number == 0 and pixels[0] > 400]
    per_mm = PPI / 25.4
    scale = (place[2] - place[0]) / SIZE[0]  # mm of paper for a mm of print
    left, top = place[0] * per_mm, len(sheet) - place[3] * per_mm
    count, _, boxes, _ = cv2.connectedComponentsWithStats(dark(sheet), connectivity=8)
    for x, y in specks:
        at = left + x * scale * per_mm, top + y * scale * per_mm
        reach = round(1.2 * scale * per_mm)
        window = brick(sheet)[round(at[1]) - reach : round(at[1]) + reach, round(at[0]) - reach : round(at[0]) + reach]
        rows, columns = np.nonzero(window)
        assert len(rows) > 10, "the speck is not on the sheet"
        speck = round(at[0]) - reach + columns.mean() + 0.5, round(at[1]) - reach + rows.mean() + 0.5
        around = [
            box for box in boxes[1:count] if box[0] < speck[0] < box[0] + box[2] and box[1] < speck[1] < box[1] + box[3]
        ]
        assert around, "no outline around the speck"
        box = min(around, key=lambda each: each[2] * each[3])
        middle = box[0] + box[2] / 2, box[1] + box[3] / 2
        assert math.dist(middle, speck) / per_mm / scale < OFF


@pytest.mark.parametrize(("angle", "line"), [(0.0, (20.0, 20.0)), (35.0, (66.0, 52.0)), (90.0, (24.4, 41.3))])
def test_the_outline_of_a_line_lies_around_it(angle: float, line: tuple[float, float], show: Show) -> None:
    shown = show(artwork(angle, line, []), SIZE[0], "white")
    data = document(shown, HEAD)
    (place,) = [box for number, pixels, box in pictures(data) if number == 0 and pixels[0] > 400]
    scale = (place[2] - place[0]) / SIZE[0]
    slope = math.radians(angle)
    wide, high = 9 * abs(math.cos(slope)), 9 * abs(math.sin(slope))
    least = 9 / MM / scale  # an outline is no smaller
    wish = (*line, max(wide, least), max(high, least))
    found = []
    for left, bottom, right, top in drawings(data, 0):
        x, y = ((left + right) / 2 - place[0]) / scale, (place[3] - (bottom + top) / 2) / scale
        found.append((x, y, (right - left) / scale, (top - bottom) / scale))
    near = min(found, key=lambda each: max(abs(a - b) for a, b in zip(each, wish, strict=True)))
    assert near[:2] == pytest.approx(line, abs=OFF)
    assert near[2:] == pytest.approx(wish[2:], abs=3 * OFF)  # bounds take in the line's own width


def test_a_close_up_is_eight_times_as_large_and_its_twin_as_in_print(show: Show) -> None:
    shown = show(artwork(0.0, (20.0, 20.0), []), SIZE[0])
    assert shown.views is not None
    data = document(shown, HEAD)
    for close in shown.views.close_ups:
        pixels = (close.picture.width, close.picture.height)
        widths = sorted({round(box[2] - box[0], 3) for _, each, box in pictures(data) if each == pixels})
        printed = close.picture.width * 25.4 / 300
        assert widths[0] == pytest.approx(printed, rel=0.01)
        assert widths[-1] == pytest.approx(8 * printed, rel=0.01)
    assert tight("8 times as large as in print") in words(data)


def test_the_measured_width_is_drawn_to_scale(show: Show) -> None:
    """The two ends of the ruler on the rendered close-up, across a line of a known width."""
    rgba = clear(60, 40)
    paint(rgba, stroke(rgba, (30, 10), 40, 8, 0.0), BRICK)
    paint(rgba, stroke(rgba, (30, 30), 40, 8, 0.0), BRICK)
    paint(rgba, stroke(rgba, (30, 20), 40, 0.25, 0.0), BRICK)
    shown = show(rgba, 60.0)
    assert shown.views is not None
    close = next(each for each in shown.views.close_ups if each.ruler is not None)
    assert close.ruler is not None
    assert close.ruler.length_mm == pytest.approx(0.25, abs=25.4 / 300)
    data = document(shown, HEAD)
    large = [(n, box) for n, each, box in pictures(data) if box[2] - box[0] > 40 and n + each[0] < 200]
    assert len(large) == len(shown.views.close_ups)  # in the order of the findings
    sheet, box = large[shown.views.close_ups.index(close)]
    scale = (box[2] - box[0]) / close.picture.width_mm
    ends = [
        (box[0] + (x - close.picture.x_mm) * scale, box[3] - (y - close.picture.y_mm) * scale)
        for x, y in ((close.ruler.x1_mm, close.ruler.y1_mm), (close.ruler.x2_mm, close.ruler.y2_mm))
    ]
    ticks = [
        ((left + right) / 2, (bottom + top) / 2)
        for left, bottom, right, top in drawings(data, sheet)
        if box[0] <= left and right <= box[2] and box[1] <= bottom and top <= box[3]
    ]
    for end in ends:
        assert min(math.dist(end, tick) for tick in ticks) < 0.05


def test_the_scale_bar_is_as_long_as_it_says(show: Show) -> None:
    shown = show(artwork(0.0, (20.0, 20.0), []), SIZE[0])
    data = document(shown, HEAD)
    (place,) = [box for number, pixels, box in pictures(data) if number == 0 and pixels[0] > 400]
    scale = (place[2] - place[0]) / SIZE[0]
    bars = [box for box in drawings(data, 0) if box[3] < place[1] - 4 and 1 < box[3] - box[1] < 3]
    sheet = rendered(data, 0, 800.0)
    row = len(sheet) - round((min(box[1] for box in bars) + max(box[3] for box in bars)) / 2 / 25.4 * 800)
    columns = np.nonzero(dark(sheet)[row, : round((bars[-1][2] + 0.5) / 25.4 * 800)])[0] * 25.4 / 800
    line = 0.8 / MM  # half of its own width at either end
    assert (columns.max() - columns.min() - line) / scale == pytest.approx(20.0, rel=0.01)
    assert columns.min() + line / 2 == pytest.approx(place[0], abs=0.1)
    assert "2cm" in words(data)


def test_the_art_on_the_sheet_has_its_true_proportions(show: Show) -> None:
    shown = show(artwork(0.0, (20.0, 20.0), []), SIZE[0], "navy", "white", "red")
    boxes = [box for number, _, box in pictures(document(shown, HEAD)) if number == 0 and box[2] - box[0] > 30]
    assert len(boxes) == 3
    for left, bottom, right, top in boxes:
        assert (right - left) / (top - bottom) == pytest.approx(SIZE[0] / SIZE[1], rel=0.01)
