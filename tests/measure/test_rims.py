"""Rims that are solid: those of an old background, and outlines that somebody drew."""

import numpy as np
import pytest

from preflight.model import Measurement
from tests.measure.pictures import Array, cover, disc, less, measured, over, photo, plain, union

SIDE = 500
WHITE, BLACK = (255, 255, 255), (0, 0, 0)
CORAL, MINT, BLUE = (232, 150, 130), (180, 226, 196), (70, 110, 200)


def fringe(art: Array) -> Measurement:
    return measured(art, "fringe-share")


def parts(more: float = 0.0) -> list[Array]:
    """Coverage of two discs, with their edge moved outwards by so many px."""
    left, right = disc(130.3, 250.6, 100 + more), disc(370.2, 250.4, 100 + more)
    return [cover(shape, SIDE, SIDE) for shape in (left, right)]


def rimmed(rim: tuple[int, int, int], width: float, colours: tuple[Array | tuple[int, int, int], ...]) -> Array:
    """Two discs on a ground of the rim's colour, cut out of it so many px outside their edge."""
    art = plain(rim, SIDE, SIDE)
    for covered, colour in zip(parts(), colours, strict=True):
        art = over(art, covered, colour)
    alpha = np.maximum(*parts(width))
    return np.dstack([art, np.rint(255 * alpha).astype(np.uint8)])


def with_inner(art: Array, colour: tuple[int, int, int], thick: float = 8) -> Array:
    """A ring of a colour well inside the left disc."""
    ring = less(disc(130, 250, 50), disc(130, 250, 50 - thick))
    return np.dstack([over(art[..., :3], cover(ring, SIDE, SIDE), colour), art[..., 3]])


@pytest.mark.parametrize("width", [0.8, 1.2, 1.8])
def test_black_left_around_art_of_several_colours(width: float) -> None:
    seen = fringe(rimmed(BLACK, width, (CORAL, MINT)))
    assert seen.value > 70
    assert seen.details["colour"] == "black"
    assert {spot.x < 250 for spot in seen.spots} == {True, False}


@pytest.mark.parametrize("width", [0.8, 1.6])
def test_black_left_around_a_photograph(width: float) -> None:
    light = (np.tile(photo("chelsea.png"), (2, 2, 1))[:SIDE, :SIDE] * 0.6 + 90).astype(np.uint8)
    assert fringe(rimmed(BLACK, width, (light, light))).value > 70


def test_black_around_one_colour_may_be_drawn() -> None:
    assert not fringe(rimmed(BLACK, 1.2, (CORAL, CORAL))).value


def test_black_around_shaded_art_may_be_drawn() -> None:
    ramp = np.linspace(0, 1, SIDE)[:, None, None]
    shaded = np.broadcast_to(ramp * np.array(CORAL) + (1 - ramp) * np.array((120, 60, 50)), (SIDE, SIDE, 3))
    assert not fringe(rimmed(BLACK, 1.2, (shaded.astype(np.uint8),) * 2)).value


@pytest.mark.parametrize("width", [2.8, 3.4, 5])
def test_a_black_line_of_three_pixels_is_drawn(width: float) -> None:
    assert not fringe(rimmed(BLACK, width, (CORAL, MINT))).value


def test_black_lines_inside_make_the_outline_the_drawings_own() -> None:
    assert not fringe(with_inner(rimmed(BLACK, 1.2, (CORAL, MINT)), BLACK)).value
    assert fringe(with_inner(rimmed(BLACK, 1.2, (CORAL, MINT)), BLUE)).value > 70


def test_a_black_line_along_half_of_the_art_is_drawn() -> None:
    art, clean = rimmed(BLACK, 1.2, (CORAL, MINT)), rimmed(MINT, 1.2, (CORAL, MINT))
    art[250:] = clean[250:]
    assert not fringe(art).value


def test_a_white_rim_needs_no_such_proof() -> None:
    assert fringe(rimmed(WHITE, 1.2, (BLUE, BLUE))).value > 70
    assert fringe(with_inner(rimmed(WHITE, 1.6, (BLUE, BLUE)), WHITE)).value > 70


def test_a_white_line_of_three_pixels_is_drawn_where_white_is_inside_too() -> None:
    art = rimmed(WHITE, 2.6, (BLUE, BLUE))
    assert fringe(art).value > 70
    assert (fringe(with_inner(art, WHITE)).value or 0) < 15


def test_too_little_art_to_look_for_black_in_says_nothing() -> None:
    small = [cover(union(disc(20.3 + 40 * i, 20.6, 12), disc(20.3 + 40 * i, 60.4, 12)), 160, 80) for i in range(4)]
    wider = [cover(union(disc(20.3 + 40 * i, 20.6, 13.2), disc(20.3 + 40 * i, 60.4, 13.2)), 160, 80) for i in range(4)]
    art = plain(BLACK, 160, 80)
    for i, covered in enumerate(small):
        art = over(art, covered, (CORAL, MINT)[i % 2])
    alpha = np.maximum.reduce(wider)
    assert not fringe(np.dstack([art, np.rint(255 * alpha).astype(np.uint8)])).value


def test_the_answer_is_the_same_turned() -> None:
    art = rimmed(BLACK, 1.2, (CORAL, MINT))
    values = [fringe(np.rot90(art, quarter)).value for quarter in range(4)]
    assert values == pytest.approx([values[0]] * 4, abs=3)
