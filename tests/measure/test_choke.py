"""White under the art once it is pulled in: areas against exact geometry."""

import math

import numpy as np
import pytest

from preflight.measure.choke import choked, white_pixels
from preflight.measure.sheet import gather
from tests.measure.pictures import INK, Picture, box, cover, disc, film, less, plain, ring, solid


def white(art: np.ndarray, radius: float) -> float:
    return white_pixels(gather(Picture(art)), radius)


@pytest.mark.parametrize("choke", [0.0, 1.0, 2.0, 2.126, 3.5, 5.0, 7.25])
@pytest.mark.parametrize("radius", [60.0, 200.5, 400.0])
def test_white_of_a_disc_is_the_smaller_disc(radius: float, choke: float) -> None:
    side = round(2 * radius + 50)
    art = film(cover(disc(side / 2 + 0.3, side / 2 - 0.2, radius), side, side))
    # within 0.5 %, or on small discs a fifth of a pixel all round
    assert white(art, choke) == pytest.approx(math.pi * (radius - choke) ** 2, rel=0.005, abs=0.2 * math.tau * radius)


@pytest.mark.parametrize("choke", [0.0, 2.126, 4.0])
def test_white_of_a_large_disc_within_half_a_percent(choke: float) -> None:
    art = film(cover(disc(450.3, 450.6, 400), 900, 900))
    assert white(art, choke) == pytest.approx(math.pi * (400 - choke) ** 2, rel=0.005)


@pytest.mark.parametrize("choke", [0.0, 0.4, 1.0, 2.126, 6.9])
def test_an_opaque_sheet_is_pulled_in_from_its_edges_exactly(choke: float) -> None:
    assert white(solid(plain(INK, 301, 203)), choke) == pytest.approx((301 - 2 * choke) * (203 - 2 * choke), rel=1e-12)


def test_art_that_touches_the_edge_is_pulled_in_there_too() -> None:
    art = film(cover(box(0, 0, 300, 400), 400, 400))
    assert white(art, 2) == pytest.approx(296 * 396)
    assert white(solid(plain(INK, 300, 400)), 2) == pytest.approx(296 * 396)


@pytest.mark.parametrize("choke", [1.0, 2.5])
def test_white_of_a_frame(choke: float) -> None:
    art = film(cover(less(box(40, 30, 340, 430), box(90, 80, 290, 380)), 400, 500))
    outer = (300 - 2 * choke) * (400 - 2 * choke)
    # the hole grows, with round corners
    hole = 200 * 300 + 2 * choke * (200 + 300) + math.pi * choke**2
    assert white(art, choke) == pytest.approx(outer - hole, rel=0.005)


def test_what_is_narrower_than_twice_the_choke_gets_no_white() -> None:
    covered = cover(ring(150, 150, 100, 3.6), 300, 300)
    assert white(film(covered), 0) == pytest.approx(math.tau * 100 * 3.6, rel=0.005)
    assert white(film(covered), 2.5) < 0.02 * covered.sum()


def test_a_fraction_lies_between_its_whole_neighbours() -> None:
    art = film(cover(disc(150, 150, 120), 300, 300))
    two, three = white(art, 2), white(art, 3)
    assert white(art, 2.25) == pytest.approx(two + 0.25 * (three - two))
    assert white(art, 2.999) > three > white(art, 3.001)


def test_white_follows_opacity() -> None:
    covered = cover(disc(150, 150, 120), 300, 300)
    assert white(film(0.5 * covered), 2) == pytest.approx(0.5 * white(film(covered), 2), rel=0.005)


def test_art_within_coarse_cells_and_across_them_is_summed_alike() -> None:
    # solid cells are counted without being looked at
    for width, height in ((64, 64), (200, 300), (577, 705)):
        covered = cover(box(40, 50, 40 + width, 50 + height), 700, 800)
        assert white(film(covered), 0) == pytest.approx(width * height)
        assert white(film(covered), 3) == pytest.approx((width - 6) * (height - 6))


@pytest.mark.parametrize("radius", [1, 2, 3, 6])
def test_the_lowest_opacity_within_about_a_disc(radius: int) -> None:
    alpha = np.random.default_rng(6).integers(0, 256, (40, 40), dtype=np.uint8)
    found = choked(alpha, radius)
    y, x = np.mgrid[0:40, 0:40]
    for cy, cx in ((20, 20), (13, 29), (9, 17), (30, 30)):
        away = np.hypot(y - cy, x - cx)
        assert found[cy, cx] <= alpha[away <= 0.85 * radius].min()
        assert found[cy, cx] >= alpha[away <= 1.2 * radius].min()
    assert np.array_equal(choked(np.rot90(alpha), radius), np.rot90(found))


@pytest.mark.parametrize("radius", range(1, 9))
def test_no_direction_is_pulled_in_much_more_than_another(radius: int) -> None:
    side = 121
    for degrees in (0, 15, 30, 45, 60, 90):
        edge = convex_half(degrees, side)
        left = choked(np.rint(255 * edge).astype(np.uint8), radius)[20:-20, 20:-20].sum() / 255
        whole = edge[20:-20, 20:-20].sum()
        # the edge is as long as the crop is wide, over the cosine of its slant
        across = (side - 40) / max(abs(np.cos(np.radians(degrees))), abs(np.sin(np.radians(degrees))))
        assert (whole - left) / across == pytest.approx(radius, abs=0.25 + 0.15 * radius)


def convex_half(degrees: float, side: int) -> np.ndarray:
    """Coverage of a half plane through the middle."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return cover(lambda x, y: s * (x - side / 2) + c * (y - side / 2), side, side)
