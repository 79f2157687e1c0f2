"""Art that the canvas cuts, and art that merely reaches its edge."""

import numpy as np
import pytest

from preflight.model import Measurement
from tests.measure.pictures import (
    FONTS,
    INK,
    Shape,
    blurred,
    box,
    convex,
    cover,
    disc,
    film,
    lettering,
    measured,
    plain,
    px,
    ring,
    solid,
    star,
    stroke,
    union,
)

SIDE = 600


def cut(shape: Shape, width: int = SIDE, height: int = SIDE) -> Measurement:
    return measured(film(cover(shape, width, height)), "cut-edge")


@pytest.mark.parametrize("beyond", [-60, -110, -20, 0, 60, 100])
def test_a_disc_that_the_edge_cuts(beyond: float) -> None:
    chord = 2 * (160**2 - beyond**2) ** 0.5
    art = film(cover(disc(beyond, 300.2, 160), SIDE, SIDE))
    places = ["left", "bottom", "right", "top"]
    for _ in places:
        seen = measured(art, "cut-edge")
        assert seen.value == pytest.approx(chord / px(1), rel=0.02)
        assert seen.spots_total == 1
        art = np.rot90(art)


def test_the_place_of_a_cut() -> None:
    (left,) = cut(disc(-60, 300.2, 160)).spots
    assert (left.x, left.width) == (0, 1)
    assert (left.y, left.height) == (pytest.approx(152, abs=2), pytest.approx(297, abs=3))
    (bottom,) = cut(disc(300.2, SIDE + 60, 160)).spots
    assert (bottom.y, bottom.height) == (SIDE - 1, 1)
    assert (bottom.x, bottom.width) == (pytest.approx(152, abs=2), pytest.approx(297, abs=3))


@pytest.mark.parametrize("degrees", [25, 40, 55, 70, 110, 145])
def test_a_slanting_stroke_may_stand_on_the_edge_of_a_tight_canvas(degrees: float) -> None:
    tight = union(stroke(300, 0, degrees, 400, 60), box(40, 540, 560, SIDE))
    assert cut(tight).value is None


@pytest.mark.parametrize("shape", [stroke(300, 0, 40, 400, 60), box(200, 0, 330, 300), disc(300, 20, 160)])
def test_art_pushed_over_an_edge_is_cut(shape: Shape) -> None:
    # film is left at the opposite edge: nobody trimmed this canvas to the art
    seen = cut(shape)
    assert seen.value is not None
    assert seen.value > 6
    assert seen.spots[0].y == 0


def test_a_star_and_a_wedge_that_the_edge_cuts() -> None:
    assert cut(star(300, 150, 5, 36, 220)).value == pytest.approx(4, abs=1)
    wedge = convex((300, 250), (120, -130), (480, -130))
    assert cut(wedge).value == pytest.approx(2 * 250 * 180 / 380 / px(1), rel=0.05)


def test_cuts_at_several_edges_add_up_largest_first() -> None:
    two = np.maximum(cover(disc(-60, 300.2, 160), SIDE, SIDE), cover(disc(400, SIDE + 60, 120), SIDE, SIDE))
    seen = measured(film(two), "cut-edge")
    values = [spot.value for spot in seen.spots]
    assert values == sorted(values, reverse=True)
    assert seen.value == pytest.approx(sum(values))
    assert seen.spots_total == 2


@pytest.mark.parametrize("shift", [0.0, 0.3, 0.8])
def test_a_shape_trimmed_to_its_box_is_whole(shift: float) -> None:
    assert cut(disc(160 + shift, 160 - shift / 2, 160), 320, 320).value is None
    assert cut(ring(160 + shift, 160, 140, 40), 320, 320).value is None
    assert cut(star(200 + shift, 200, 5, 36, 200), 400, 370).value is None


def test_boxes_and_strokes_that_stand_on_the_edge_are_whole() -> None:
    assert cut(box(0, 100, SIDE, 300)).value is None
    assert cut(union(box(0, 100, 200, 300), box(400, 200, SIDE, 350))).value is None
    assert cut(box(0, 0, SIDE, 300)).value is None
    assert cut(stroke(300, 300, 0, SIDE, 40)).value is None
    assert cut(stroke(300, 300, 90, SIDE, 40)).value is None


@pytest.mark.parametrize("points", [24, 60])
def test_letters_trimmed_tight_are_whole(points: float) -> None:
    page = lettering("Whale & Otter", points, 300, FONTS["plain"], fine=4)
    rows, columns = (np.flatnonzero(page.max(axis=axis) > 0.05) for axis in (1, 0))
    tight = page[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    assert measured(film(tight), "cut-edge").value is None


def test_a_glow_that_reaches_the_edge_is_no_cut() -> None:
    assert measured(film(blurred(cover(disc(60, 300, 110), SIDE, SIDE), 30) * 0.8), "cut-edge").value is None


def test_an_opaque_sheet_and_a_tiny_one_are_not_cut() -> None:
    assert measured(solid(plain(INK, 300, 200)), "cut-edge").value is None
    assert cut(disc(0, 10, 9), 20, 20).value is None
