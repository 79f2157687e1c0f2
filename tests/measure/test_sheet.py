"""The one pass: what is kept of an artwork, exact to the pixel and without a lean to any pattern."""

import numpy as np
import pytest

from preflight.measure.sheet import CELL, FAINT, Cells, gather, point_sample, shrink, visible_box
from preflight.model import Box, Strip
from tests.measure.pictures import INK, Picture, cover, disc, film, plain, solid

EMPTY = np.zeros((600, 420), np.uint8)


def alpha_only(alpha: np.ndarray) -> np.ndarray:
    return np.dstack([np.full((*alpha.shape, 3), 40, np.uint8), alpha])


def some_alpha(height: int, width: int) -> np.ndarray:
    return np.random.default_rng(5).integers(0, 256, (height, width), dtype=np.uint8)


# ---- averages and samples ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("height", [8, 9, 11])
@pytest.mark.parametrize("width", [12, 13, 15])
def test_a_cell_is_the_mean_of_its_pixels(height: int, width: int) -> None:
    alpha = some_alpha(height, width)
    found = shrink(alpha)
    assert found.shape == (-(-height // CELL), -(-width // CELL))
    whole = alpha[: height // CELL * CELL, : width // CELL * CELL].astype(float)
    means = whole.reshape(height // CELL, CELL, width // CELL, CELL).mean(axis=(1, 3))
    assert np.abs(found[: height // CELL, : width // CELL] - means).max() <= 0.51  # rounded


def test_a_cell_at_the_rim_does_not_count_what_lies_beyond() -> None:
    alpha = np.full((9, 9), 255, np.uint8)
    assert shrink(alpha).min() == 255
    assert shrink(np.zeros((9, 9), np.uint8)).max() == 0


@pytest.mark.parametrize("period", [2, 3, 4, 5, 8])
@pytest.mark.parametrize("axis", [0, 1])
def test_the_sample_of_a_regular_pattern_has_no_lean(period: int, axis: int) -> None:
    # a screen whose period is the cell's side would show one phase only, were the offset always the same
    y, x = np.mgrid[0:960, 0:960]  # whole rounds of the sixteen offsets and of each period
    pattern = (((y, x)[axis] % period) == 0).astype(np.uint8) * np.uint8(240)
    share = (point_sample(pattern) == 240).mean()
    assert share == pytest.approx(1 / period, abs=1e-9)


def test_the_sample_of_a_checkerboard_has_no_lean() -> None:
    y, x = np.mgrid[0:640, 0:640]
    for cell in (1, 2, 4):
        board = ((y // cell + x // cell) % 2).astype(np.uint8)
        assert point_sample(board).mean() == pytest.approx(0.5, abs=0.01)


def test_a_sample_is_a_pixel_of_its_own_cell() -> None:
    y, x = np.mgrid[0:70, 0:90]
    pixels = np.dstack([y, x, y // CELL, x // CELL]).astype(np.uint8)
    found = point_sample(pixels)
    rows, columns = np.mgrid[0:18, 0:23]
    assert np.array_equal(found[..., 2], rows)
    assert np.array_equal(found[..., 3], columns)
    assert np.array_equal(found[..., :2] // CELL, found[..., 2:])


def test_the_sample_of_a_sheet_is_the_same_however_the_strips_fall() -> None:
    pixels = np.random.default_rng(1).integers(0, 256, (520, 64, 4), dtype=np.uint8)
    strips = [point_sample(pixels[y : y + 256], y // CELL) for y in (0, 256, 512)]
    assert np.array_equal(np.concatenate(strips), point_sample(pixels))


def test_a_plane_and_a_picture_are_sampled_at_the_same_places() -> None:
    pixels = np.random.default_rng(1).integers(0, 256, (90, 70, 4), dtype=np.uint8)
    assert np.array_equal(point_sample(pixels[..., 3]), point_sample(pixels)[..., 3])


# ---- the visible artwork ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("x", "y", "width", "height"),
    [(0, 0, 420, 600), (0, 0, 1, 1), (419, 599, 1, 1), (7, 3, 1, 1), (8, 4, 4, 4), (101, 333, 200, 99), (5, 250, 9, 9)],
)
def test_the_box_is_exact_to_the_pixel(x: int, y: int, width: int, height: int) -> None:
    alpha = EMPTY.copy()
    alpha[y : y + height, x : x + width] = 200
    assert visible_box(alpha, shrink(alpha)) == Box(x, y, width, height)
    assert gather(Picture(alpha_only(alpha))).box == Box(x, y, width, height)


def test_lone_pixels_that_vanish_in_their_cells_still_count() -> None:
    alpha = EMPTY.copy()
    alpha[300, 200] = 255
    alpha[298, 203] = FAINT + 1  # averages to 1 of 255 in its cell
    alpha[306, 195] = FAINT + 1
    assert visible_box(alpha, shrink(alpha)) == Box(195, 298, 9, 9)


def test_what_is_nearly_invisible_is_no_artwork() -> None:
    alpha = EMPTY.copy()
    alpha[10:500, 10:400] = FAINT
    assert visible_box(alpha, shrink(alpha)) is None
    alpha[40:50, 60:80] = FAINT + 1
    # the faint outer half of a rim belongs to the art
    assert visible_box(alpha, shrink(alpha)) == Box(59, 39, 22, 12)


def test_the_box_of_an_opaque_sheet_is_the_sheet_and_of_an_empty_one_none() -> None:
    assert gather(Picture(solid(plain(INK, 123, 77)))).box == Box(0, 0, 123, 77)
    assert gather(Picture(alpha_only(EMPTY))).box is None


# ---- the pass ---------------------------------------------------------------------------------------------------


def test_the_pass_keeps_alpha_whole_and_drops_it_where_all_is_opaque() -> None:
    alpha = some_alpha(530, 75)
    sheet = gather(Picture(alpha_only(alpha)))
    assert sheet.alpha is not None
    assert np.array_equal(sheet.alpha, alpha)
    assert np.array_equal(sheet.alpha4, shrink(alpha))
    opaque = gather(Picture(solid(plain(INK, 75, 530))))
    assert opaque.alpha is None
    assert opaque.alpha4.min() == 255


def test_every_observer_sees_every_row_once() -> None:
    class Seen:
        def __init__(self) -> None:
            self.rows: list[int] = []

        def see(self, strip: Strip, cells: Cells) -> None:
            assert cells.y == strip.y // CELL
            assert cells.alpha.shape == (-(-len(strip.rgba) // CELL), 21)
            assert cells.sample.shape == (*cells.alpha.shape, 4)
            self.rows += range(strip.y, strip.y + len(strip.rgba))

    seen = Seen()
    gather(Picture(alpha_only(some_alpha(530, 81))), [seen])
    assert seen.rows == list(range(530))


def test_cells_stand_for_their_pixels() -> None:
    for height, width in ((8, 8), (9, 14), (530, 75)):
        sheet = gather(Picture(solid(plain(INK, width, height))))
        assert sheet.cell_pixels().sum() == height * width


def test_inks_are_summed_over_every_pixel_with_its_opacity() -> None:
    rng = np.random.default_rng(3)
    inks = rng.integers(0, 256, (530, 75, 4), dtype=np.uint8)
    rgba = rng.integers(0, 256, (530, 75, 4), dtype=np.uint8)
    sheet = gather(Picture(rgba, inks))
    expected = (inks / 255.0 * (rgba[..., 3:] / 255.0)).sum(axis=(0, 1))
    assert sheet.ink_sums == pytest.approx(expected, rel=1e-9)
    rgba[..., 3] = 255
    assert gather(Picture(rgba, inks)).ink_sums == pytest.approx((inks / 255.0).sum(axis=(0, 1)), rel=1e-9)
    assert sheet.inks4 is not None
    assert np.array_equal(sheet.inks4, point_sample(inks))


def test_connected_areas() -> None:
    covered = np.maximum(cover(disc(60, 60, 30), 400, 300), cover(disc(300, 200, 50), 400, 300))
    areas = gather(Picture(film(covered))).areas
    assert len(areas) == 3  # the film and two discs
    widths = sorted(areas[1:, 2] * CELL)
    assert widths == pytest.approx([60, 100], abs=2 * CELL)
