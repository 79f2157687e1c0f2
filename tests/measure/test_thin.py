"""Narrow lines and gaps: widths within 0.02 mm at any angle, one line told once, nothing found where nothing is."""

import numpy as np
import pytest

from preflight.measure.thin import Search, normalise, opened
from preflight.model import Measurement
from tests.measure.pictures import (
    FONTS,
    INK,
    SERIF,
    Shape,
    blurred,
    box,
    common,
    convex,
    cover,
    disc,
    examined,
    film,
    less,
    lettering,
    measured,
    plain,
    px,
    ring,
    star,
    stroke,
    union,
)

SIDE = 330
#: The whole canvas but its rim, off the pixel grid.
FIELD = box(20.3, 20.6, 309.2, 309.9)
WIDTHS = (0.12, 0.16, 0.20, 0.25, 0.30, 0.35, 0.40, 0.47)


def drawn(shape: Shape, width: int = SIDE, height: int = SIDE) -> np.ndarray:
    return film(cover(shape, width, height))


def found(name: str, shape: Shape, ppi: float = 300.0) -> Measurement:
    return measured(drawn(shape), name, ppi)


def line(millimetres: float, degrees: float, length_mm: float = 18.0, ppi: float = 300.0) -> Shape:
    return stroke(SIDE / 2 + 0.37, SIDE / 2 - 0.21, degrees, px(length_mm, ppi), px(millimetres, ppi))


# ---- widths -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("millimetres", WIDTHS)
@pytest.mark.parametrize("degrees", [0, 7, 19, 30, 45, 52, 68, 81, 90, 124])
def test_width_of_a_line(millimetres: float, degrees: float) -> None:
    seen = found("narrowest-line", line(millimetres, degrees))
    assert seen.value == pytest.approx(millimetres, abs=0.02)
    assert seen.spots_total == 1


@pytest.mark.parametrize("millimetres", WIDTHS)
@pytest.mark.parametrize("degrees", [0, 13, 45, 77, 90])
def test_width_of_a_gap(millimetres: float, degrees: float) -> None:
    seen = found("narrowest-gap", less(FIELD, line(millimetres, degrees)))
    assert seen.value == pytest.approx(millimetres, abs=0.02)
    assert seen.spots_total == 1


@pytest.mark.parametrize("millimetres", [0.12, 0.14, 0.16])
@pytest.mark.parametrize("degrees", [0, 90])
def test_width_of_a_hairline_that_covers_no_pixel_fully(millimetres: float, degrees: float) -> None:
    # between two rows of pixels, at every tenth of a pixel: (0.83, 0.83) is a line of 1.65 px and not of 2
    for tenth in range(10):
        mark = stroke(165 + tenth / 10, 165 + tenth / 10, degrees, px(18), px(millimetres))
        assert found("narrowest-line", mark).value == pytest.approx(millimetres, abs=0.005)
        assert found("narrowest-gap", less(FIELD, mark)).value == pytest.approx(millimetres, abs=0.005)


@pytest.mark.parametrize("millimetres", [0.14, 0.30, 0.45])
@pytest.mark.parametrize("radius_mm", [3.0, 9.0])
def test_width_of_a_bent_line(millimetres: float, radius_mm: float) -> None:
    seen = found("narrowest-line", ring(160.3, 160.1, px(radius_mm), px(millimetres)))
    assert seen.value == pytest.approx(millimetres, abs=0.02)


@pytest.mark.parametrize("ppi", [200, 450, 600])
def test_width_at_other_resolutions(ppi: float) -> None:
    for millimetres in (0.18, 0.33):
        seen = found("narrowest-line", line(millimetres, 27, 11, ppi), ppi)
        assert seen.value == pytest.approx(millimetres, abs=0.02)


def test_its_length_and_place_are_told() -> None:
    seen = found("narrowest-line", stroke(160.4, 100.5, 0, px(15), px(0.25)))
    (spot,) = seen.spots
    assert spot.x == pytest.approx(160.4 - px(7.5), abs=2)
    assert spot.width == pytest.approx(px(15), abs=3)
    assert spot.y == pytest.approx(100.5, abs=3)
    assert spot.height <= 5
    assert seen.details["length"] == "15 mm"


def test_a_translucent_line_is_as_wide_as_a_solid_one() -> None:
    covered = cover(line(0.3, 20), SIDE, SIDE)
    for opacity in (0.25, 0.6):
        seen = measured(film(covered * opacity), "narrowest-line")
        assert seen.value == pytest.approx(0.3, abs=0.03)


