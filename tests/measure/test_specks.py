"""Dust is found one by one; marks that are meant are not dust."""

import numpy as np
import pytest

from preflight.model import Measurement
from tests.measure.pictures import (
    FONTS,
    INK,
    Shape,
    box,
    cover,
    disc,
    dots,
    film,
    lettering,
    measured,
    plain,
    px,
    solid,
    union,
)

SIDE = 800
ART = disc(300, 300, 200)


def strewn(count: int, millimetres: float, seed: int = 8) -> list[tuple[float, float]]:
    """Places by chance, away from the art and from each other."""
    rng = np.random.default_rng(seed)
    places: list[tuple[float, float]] = []
    while len(places) < count:
        x, y = rng.uniform(20, SIDE - 20, 2)
        apart = all(np.hypot(x - a, y - b) > px(3) for a, b in places)
        if apart and np.hypot(x - 300, y - 300) > 200 + px(2.3) + millimetres:
            places.append((float(x), float(y)))
    return places


def with_dust(places: list[tuple[float, float]], millimetres: float) -> np.ndarray:
    return np.maximum(cover(ART, SIDE, SIDE), dots(places, px(millimetres) / 2, SIDE, SIDE))


def specks(covered: np.ndarray, ppi: float = 300.0) -> Measurement:
    return measured(film(covered), "speck-count", ppi)


def count(shape: Shape, width: int = SIDE, height: int = SIDE) -> float | None:
    return specks(cover(shape, width, height)).value


@pytest.mark.parametrize("millimetres", [0.12, 0.2, 0.4, 0.6, 0.75])
def test_every_speck_is_found(millimetres: float) -> None:
    places = strewn(7, millimetres)
    seen = specks(with_dust(places, millimetres))
    assert seen.value == seen.spots_total == 7
    for x, y in places:
        assert any(s.x <= x <= s.x + s.width and s.y <= y <= s.y + s.height for s in seen.spots)
    largest = float(seen.details["largest"].removesuffix(" mm"))
    assert largest == pytest.approx(max(0.33, millimetres), abs=0.15)  # told from cells of a third of a millimetre


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_much_dust_is_found_whole(seed: int) -> None:
    # strewn by chance: no row, though some happen to lie midway between two others
    seen = specks(with_dust(strewn(20, 0.3, seed), 0.3))
    assert seen.value == pytest.approx(20, abs=1)


def test_a_lone_pixel_is_a_speck_and_the_largest_comes_first() -> None:
    covered = with_dust([(700, 100), (100, 700)], 0.5)
    covered[700, 700] = 1
    seen = specks(covered)
    assert seen.value == 3
    sizes = [spot.value for spot in seen.spots]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] > sizes[-1]


def test_clean_art_has_none() -> None:
    assert count(ART) == 0
    assert measured(solid(plain(INK, 300, 200)), "speck-count").value == 0


def test_larger_marks_are_meant() -> None:
    assert specks(with_dust(strewn(6, 1.1), 1.1)).value == 0


def test_what_is_close_to_the_art_belongs_to_it() -> None:
    assert count(union(ART, disc(300 + 200 + px(1.2), 300, 4))) == 0
    assert count(union(ART, disc(300 + 200 + px(3.0), 300, 4))) == 1


@pytest.mark.parametrize("font", FONTS)
@pytest.mark.parametrize("points", [8, 12, 18, 28])
def test_dots_of_letters_are_no_dust(font: str, points: float) -> None:
    page = lettering("in six jig: 1. Wash; 2. dry. ij!", points, 300, FONTS[font], fine=4)
    assert specks(page).value == 0


@pytest.mark.parametrize("step_mm", [0.9, 1.2, 1.5, 2.4, 4.0])
def test_a_dotted_border_is_no_dust(step_mm: float) -> None:
    border = [(x, y) for x in np.arange(30, SIDE - 30, px(step_mm)) for y in (30, SIDE - 30)]
    art = cover(box(300, 300, 500, 500), SIDE, SIDE)
    assert specks(np.maximum(art, dots(border, px(0.3), SIDE, SIDE))).value == 0


@pytest.mark.parametrize("count_of_dots", [9, 15])
def test_a_short_row_of_dots_is_no_dust(count_of_dots: int) -> None:
    row = dots([(60 + n * px(1.8), 40.0) for n in range(count_of_dots)], px(0.3), SIDE, SIDE)
    assert specks(np.maximum(row, cover(ART, SIDE, SIDE))).value == 0


def test_dust_beside_a_dotted_border_is_found() -> None:
    border = dots([(x, 30) for x in np.arange(30, SIDE - 30, px(1.5))], px(0.3), SIDE, SIDE)
    dust = [(640.0, 611.0), (90.0, 700.0), (700.0, 300.0)]
    assert specks(np.maximum(border, with_dust(dust, 0.4))).value == 3


@pytest.mark.parametrize("period_mm", [0.8, 1.2])
def test_a_halftone_is_no_dust(period_mm: float) -> None:
    y, x = np.mgrid[0:SIDE, 0:SIDE] + 0.5
    period = px(period_mm)
    turned_x, turned_y = (x + y) / 2**0.5, (x - y) / 2**0.5  # screens stand at 45°
    away = np.hypot(turned_x % period - period / 2, turned_y % period - period / 2)
    screen = np.clip(period * (0.15 + 0.25 * x / SIDE) - away + 0.5, 0, 1)
    screen[:, :40] = screen[:, -40:] = 0
    assert specks(screen).value == 0
    assert specks(np.maximum(screen, cover(box(500, 100, 700, 700), SIDE, SIDE))).value == 0


def test_an_artwork_of_specks_only_is_a_design() -> None:
    assert specks(dots(strewn(9, 0.6), 4, SIDE, SIDE)).value == 0
