"""The rim of another background's colour: composed as pictures really are, and told from drawn outlines."""

import numpy as np
import pytest

from preflight.model import Measurement
from tests.measure.pictures import INK, cover, disc, film, measured, over, photo, plain, ring, solid

SIDE = 500
DISC = cover(disc(250.3, 250.6, 200), SIDE, SIDE)
WHITE, BLACK, GREY = (255, 255, 255), (0, 0, 0), (128, 128, 128)


def cut_out(
    ground: tuple[int, int, int], art: np.ndarray | tuple[int, int, int] = INK, covered: np.ndarray = DISC
) -> np.ndarray:
    """Art that was flattened onto a ground and then cut out of it: the ground stays in the rim."""
    share = covered[..., None]
    rgb = np.array(art) * share + np.array(ground) * (1 - share)
    return np.dstack([np.rint(rgb), np.rint(255 * covered)]).astype(np.uint8)


def fringe(art: np.ndarray) -> Measurement:
    return measured(art, "fringe-share")


@pytest.mark.parametrize(("ground", "name"), [(WHITE, "white"), (BLACK, "black")])
def test_a_rim_of_the_old_background(ground: tuple[int, int, int], name: str) -> None:
    seen = fringe(cut_out(ground, (200, 90, 120)))
    assert seen.value == pytest.approx(100, abs=5)
    assert seen.details["colour"] == name


@pytest.mark.parametrize("ground", [GREY, (220, 60, 40), (40, 160, 230)])
def test_a_rim_of_another_colour_is_drawn(ground: tuple[int, int, int]) -> None:
    # art is cut out of white and black pages; a rim in colour is an outline
    assert not fringe(cut_out(ground)).value


def test_a_rim_on_half_of_the_edge_is_half() -> None:
    art, clean = cut_out(WHITE), film(DISC)
    art[:, :250] = clean[:, :250]
    seen = fringe(art)
    assert seen.value == pytest.approx(50, abs=6)
    assert all(spot.x + spot.width > 250 for spot in seen.spots)
    assert any(spot.x < 470 < spot.x + spot.width for spot in seen.spots)


def test_a_photograph_cut_out_of_white() -> None:
    assert fringe(cut_out(WHITE, photo("astronaut.png")[:SIDE, :SIDE])).value > 60


def test_a_rough_cut_that_leaves_white_pixels_whole() -> None:
    rough = cover(disc(250.3, 250.6, 201.5), SIDE, SIDE)
    art = np.dstack([over(plain(WHITE, SIDE, SIDE), DISC, INK), np.rint(255 * rough).astype(np.uint8)])
    assert fringe(art).value > 50
    assert fringe(art).details["colour"] == "white"


def test_clean_rims_are_clean() -> None:
    assert not fringe(film(DISC)).value
    assert not fringe(film(DISC, (250, 250, 250))).value
    assert (
        fringe(np.dstack([photo("coffee.png")[:400, :500], np.rint(255 * DISC[:400])]).astype(np.uint8)).value or 0
    ) < 15


@pytest.mark.parametrize(("outline", "inside"), [(WHITE, INK), (BLACK, (230, 140, 120)), ((250, 220, 40), INK)])
@pytest.mark.parametrize("width", [8, 14])
def test_a_drawn_outline_is_no_rim(outline: tuple[int, int, int], inside: tuple[int, int, int], width: float) -> None:
    inner = cover(disc(250.3, 250.6, 200 - width), SIDE, SIDE)
    art = np.dstack([over(plain(outline, SIDE, SIDE), inner, inside), np.rint(255 * DISC).astype(np.uint8)])
    assert not fringe(art).value


def test_art_of_the_backgrounds_own_colour_cannot_have_one() -> None:
    assert not fringe(cut_out(WHITE, (250, 250, 250))).value
    assert not fringe(cut_out((35, 45, 125))).value


def test_a_translucent_fill_has_no_rim_to_ask() -> None:
    art = cut_out(WHITE)
    art[..., 3] = np.rint(255 * 0.5 * DISC)
    assert not fringe(art).value


def test_a_white_veil_around_the_art_is_no_rim() -> None:
    # its half-transparent pixels lie beside the art, but no film lies beyond them
    veil = cover(disc(250.3, 250.6, 235), SIDE, SIDE)
    art = cut_out(WHITE)
    art[..., 3] = np.rint(255 * np.maximum(DISC, 0.5 * veil))
    art[DISC < 1, :3] = 255
    clear = film(DISC)
    art[:, 490:], art[:, :10] = clear[:, 490:], clear[:, :10]
    assert (fringe(art).value or 0) < 15


def test_opaque_sheets_and_few_pixels_say_nothing() -> None:
    assert fringe(solid(plain(INK, 200, 200))).value is None
    assert fringe(cut_out(WHITE, INK, cover(disc(20, 20, 4), 40, 40))).value is None


def test_the_answer_does_not_lean_on_direction() -> None:
    art = cut_out(WHITE, (200, 90, 120), cover(ring(250.3, 250.6, 160, 60), SIDE, SIDE))
    values = [fringe(np.rot90(art, quarter)).value for quarter in range(4)]
    assert values == pytest.approx([100] * 4, abs=5)