@pytest.mark.parametrize("degrees", [0, 33, 45, 70])
def test_a_blurred_line_does_not_slip_between_the_questions(degrees: float) -> None:
    sharp = cover(line(0.25, degrees), SIDE, SIDE)
    assert measured(film(blurred(sharp, 0.5)), "narrowest-line").value == pytest.approx(0.25, abs=0.03)
    for sigma in (0.7, 1.0, 1.5, 2.5):  # px; from somewhere on it is a glow rather than a line
        measures = examined(film(blurred(sharp, sigma))).measures
        told = measures["fade-width"].value or measures["narrowest-line"].value
        assert told, sigma


def test_the_narrowest_of_several_counts_and_each_has_a_place() -> None:
    lines = [stroke(160.3, 40.2 + 60 * n, 4 * n, 220, px(mm)) for n, mm in enumerate((0.4, 0.2, 0.3, 0.45))]
    seen = found("narrowest-line", union(*lines))
    assert [spot.value for spot in seen.spots] == pytest.approx([0.2, 0.3, 0.4, 0.45], abs=0.02)
    assert seen.spots_total == 4
    assert seen.spots[0].y < 100 < seen.spots[1].y


# ---- one line is told once --------------------------------------------------------------------------------------


@pytest.mark.parametrize("x", [63.8, 120.4, 128.0, 200.1])
def test_a_line_across_the_seams_of_bands_is_one(x: float) -> None:
    # bands are 256 rows high: 300 px from 230 cross the seams at 256 and at 512
    seen = measured(drawn(stroke(x, 380.0, 90, 300, px(0.3)), 300, 700), "narrowest-line")
    assert seen.spots_total == 1
    assert seen.value == pytest.approx(0.3, abs=0.02)
    assert (seen.spots[0].y, seen.spots[0].height) == (pytest.approx(230, abs=2), pytest.approx(300, abs=3))


@pytest.mark.parametrize("degrees", [60, 100, 135, 15])
def test_a_slanting_line_across_seams_is_one(degrees: float) -> None:
    seen = measured(drawn(stroke(300.3, 384.4, degrees, 520, px(0.25)), 600, 700), "narrowest-line")
    assert seen.spots_total == 1
    assert seen.value == pytest.approx(0.25, abs=0.02)


@pytest.mark.parametrize("shift", [0, 1, 2])
def test_steps_that_only_touch_at_corners_are_one_line(shift: int) -> None:
    page = np.eye(700, 700, shift)
    page[:200] = page[600:] = 0
    assert measured(film(page), "narrowest-line").spots_total == 1
    assert measured(film(np.fliplr(page)), "narrowest-line").spots_total == 1


def test_a_bow_that_meets_again_in_the_next_band_is_one() -> None:
    # both legs are parts of their own above the seam and are joined only below it
    bow = common(ring(200.3, 300.2, 150, px(0.3)), box(0, 120, 400, 600))
    assert measured(drawn(bow, 400, 700), "narrowest-line").spots_total == 1


def test_two_lines_that_end_at_one_seam_are_two() -> None:
    two = union(stroke(100, 150, 90, 205, px(0.3)), stroke(140, 370, 90, 205, px(0.3)))
    assert measured(drawn(two, 300, 700), "narrowest-line").spots_total == 2


# ---- silent -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("degrees", range(0, 180, 12))
def test_a_line_that_prints_is_silent(degrees: float) -> None:
    measures = examined(drawn(line(0.62, degrees))).measures
    assert measures["narrowest-line"].value is None
    assert measures["narrowest-line"].why_not is None
    assert measures["area-without-white"].value is None
    assert found("narrowest-gap", less(FIELD, line(0.62, degrees))).value is None


@pytest.mark.parametrize("tip", [12, 18, 24, 30, 36, 45])
def test_tips_are_silent(tip: float) -> None:
    measures = examined(drawn(star(203.3, 205.7, 5 if tip < 40 else 6, tip, 190), 410, 410)).measures
    assert measures["narrowest-line"].value is None
    assert measures["narrowest-gap"].value is None


@pytest.mark.parametrize("tip", [12, 20, 33, 45])
@pytest.mark.parametrize("turn", [0, 23, 77])
def test_a_turned_tip_is_silent(tip: float, turn: float) -> None:
    half = 150 * np.tan(np.radians(tip / 2)) * 2
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    corners = [(200.3 + c * x - s * y, 200.6 + s * x + c * y) for x, y in ((0, -150), (half, 150), (-half, 150))]
    measures = examined(drawn(convex(*corners), 400, 400)).measures
    assert measures["narrowest-line"].value is None
    hole = examined(drawn(less(box(5, 5, 395, 395), convex(*corners)), 400, 400)).measures
    assert hole["narrowest-gap"].value is None


@pytest.mark.parametrize("radius", [20, 40, 90, 150])
@pytest.mark.parametrize("millimetres", [0.62, 0.8, 1.2])
def test_rings_discs_and_holes_are_silent(radius: float, millimetres: float) -> None:
    for shape in (
        ring(160.3, 160.1, radius, px(millimetres)),
        disc(160.3, 160.1, radius),
        less(FIELD, disc(160.3, 160.1, radius)),
    ):
        measures = examined(drawn(shape)).measures
        assert measures["narrowest-line"].value is None
        assert measures["narrowest-gap"].value is None


