"""A plain box behind the art is found and keyed out; frames, cards and pictures are left alone."""

import numpy as np
import pytest

from preflight.model import Examination
from tests.measure.pictures import (
    INK,
    box,
    cover,
    disc,
    examined,
    film,
    less,
    over,
    photo,
    plain,
    px,
    solid,
    stroke,
    through_jpeg,
    union,
)

SIDE = 600
WHITE, CREAM, BLACK = (255, 255, 255), (240, 225, 190), (0, 0, 0)
DISC = cover(disc(300.3, 300.6, 200), SIDE, SIDE)
#: Percent of the sheet that is not disc.
GROUND = 100 * (1 - DISC.mean())


def on(ground: tuple[int, int, int], covered: np.ndarray = DISC, colour: tuple[int, int, int] = INK) -> np.ndarray:
    return over(plain(ground, covered.shape[1], covered.shape[0]), covered, colour)


def on_film(rgb: np.ndarray, x: int = 150, y: int = 100) -> np.ndarray:
    """An opaque piece on a larger sheet of clear film."""
    sheet = np.zeros((y + len(rgb) + 200, x + rgb.shape[1] + 230, 4), np.uint8)
    sheet[y : y + len(rgb), x : x + rgb.shape[1]] = solid(rgb)
    return sheet


def share(art: np.ndarray) -> float | None:
    return examined(art).measures["background-share"].value


# ---- found ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("ground", "kind"), [(WHITE, "white"), ((238, 240, 236), "white"), (CREAM, "colour")])
def test_a_box_behind_the_art(ground: tuple[int, int, int], kind: str) -> None:
    for art in (solid(on(ground)), on_film(on(ground))):
        seen = examined(art).measures["background-share"]
        assert seen.value == pytest.approx(GROUND, abs=1.0)
        assert seen.kind == kind
        levels = [int(seen.details["colour"][i : i + 2], 16) for i in (1, 3, 5)] if kind == "colour" else WHITE
        assert levels == pytest.approx(ground if kind == "colour" else WHITE, abs=2)


def test_a_black_box_and_its_place() -> None:
    seen = examined(on_film(on(BLACK, DISC, (230, 140, 20)))).measures["background-share"]
    assert seen.value == pytest.approx(GROUND, abs=1.0)
    (spot,) = seen.spots
    assert (spot.x, spot.y) == (pytest.approx(150, abs=4), pytest.approx(100, abs=4))
    assert (spot.width, spot.height) == (pytest.approx(SIDE, abs=8), pytest.approx(SIDE, abs=8))


@pytest.mark.parametrize("quality", [95, 75, 50])
def test_after_a_lossy_save(quality: int) -> None:
    assert share(solid(through_jpeg(on(WHITE), quality))) == pytest.approx(GROUND, abs=2.0)
    assert share(solid(through_jpeg(on(CREAM), quality))) == pytest.approx(GROUND, abs=2.0)


def test_white_inside_the_art_is_not_the_background() -> None:
    hole = cover(disc(300, 300, 120), SIDE, SIDE)
    assert share(solid(over(on(WHITE), hole, WHITE))) == pytest.approx(GROUND, abs=1.0)


def test_two_boxes() -> None:
    piece = on(WHITE)[60:540, 60:540]
    sheet = np.hstack([on_film(piece, 60, 60), on_film(piece, 60, 60)])
    seen = examined(sheet).measures["background-share"]
    assert seen.spots_total == 2


# ---- left alone -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["astronaut.png", "coffee.png", "rocket.jpg", "brick.png", "motorcycle_left.png"])
def test_a_photograph_has_none(name: str) -> None:
    assert share(solid(photo(name))) is None


def test_art_on_film_has_none() -> None:
    assert share(film(DISC)) is None
    assert share(film(cover(box(40, 40, 560, 560), SIDE, SIDE))) is None
    assert share(film(cover(less(box(20, 20, 580, 580), box(60, 60, 540, 540)), SIDE, SIDE))) is None


def test_a_drawn_coloured_frame_is_art() -> None:
    frame = on(INK, cover(box(50, 50, 550, 550), SIDE, SIDE), (230, 140, 20))
    assert share(solid(frame)) is None
    assert share(on_film(frame)) is None


def test_one_plain_colour_is_art() -> None:
    assert share(solid(plain(INK, 300, 200))) is None
    assert share(on_film(plain(INK, 300, 200))) is None


def test_a_fade_from_side_to_side_has_none() -> None:
    y, x = np.mgrid[0:SIDE, 0:SIDE]
    assert share(solid(np.dstack([x * 255 // SIDE, y * 255 // SIDE, 255 - x * 200 // SIDE]))) is None


# ---- keyed out --------------------------------------------------------------------------------------------------


def keyed(art: np.ndarray, name: str) -> float | None:
    seen: Examination = examined(art)
    found = seen.measures[name]
    if found.value is not None:
        assert found.details["keyed"] == "yes"
    assert any("as if it were already removed" in said for said in seen.assumptions)
    return found.value


@pytest.mark.parametrize("ground", [WHITE, CREAM])
@pytest.mark.parametrize("degrees", [0, 20, 45, 90])
def test_a_thin_line_on_a_box_is_found_with_its_width(ground: tuple[int, int, int], degrees: float) -> None:
    line = cover(stroke(300.4, 540, degrees, 90 if degrees else 500, px(0.25)), SIDE, SIDE)
    art = over(on(ground), line, INK)
    for sheet in (solid(art), on_film(art)):
        assert keyed(sheet, "narrowest-line") == pytest.approx(0.25, abs=0.03)


def test_what_is_clean_on_film_is_clean_on_a_box() -> None:
    seen = examined(solid(on(WHITE)))
    for name in ("narrowest-line", "narrowest-gap", "area-without-white", "fade-width", "translucent-area"):
        assert not seen.measures[name].value
    assert seen.measures["speck-count"].value == 0


def test_dust_on_a_box_is_found() -> None:
    dust = cover(union(*(disc(x, y, px(0.2)) for x, y in ((40, 50), (560, 70), (50, 555)))), SIDE, SIDE)
    assert keyed(solid(over(on(WHITE), dust, INK)), "speck-count") == 3


def test_without_a_box_nothing_is_keyed() -> None:
    seen = examined(film(DISC))
    assert "background-left" not in seen.coverage_fixed
    assert not any("removed" in said for said in seen.assumptions)
