"""Painted transparency is found in any cell size; patterns that people draw are not taken for it."""

import numpy as np
import pytest

from preflight.model import Measurement
from tests.measure.pictures import (
    cover,
    disc,
    enlarged,
    film,
    measured,
    over,
    photo,
    plain,
    solid,
    through_jpeg,
)

WIDTH, HEIGHT = 900, 800
Y, X = np.mgrid[0:HEIGHT, 0:WIDTH]
RED = (200, 40, 30)
ART = cover(disc(450, 400, 230), WIDTH, HEIGHT)


def greys(levels: np.ndarray) -> np.ndarray:
    return np.repeat(levels[..., None], 3, axis=2).astype(np.uint8)


def board(cell: int, light: int = 255, dark: int = 204) -> np.ndarray:
    return greys(np.where((X // cell + Y // cell) % 2, light, dark))


def seen(rgb: np.ndarray) -> Measurement:
    return measured(solid(rgb), "checkerboard-cell")


@pytest.mark.parametrize("cell", [4, 5, 8, 10, 13, 16, 20, 25, 32, 48])
def test_the_cell_is_measured(cell: int) -> None:
    assert seen(board(cell)).value == cell


@pytest.mark.parametrize("cell", [6, 8, 16, 25])
def test_around_art(cell: int) -> None:
    found = seen(over(board(cell), ART, RED))
    assert found.value == cell
    # a corner of the sheet is all pattern
    assert any((spot.x, spot.y) == (0, 0) for spot in found.spots)
    assert found.spots_total == len(found.spots) >= 3


@pytest.mark.parametrize("quality", [60, 75, 90])
@pytest.mark.parametrize("cell", [8, 16])
def test_after_a_lossy_save(cell: int, quality: int) -> None:
    assert seen(through_jpeg(over(board(cell), ART, RED), quality)).value == pytest.approx(cell, abs=1)


@pytest.mark.parametrize(("cell", "factor"), [(8, 1.7), (16, 0.6), (20, 0.5)])
def test_scaled(cell: int, factor: float) -> None:
    found = seen(enlarged(over(board(cell), ART, RED), factor))
    assert found.value == pytest.approx(cell * factor, abs=1)


@pytest.mark.parametrize(("light", "dark"), [(255, 239), (255, 191), (153, 102), (96, 64)])
def test_other_greys(light: int, dark: int) -> None:
    assert seen(board(12, light, dark)).value == 12


# ---- patterns that people draw ----------------------------------------------------------------------------------

SCREEN = np.hypot(X % 24 - 12, Y % 24 - 12) < 7
DRAWN = {
    "gingham": greys(255 - 50 * ((X // 16) % 2) - 50 * ((Y // 16) % 2)),
    "upright stripes": greys(255 - 51 * ((X // 16) % 2)),
    "level stripes": greys(255 - 51 * ((Y // 16) % 2)),
    "rising stripes": greys(255 - 51 * (((X + Y) // 16) % 2)),
    "falling stripes": greys(255 - 51 * (((X - Y) // 16) % 2)),
    "flat slanting stripes": greys(255 - 51 * (((X + 2 * Y) // 16) % 2)),
    "dots": greys(255 - 51 * SCREEN),
    "staggered dots": greys(255 - 51 * (np.hypot((X + 12 * (Y // 24 % 2)) % 24 - 12, Y % 24 - 12) < 7)),
    "bricks": greys(255 - 51 * (((X + 16 * (Y // 16 % 2)) % 32 < 4) | (Y % 16 < 4))),
    "grid of lines": greys(255 - 51 * ((X % 16 < 2) | (Y % 16 < 2))),
    "coloured squares": np.where(((X // 16 + Y // 16) % 2)[..., None] == 1, (255, 190, 190), (200, 80, 80)),
    "black and white squares": board(16, 255, 0),
    "noise": np.random.default_rng(0).integers(0, 256, (HEIGHT, WIDTH, 3)),
    "plain grey": plain((204, 204, 204), WIDTH, HEIGHT),
}


@pytest.mark.parametrize("name", DRAWN)
def test_a_drawn_pattern_is_none(name: str) -> None:
    assert seen(DRAWN[name]).value is None


@pytest.mark.parametrize("name", ["astronaut.png", "brick.png", "page.png", "chessboard_GRAY.png", "grass.png"])
def test_a_picture_is_none(name: str) -> None:
    assert seen(photo(name)).value is None


def test_true_transparency_is_none() -> None:
    assert measured(film(ART, (204, 204, 204)), "checkerboard-cell").value is None
