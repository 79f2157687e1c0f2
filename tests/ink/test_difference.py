"""CIEDE2000: what must hold for any colours. The published values are in tests/outside/test_colour.py."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.ink.difference import ciede2000, srgb_to_lab

LAB = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128)).map(np.array)


@given(LAB, LAB)
def test_it_is_symmetric_finite_and_zero_only_for_equal_colours(one: np.ndarray, other: np.ndarray) -> None:
    there, back = ciede2000(one, other), ciede2000(other, one)
    assert np.isfinite(there)
    assert there == pytest.approx(back, abs=1e-9)
    assert ciede2000(one, one) == 0
    if np.abs(one - other).max() > 0.01:
        assert there > 0


def test_on_the_grey_axis_it_is_lightness_alone() -> None:
    # by hand: L* 50 and 60, mean 55: S_L = 1 + 0.015 × 25 / sqrt(20 + 25) = 1.0559017
    assert ciede2000(np.array([50.0, 0, 0]), np.array([60.0, 0, 0])) == pytest.approx(10 / 1.0559017, abs=1e-6)


def test_shapes_broadcast() -> None:
    assert ciede2000(np.zeros((4, 5, 3)), np.zeros(3)).shape == (4, 5)
    assert ciede2000(np.zeros((0, 3)), np.zeros((0, 3))).shape == (0,)


def test_white_grey_and_black_of_srgb() -> None:
    lab = srgb_to_lab(np.array([[255, 255, 255], [0, 0, 0], [119, 119, 119]], np.uint8))
    # mid grey by hand: ((119/255 + 0.055)/1.055)^2.4 = 0.18447; L* = 116 × 0.18447^(1/3) − 16 = 50.034
    assert lab == pytest.approx(np.array([[100, 0, 0], [0, 0, 0], [50.034, 0, 0]]), abs=5e-4)
