"""Marks lie on the planted faults, on the page as a browser lays it out: within half a millimetre of print."""

from __future__ import annotations

import math

import numpy as np
import pytest

from preflight.model import Bytes
from preflight.report.html import Shown, page
from preflight.shop import Shop
from tests.views.made import clear, disc, paint, stroke

from .conftest import Show
from .reading import Node, picture_of, read

SIZE = (90.0, 70.0)
BRICK = (170, 60, 50)
#: Print millimetres that a mark may be off.
OFF = 0.5


def artwork(angle: float, line: tuple[float, float], specks: list[tuple[float, float]]) -> Bytes:
    """A disc, a thin line, specks, and a flat see-through square; corners keep the canvas from being trimmed."""
    rgba = clear(*SIZE)
    paint(rgba, disc(rgba, (45, 35), 8), BRICK)
    paint(rgba, stroke(rgba, line, 9.0, 0.2, angle), BRICK)
    for speck in specks:
        paint(rgba, disc(rgba, speck, 0.25), BRICK)
    paint(rgba, 0.5 * stroke(rgba, (75, 12), 8.0, 6.0, 0.0), BRICK)
    for corner in ((1, 1), (89, 69)):
        paint(rgba, stroke(rgba, corner, 2.0, 2.0, 0.0), BRICK)
    return rgba


def boxes(shown: Shown) -> dict[str, list[tuple[float, float, float, float]]]:
    """Middle and size of every outline, mm, as the page has them: by the title of the finding."""
    root = read(page(shown, Shop.default().letterhead))
    cloth = root.one("figure", "overview")
    titles = {
        node.one("h3").one("span", "plate").text: node.one("h3").one("span", "title").text
        for node in root.all("article")
    }
    found: dict[str, list[tuple[float, float, float, float]]] = {title: [] for title in titles.values()}
    outlines, plates = list(cloth.all("span", "outline")), list(cloth.all("span", "plate"))
    # Outlines and plates are listed in the same order; an outline beyond those with a plate belongs to the last one.
    assert len(plates) <= len(outlines)
    size = shown.report.print_size
    assert size is not None
    assert size.width_mm is not None
    assert size.height_mm is not None
    marked = iter(plates)
    for outline in outlines:
        plate = next(marked, None)
        assert plate is not None, "this artwork has few faults"
        for name in plate.text.split():
            found[titles[name.rstrip("abcdefgh")]].append(_box(outline, size.width_mm, size.height_mm))
    return found


def _box(outline: Node, width_mm: float, height_mm: float) -> tuple[float, float, float, float]:
    css = outline.css
    x, y, wide, high = (float(css[name].removesuffix("%")) / 100 for name in ("left", "top", "width", "height"))
    return x * width_mm, y * height_mm, wide * width_mm, high * height_mm


@pytest.mark.parametrize(
    ("angle", "line", "specks"),
    [
        (0.0, (20.0, 20.0), [(12.0, 50.0), (30.0, 60.0)]),
        (35.0, (66.0, 52.0), [(10.3, 10.7), (40.1, 8.2), (80.9, 33.3)]),
        (90.0, (24.4, 41.3), [(55.5, 61.1)]),
        (120.0, (20.0, 58.0), [(50.0, 10.0), (84.0, 40.0)]),
    ],
)
def test_marks_lie_on_the_planted_faults(
    angle: float, line: tuple[float, float], specks: list[tuple[float, float]], show: Show
) -> None:
    shown = show(artwork(angle, line, specks), SIZE[0])
    found = boxes(shown)
    (x, y, wide, high) = found["Lines too thin to print"][0]
    assert (x, y) == pytest.approx(line, abs=OFF)
    slope = math.radians(angle)
    reach = (
        9 * abs(math.cos(slope)) + 0.2 * abs(math.sin(slope)),
        9 * abs(math.sin(slope)) + 0.2 * abs(math.cos(slope)),
    )
    assert (wide, high) == pytest.approx(reach, abs=2 * OFF)
    dots = [(x, y) for x, y, _, _ in found["Loose specks around the artwork"]]
    assert len(dots) == len(specks)
    for speck in specks:
        assert min(math.dist(speck, dot) for dot in dots) < OFF
    (x, y, wide, high) = found["Areas that are partly see-through"][0]
    assert (x, y) == pytest.approx((75, 12), abs=OFF)
    assert (wide, high) == pytest.approx((8, 6), abs=2 * OFF)


