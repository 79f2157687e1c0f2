"""Widths from coverage, against strokes whose width is known."""

import numpy as np
import pytest

from preflight.measure.chords import HALF, widths
from tests.measure.pictures import blurred, cover, disc, px, stroke

SIDE, MIDDLE = 200, 100


def found(covered: np.ndarray, cap: int = 20, at: tuple[slice, slice] = (slice(80, 120), slice(80, 120))) -> np.ndarray:
    """Widths at every pixel of the stroke near the middle of the picture."""
    plane = np.rint(255 * covered).astype(np.uint8)
    rows, columns = np.nonzero(plane[at] >= HALF)
    return widths(plane, rows + at[0].start, columns + at[1].start, cap)


@pytest.mark.parametrize("degrees", [0, 3, 11, 26.57, 37, 45, 58, 71, 86, 90, 117, 162])
@pytest.mark.parametrize("width", [1.4, 2.0, 3.3, 4.7, 6.1])
def test_a_straight_stroke_has_its_width_at_any_angle(width: float, degrees: float) -> None:
    for shift in (0.0, 0.31, 0.5, 0.77):
        seen = found(cover(stroke(MIDDLE + shift, MIDDLE - shift, degrees, 400, width), SIDE, SIDE))
        assert len(seen)
        assert abs(float(np.median(seen)) - width) < 0.13  # the module's own figure, px
        assert abs(float(np.mean(seen)) - width) < 0.15


@pytest.mark.parametrize("degrees", [0, 20, 45, 90])
def test_the_soft_tail_of_a_stroke_counts(degrees: float) -> None:
    blunt = blurred(cover(stroke(MIDDLE + 0.3, MIDDLE - 0.2, degrees, 400, 4.0), SIDE, SIDE), 0.8)
    assert float(np.median(found(blunt))) == pytest.approx(4.0, abs=0.13)


def test_a_stroke_wider_than_the_window_is_infinite() -> None:
    assert np.isinf(found(cover(disc(MIDDLE, MIDDLE, 60), SIDE, SIDE), cap=10)).all()


def test_along_a_stroke_that_leaves_the_window_the_other_direction_counts() -> None:
    for degrees in (0, 90):
        covered = cover(stroke(MIDDLE + 0.25, MIDDLE + 0.25, degrees, 400, 3.0), SIDE, SIDE)
        assert found(covered, cap=8) == pytest.approx(3.0, abs=0.01)


def test_neighbours_across_a_gap_add_nothing() -> None:
    one = stroke(MIDDLE, MIDDLE, 0, 400, 3)
    alone = cover(one, SIDE, SIDE)
    beside = np.maximum(alone, cover(stroke(MIDDLE, MIDDLE + 8, 0, 400, 3), SIDE, SIDE))
    rows = (slice(96, 104), slice(80, 120))
    assert np.array_equal(found(alone, at=rows), found(beside, at=rows))


def test_twice_the_scale_twice_the_width() -> None:
    small = found(cover(stroke(MIDDLE, MIDDLE, 33, 400, px(0.2)), SIDE, SIDE))
    large = found(cover(stroke(MIDDLE, MIDDLE, 33, 400, px(0.2, 600)), SIDE, SIDE))
    assert np.median(large) / np.median(small) == pytest.approx(2, rel=0.02)


def test_no_pixels_no_widths() -> None:
    none = np.zeros(0, np.intp)
    assert widths(np.zeros((90, 90), np.uint8), none, none, 10).shape == (0,)
