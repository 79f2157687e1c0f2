"""Copies on the film, worked out by hand."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.ink.layout import Layout, lay_out
from preflight.shop import Film

FILM = Film(width_mm=330.0, printable_mm=325.0, gap_mm=5.0)


@pytest.mark.parametrize(
    ("width", "height", "copies", "layout"),
    [
        # 3 × 100 + 2 × 5 = 310 of 325 mm; 4 rows of 150 and 3 gaps of 5. Turned: 2 across, 5 rows of 100, 4 gaps: 520
        (100, 150, 10, Layout(2, 5, 520.0, True)),
        # upright 3 across, 1 row: 150. Turned: 2 across, 2 rows of 100 and a gap: 205
        (100, 150, 3, Layout(3, 1, 150.0, False)),
        (100, 100, 3, Layout(3, 1, 100.0, False)),
        # one copy: the shorter side along the film
        (100, 150, 1, Layout(1, 1, 100.0, True)),
        # 280 wide does not fit beside another; turned 1 across too, 280 long
        (280, 200, 4, Layout(1, 4, 4 * 200 + 15.0, False)),
        # too wide upright, fits turned
        (400, 300, 2, Layout(1, 2, 805.0, True)),
        # just fits: 3 × 105 + 2 × 5 = 325
        (105, 105, 3, Layout(3, 1, 105.0, False)),
        (105.01, 105.01, 3, Layout(2, 2, 215.02, False)),
        (325, 325, 1, Layout(1, 1, 325.0, False)),
    ],
)
def test_by_hand(width: float, height: float, copies: int, layout: Layout) -> None:
    found = lay_out(width, height, copies, FILM)
    assert found is not None
    assert (found.across, found.rows, found.turned) == (layout.across, layout.rows, layout.turned)
    assert found.film_mm == pytest.approx(layout.film_mm)


def test_wider_than_the_film_prints_both_ways_round() -> None:
    assert lay_out(325.1, 400, 1, FILM) is None


SIZES = st.floats(1, 600)


@given(SIZES, SIZES, st.integers(1, 100_000))
def test_turned_by_90_degrees_it_takes_the_same_film(width: float, height: float, copies: int) -> None:
    one, other = lay_out(width, height, copies, FILM), lay_out(height, width, copies, FILM)
    assert (one is None) == (other is None) == (min(width, height) > 325.0005)
    if one is not None and other is not None:
        assert one.film_mm == pytest.approx(other.film_mm, abs=1e-5)


@given(SIZES, SIZES, st.integers(1, 2000), st.floats(0, 50))
def test_copies_fit_and_none_is_left_over(width: float, height: float, copies: int, gap: float) -> None:
    layout = lay_out(width, height, copies, replace(FILM, gap_mm=gap))
    if layout is None:
        return
    across, along = (height, width) if layout.turned else (width, height)
    assert layout.across * across + (layout.across - 1) * gap <= 325.001
    assert layout.across * layout.rows >= copies > layout.across * (layout.rows - 1)
    assert layout.film_mm == pytest.approx(layout.rows * (along + gap) - gap)


@given(SIZES, SIZES, st.integers(1, 2000))
def test_more_copies_never_take_less_film(width: float, height: float, copies: int) -> None:
    few, more = lay_out(width, height, copies, FILM), lay_out(width, height, copies + 1, FILM)
    if few is not None and more is not None:
        assert more.film_mm >= few.film_mm - 1e-6