def test_the_picture_shows_the_fault_inside_its_mark(show: Show) -> None:
    """The same from the other side: pixels of the picture at the mark, not figures of the report."""
    shown = show(artwork(0.0, (20.0, 20.0), [(30.0, 60.0)]), SIZE[0], "white")
    root = read(page(shown, Shop.default().letterhead))
    image = root.one("figure", "overview").one("img")
    pixels = np.asarray(picture_of(image)).astype(int)
    drawn = (np.abs(pixels - 255).max(axis=2) > 40).astype(np.uint8)
    height, width = drawn.shape
    (x, y, _, _) = boxes(shown)["Loose specks around the artwork"][0]
    reach = 3.0  # mm around: nothing else lies there
    left, top = round((x - reach) / SIZE[0] * width), round((y - reach) / SIZE[1] * height)
    side_x, side_y = round(2 * reach / SIZE[0] * width), round(2 * reach / SIZE[1] * height)
    rows, columns = np.nonzero(drawn[top : top + side_y, left : left + side_x])
    assert len(rows) > 3
    seen = ((columns.mean() + 0.5 + left) / width * SIZE[0], (rows.mean() + 0.5 + top) / height * SIZE[1])
    assert math.dist(seen, (x, y)) < OFF


def test_a_close_up_on_the_page_is_eight_times_as_large(show: Show) -> None:
    """Its width on the page, of a known width in print; and its print-size twin."""
    shown = show(artwork(0.0, (20.0, 20.0), []), SIZE[0])
    root = read(page(shown, Shop.default().letterhead))
    figures = list(root.all("figure", "closely"))
    assert figures
    for figure in figures:
        art, small = figure.one("div", "art"), figure.one("img", "small")
        image = picture_of(art.one("img"))
        printed = image.width * 25.4 / 300
        assert float(art.css["width"].removesuffix("mm")) / printed == pytest.approx(8, rel=0.01)
        assert float(small.css["width"].removesuffix("mm")) == pytest.approx(printed, rel=0.01)
        assert "8 times as large" in figure.one("figcaption").text


def test_the_measured_width_is_drawn_to_scale(show: Show) -> None:
    """The two ends of the dimension in the drawing's own units, against the planted width."""
    shown = show(artwork(0.0, (20.0, 20.0), []), SIZE[0])
    root = read(page(shown, Shop.default().letterhead))
    (figure,) = [each for each in root.all("figure", "closely") if list(each.all("text"))]
    assert figure.one("text").text.replace("\u00a0", " ") == "0.2 mm"
    box = [float(part) for part in figure.one("svg").attributes["viewbox"].split()]
    assert box[2] / 100 == pytest.approx(10, rel=0.01)
    ticks = list(next(iter(figure.all("g"))).all("line"))[-2:]
    at = [(float(tick.attributes["y1"]) + float(tick.attributes["y2"])) / 200 for tick in ticks]
    assert abs(at[0] - at[1]) == pytest.approx(0.2, abs=25.4 / 300)


def test_the_scale_bar_is_as_long_as_it_says(show: Show) -> None:
    shown = show(artwork(0.0, (20.0, 20.0), []), SIZE[0])
    root = read(page(shown, Shop.default().letterhead))
    scale = root.one("div", "scale")
    share = float(scale.one("span", "bar").css["width"].removesuffix("%")) / 100
    told = scale.text.strip().replace("\u00a0", " ")
    assert told == "2 cm"
    assert share * SIZE[0] == pytest.approx(20.0, rel=0.01)