@pytest.mark.parametrize("font", FONTS)
@pytest.mark.parametrize("points", [8, 9, 10, 12, 14, 16, 20, 28, 36])
@pytest.mark.parametrize("ppi", [300, 600])
def test_text_is_silent(font: str, points: float, ppi: float) -> None:
    page = lettering("The quick brown fox 0123 AVWM", points, ppi, FONTS[font], fine=4)
    measures = examined(film(page), ppi).measures
    assert (measures["narrowest-line"].value or 1.0) >= 0.5
    assert (measures["narrowest-gap"].value or 1.0) >= 0.4
    assert (measures["area-without-white"].value or 0.0) <= 0.5


@pytest.mark.skipif(not SERIF.with_name("DejaVuSerif-Bold.ttf").exists(), reason="the bold serif font is not installed")
@pytest.mark.parametrize("ppi", [300, 600])
@pytest.mark.parametrize("points", [10.5, 11, 11.5, 12, 12.5, 13, 14])
def test_the_thin_leg_of_a_bold_v_is_silent(points: float, ppi: float) -> None:
    # 0.27 mm wide and 2.2 mm high, and its serif goes on from it
    covered = lettering("Velvet", points, ppi, SERIF.with_name("DejaVuSerif-Bold.ttf"))
    assert measured(film(covered), "narrowest-line", ppi).value is None


def test_a_blade_longer_than_a_letter_is_told() -> None:
    bar = box(60, 200, 270, 230)
    blade = stroke(165.3, 200 - px(1.7), 82, px(3.4), px(0.25))
    assert found("narrowest-line", union(bar, blade)).value == pytest.approx(0.25, abs=0.02)


def test_tiny_text_is_not() -> None:
    # 4 pt has strokes of a tenth of a millimetre, which no press holds
    page = film(lettering("hand wash only, do not tumble dry", 4, 600, None, fine=4))
    measures = examined(page, 600).measures
    assert measures["narrowest-line"].value is not None
    assert measures["narrowest-line"].value < 0.25


# ---- the pieces -------------------------------------------------------------------------------------------------


def test_the_search_goes_as_far_as_a_rule_asks() -> None:
    art = drawn(line(0.7, 25))
    assert measured(art, "narrowest-line").value is None
    assert measured(art, "narrowest-line", reach={"narrowest-line": 0.8}).value == pytest.approx(0.7, abs=0.02)
    gap = drawn(less(FIELD, line(0.7, 25)))
    assert measured(gap, "narrowest-gap", reach={"narrowest-line": 0.8}).value is None
    assert measured(gap, "narrowest-gap", reach={"narrowest-gap": 0.8}).value == pytest.approx(0.7, abs=0.02)


def test_the_window_is_wide_enough_for_the_search() -> None:
    for stroke_px in (0.4, 3.5, 6.5, 14.0):
        search = Search(stroke_px, gaps=False)
        assert 2 * search.radius + 1 >= stroke_px + 1
        assert search.halo > search.cap


@pytest.mark.parametrize("radius", [1, 2, 3, 5, 8])
def test_an_opening_keeps_what_is_wide_and_drops_what_is_narrow(radius: int) -> None:
    size = 12 * radius + 20
    middle = size / 2
    disc_in = (cover(disc(middle, middle, 2 * radius + 3), size, size) > 0.5).astype(np.uint8) * np.uint8(255)
    kept = opened(disc_in, radius)
    assert not (kept & ~disc_in).any()
    assert (kept > 0).sum() > 0.95 * (disc_in > 0).sum()
    narrow = np.zeros((size, size), np.uint8)
    narrow[4 : size - 4, size // 2 : size // 2 + 2 * radius] = 255
    assert not opened(narrow, radius).any()


def test_faint_strokes_are_lifted_and_leftovers_are_not() -> None:
    covered = cover(line(0.3, 20), SIDE, SIDE)
    crisp = np.rint(255 * covered).astype(np.uint8)
    assert np.array_equal(normalise(crisp, 24), crisp)
    faint = np.rint(255 * 0.3 * covered).astype(np.uint8)
    assert np.abs(normalise(faint, 24).astype(int) - crisp).max() <= 3
    assert not normalise(np.rint(255 * 0.08 * covered).astype(np.uint8), 24).any()


def test_an_opaque_sheet_has_no_lines() -> None:
    sheet = np.dstack([plain(INK, 200, 100), np.full((100, 200), 255, np.uint8)])
    measures = examined(sheet).measures
    assert measures["narrowest-line"].value is None
    assert measures["narrowest-gap"].value is None
