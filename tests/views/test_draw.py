"""The pictures of a report: true to scale, true in place, true in colour, and small."""

from __future__ import annotations

import io
import json
import math

import numpy as np
import pytest
from PIL import Image

from preflight.child.plain import from_plain, to_plain
from preflight.errors import IntakeError
from preflight.ink.separation import open_separation
from preflight.model import Box, Bytes, Place, Separation
from preflight.shop import Shop
from preflight.views.draw import draw
from preflight.views.model import JPEG, PNG, CloseUp, Cloth, Look, Picture, Views
from preflight.views.shrunk import LONGEST, Frame

from .made import MM, NAVY, Made, clear, disc, grid, paint, stroke, wish

RED = (200, 30, 40)


@pytest.fixture(scope="module")
def separation() -> Separation:
    return open_separation(Shop.default())


def pixels(picture: Picture) -> Bytes:
    with Image.open(io.BytesIO(picture.data)) as opened:
        assert opened.size == (picture.width, picture.height)
        assert {"PNG": PNG, "JPEG": JPEG}[opened.format or ""] == picture.kind
        return np.asarray(opened.convert("RGB"), np.uint8)


def unlike(picture: Bytes, colour: tuple[int, int, int], room: int = 20) -> Bytes:
    return (np.abs(picture.astype(int) - colour).max(axis=2) > room).astype(np.uint8)


def middle_mm(picture: Picture, mask: Bytes) -> tuple[float, float]:
    """Middle of what is set, print mm from the artwork's top left."""
    y, x = np.nonzero(mask)
    scale = picture.mm_per_px or 0.0
    return picture.x_mm + (x.mean() + 0.5) * scale, picture.y_mm + (y.mean() + 0.5) * scale


@pytest.mark.parametrize("size_mm", [(40.0, 30.0), (297.0, 210.0), (120.0, 407.3), (101.7, 101.7)])
def test_the_overview_is_true_to_scale(size_mm: tuple[float, float], separation: Separation) -> None:
    rgba = clear(*size_mm)
    spot = (0.71 * size_mm[0], 0.23 * size_mm[1])
    paint(rgba, disc(rgba, spot, 2.0), RED)
    first = draw(Made(rgba), wish(rgba), separation).on_cloth[0].picture
    assert max(first.width, first.height) <= LONGEST
    assert first.mm_per_px is not None
    assert first.width_mm == pytest.approx(size_mm[0], abs=2 * first.mm_per_px)
    x, y = middle_mm(first, unlike(pixels(first), NAVY.rgb))
    assert math.hypot(x - spot[0], y - spot[1]) < 0.1


def test_an_artwork_inside_a_larger_canvas_is_shown_alone(separation: Separation) -> None:
    rgba = clear(60, 50)
    paint(rgba, disc(rgba, (40, 30), 5.0), RED)
    box = Box(round(35 / MM), round(25 / MM), round(10 / MM), round(10 / MM))
    wanted = wish(rgba)
    views = draw(Made(rgba), type(wanted)(wanted.canvas, box, MM, (NAVY,)), separation)
    picture = views.on_cloth[0].picture
    assert picture.width_mm == pytest.approx(10, rel=0.01)
    assert middle_mm(picture, unlike(pixels(picture), NAVY.rgb)) == pytest.approx((5, 5), abs=0.1)


def test_the_colour_under_a_clear_pixel_does_not_bleed(separation: Separation) -> None:
    """Many programs leave bright colours there; an average that forgets opacity shows them as a rim."""
    rgba = clear(300, 40)
    rgba[...] = (0, 255, 0, 0)
    rgba[: len(rgba) // 2 + 3] = (*RED, 255)
    shown = pixels(draw(Made(rgba), wish(rgba, cloths=(Cloth("black", (0, 0, 0)),)), separation).on_cloth[0].picture)
    assert shown[..., 1].max() <= RED[1] + 2


def test_every_garment_has_its_colour(separation: Separation) -> None:
    rgba = clear(40, 30)
    paint(rgba, disc(rgba, (20, 15), 5.0), RED)
    cloths = (NAVY, Cloth("sand", (230, 220, 190)), Cloth("black", (0, 0, 0)))
    views = draw(Made(rgba), wish(rgba, cloths=cloths), separation)
    for each, cloth in zip(views.on_cloth, cloths, strict=True):
        shown = pixels(each.picture)
        assert tuple(shown[0, 0]) == cloth.rgb
        assert np.abs(shown[len(shown) // 2, shown.shape[1] // 2].astype(int) - RED).max() <= 1
    assert max(views.on_cloth[1].picture.width, views.on_cloth[1].picture.height) <= 420
    assert max(views.thumb.width, views.thumb.height) <= 160


def closely(rgba: Bytes, look: Look, separation: Separation, mm: float = MM) -> CloseUp:
    (found,) = draw(Made(rgba), wish(rgba, mm, looks=(look,)), separation).close_ups
    return found


@pytest.mark.parametrize("ppi", [96.0, 150.0, 300.0, 600.0])
def test_a_close_up_is_true_to_scale(ppi: float, separation: Separation) -> None:
    """A square of 4 mm, measured on the picture at the scale that the picture states; and where it lies."""
    mm = 25.4 / ppi
    rgba = clear(60, 50, mm)
    paint(rgba, stroke(rgba, (31.0, 22.0), 4.0, 4.0, 0.0, mm), RED)
    found = closely(rgba, Look(1, Place(29.0, 20.0, 4.0, 4.0, None)), separation, mm).picture
    assert found.mm_per_px == pytest.approx(mm)
    assert found.width_mm == pytest.approx(10.0, abs=mm)
    shown = pixels(found).astype(float)
    cover = (shown[..., 0] - NAVY.rgb[0]) / (RED[0] - NAVY.rgb[0])  # half covered pixels count half
    side = math.sqrt(cover.sum()) * mm
    assert side == pytest.approx(4.0, rel=0.01)
    assert middle_mm(found, (cover > 0.5).astype(np.uint8)) == pytest.approx((31.0, 22.0), abs=mm)


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 77.0, 90.0, 140.0])
@pytest.mark.parametrize("width", [0.2, 0.31, 0.47])
def test_the_width_of_a_line_is_drawn_where_it_is(angle: float, width: float, separation: Separation) -> None:
    rgba = clear(60, 60)
    paint(rgba, stroke(rgba, (30.0, 30.0), 24.0, width, angle), RED)
    half_x, half_y = 12 * abs(math.cos(math.radians(angle))), 12 * abs(math.sin(math.radians(angle)))
    place = Place(30 - half_x - 0.2, 30 - half_y - 0.2, 2 * half_x + 0.4, 2 * half_y + 0.4, width)
    ruler = closely(rgba, Look(1, place, "line", width), separation).ruler
    assert ruler is not None
    assert ruler.length_mm == pytest.approx(width, abs=0.9 * MM)
    drawn = math.degrees(math.atan2(ruler.y2_mm - ruler.y1_mm, ruler.x2_mm - ruler.x1_mm))
    assert abs((drawn - angle) % 180 - 90) < 20  # across the line
    x, y = (ruler.x1_mm + ruler.x2_mm) / 2 - 30, (ruler.y1_mm + ruler.y2_mm) / 2 - 30
    off = abs(-x * math.sin(math.radians(angle)) + y * math.cos(math.radians(angle)))
    assert off < 0.5 * MM + width / 4  # in the middle of the line


def test_of_two_lines_the_one_that_was_measured_is_shown(separation: Separation) -> None:
    rgba = clear(40, 40)
    paint(rgba, stroke(rgba, (20.0, 17.0), 20.0, 0.8, 0.0), RED)
    paint(rgba, stroke(rgba, (20.0, 21.0), 20.0, 0.25, 0.0), RED)
    ruler = closely(rgba, Look(1, Place(10, 16, 20, 6, 0.25), "line", 0.25), separation).ruler
    assert ruler is not None
    assert (ruler.y1_mm + ruler.y2_mm) / 2 == pytest.approx(21.0, abs=0.1)


def test_the_width_of_a_gap_is_drawn(separation: Separation) -> None:
    rgba = clear(40, 40)
    paint(rgba, stroke(rgba, (20.0, 20.0), 20.0, 12.0, 0.0), RED)
    gap = stroke(rgba, (20.0, 20.0), 30.0, 0.3, 90.0)
    rgba[..., 3] = np.minimum(rgba[..., 3], np.rint(255 * (1 - gap))).astype(np.uint8)
    ruler = closely(rgba, Look(1, Place(19.8, 14, 0.4, 12, 0.3), "gap", 0.3), separation).ruler
    assert ruler is not None
    assert ruler.length_mm == pytest.approx(0.3, abs=0.9 * MM)
    assert (ruler.x1_mm + ruler.x2_mm) / 2 == pytest.approx(20.0, abs=MM)


def test_the_width_of_a_fade_is_drawn_from_solid_to_clear(separation: Separation) -> None:
    rgba = clear(40, 40)
    x, y = grid(rgba)
    distance = np.hypot(x - 20, y - 20)
    paint(rgba, np.clip((12.0 - distance) / 3.0, 0, 1), RED)  # from 9 to 12 mm
    found = closely(rgba, Look(1, Place(8, 8, 24, 24, 2.7), "fade", 2.7), separation)
    assert found.ruler is not None
    assert found.ruler.length_mm == pytest.approx(2.7, rel=0.12)
    ends = (
        math.hypot(found.ruler.x1_mm - 20, found.ruler.y1_mm - 20),
        math.hypot(found.ruler.x2_mm - 20, found.ruler.y2_mm - 20),
    )
    assert sorted(ends) == pytest.approx([9.15, 11.85], abs=0.3)


def test_a_line_of_another_width_gets_no_ruler(separation: Separation) -> None:
    rgba = clear(30, 30)
    paint(rgba, stroke(rgba, (15.0, 15.0), 10.0, 3.0, 0.0), RED)
    assert closely(rgba, Look(1, Place(10, 13, 10, 4, 0.3), "line", 0.3), separation).ruler is None


def test_a_line_on_a_background_that_was_left_in_is_found(separation: Separation) -> None:
    rgba = clear(40, 40)
    rgba[...] = 255
    cover = stroke(rgba, (20.0, 20.0), 16.0, 0.3, 30.0)[..., None]
    rgba[..., :3] = np.rint(255 * (1 - cover) + cover * RED).astype(np.uint8)
    look = Look(1, Place(12, 15, 16, 10, 0.3), "line", 0.3)
    (found,) = draw(Made(rgba), wish(rgba, looks=(look,), keyed=(255, 255, 255)), separation).close_ups
    assert found.ruler is not None
    assert found.ruler.length_mm == pytest.approx(0.3, abs=MM)


def test_leftovers_that_no_eye_sees_are_made_visible(separation: Separation) -> None:
    rgba = clear(40, 40)
    rgba[200:230, 200:230] = (0, 0, 128, 9)
    found = closely(rgba, Look(1, Place(200 * MM, 200 * MM, 30 * MM, 30 * MM, None), "faint"), separation)
    shown = unlike(pixels(found.picture), NAVY.rgb)
    assert shown.sum() == 900


def test_the_busiest_part_is_shown_where_no_place_is_known(separation: Separation) -> None:
    rgba = clear(80, 80)
    rgba[...] = (120, 120, 120, 255)
    at = round(30 / MM)
    board = (np.indices((160, 160)).sum(axis=0) // 2 % 2 * 255).astype(np.uint8)
    rgba[at : at + 160, at + 200 : at + 360, :3] = board[..., None]
    found = closely(rgba, Look(3, None, "busiest"), separation)
    assert found.finding == 3
    assert found.picture.x_mm + 5 == pytest.approx((at + 280) * MM, abs=3)
    assert found.picture.width_mm == pytest.approx(10, rel=0.01)


def test_a_place_at_the_edge_is_shown_with_cloth_around_it(separation: Separation) -> None:
    rgba = clear(30, 30)
    paint(rgba, stroke(rgba, (1.0, 1.0), 2.0, 2.0, 0.0), RED)
    found = closely(rgba, Look(1, Place(0, 0, 2, 2, None)), separation).picture
    assert found.x_mm < 0
    assert tuple(pixels(found)[0, 0]) == NAVY.rgb
    assert middle_mm(found, unlike(pixels(found), NAVY.rgb)) == pytest.approx((1, 1), abs=0.1)


@pytest.mark.parametrize("ppi", [150.0, 300.0, 450.0])
def test_white_is_pulled_in_and_what_gets_none_is_hatched(ppi: float, separation: Separation) -> None:
    mm = 25.4 / ppi
    rgba = clear(60, 40, mm)
    paint(rgba, disc(rgba, (20, 20), 12.0, mm), RED)
    views = draw(Made(rgba), wish(rgba, mm, choke_mm=0.6), separation)
    assert views.white is not None
    assert views.white.area_mm2 < 0.5
    white = (pixels(views.white.picture)[..., 0] > 165).sum() * (views.white.picture.mm_per_px or 0.0) ** 2
    assert white == pytest.approx(math.pi * 11.4**2, rel=0.02)
    paint(rgba, stroke(rgba, (45, 20), 20.0, 0.7, 90.0, mm), RED)
    bare = draw(Made(rgba), wish(rgba, mm, choke_mm=0.6), separation).white
    assert bare is not None
    assert bare.area_mm2 == pytest.approx(14.0, rel=0.15)
    shown = pixels(bare.picture)[..., 0].astype(int)
    scale = bare.picture.mm_per_px or 1.0
    around = shown[round(12 / scale) : round(28 / scale), round(45 / scale) - 3 : round(45 / scale) + 4]
    assert around.min() < 10
    assert around.max() > 245  # black and white stripes: no colour is needed to see them


def test_too_much_ink_is_hatched_where_it_lies(separation: Separation) -> None:
    rgba = clear(60, 40)
    rgba[...] = (255, 255, 255, 255)
    inks = np.zeros_like(rgba)
    inks[100:200, 300:500] = (255, 255, 255, 160)  # 363 %
    rgba[100:200, 300:500] = (0, 0, 0, 255)
    heavy = draw(Made(rgba, inks), wish(rgba, ink_limit=300.0), separation).heavy
    assert heavy is not None
    assert heavy.area_mm2 == pytest.approx(100 * 200 * MM**2, rel=0.1)
    shown = pixels(heavy.picture)[..., 0]
    y, x = np.nonzero(shown < 10)
    scale = heavy.picture.mm_per_px or 0.0
    assert ((x.mean() + 0.5) * scale, (y.mean() + 0.5) * scale) == pytest.approx((400 * MM, 150 * MM), abs=0.5)
    assert draw(Made(rgba, inks), wish(rgba), separation).heavy is None


def test_shifted_colours_are_shown_before_and_after(separation: Separation) -> None:
    rgba = clear(40, 40)
    rgba[...] = (160, 90, 60, 255)
    rgba[:200] = (0, 255, 0, 255)
    first, *others = draw(Made(rgba), wish(rgba, shift_limit=10.0), separation).swatches
    assert not others
    assert first.before == (0, 255, 0)
    assert first.after == tuple(int(level) for level in separation.printed(np.array([[0, 255, 0]], np.uint8))[0])
    assert first.share == pytest.approx(200 / len(rgba), rel=0.01)
    assert first.shift > 10


def test_inks_of_the_file_are_shown_in_their_colour(separation: Separation) -> None:
    """A CMYK file's plain conversion is good for shapes alone: pure cyan would be a glaring turquoise."""
    rgba = clear(20, 20)
    rgba[...] = (0, 255, 255, 255)
    inks = np.zeros_like(rgba)
    inks[..., 0] = 255
    shown = pixels(draw(Made(rgba, inks), wish(rgba), separation).on_cloth[0].picture)[50, 50]
    assert shown[0] < 40
    assert 120 < shown[1] < 190  # coated cyan is about #009fe3


def test_without_a_size_there_is_a_picture_and_no_more(separation: Separation) -> None:
    rgba = clear(20, 20)
    paint(rgba, disc(rgba, (10, 10), 5.0), RED)
    views = draw(Made(rgba), wish(rgba, None, choke_mm=0.2, ink_limit=100.0), separation)
    assert views.on_cloth[0].picture.mm_per_px is None
    assert (views.white, views.heavy, views.close_ups) == (None, None, ())


def test_a_file_that_changed_meanwhile_is_refused(separation: Separation) -> None:
    rgba = clear(20, 20)
    with pytest.raises(IntakeError, match="changed"):
        draw(Made(rgba[:100]), wish(rgba), separation)


def test_pictures_stay_small_and_leave_the_child_whole(separation: Separation) -> None:
    """The worst there is: noise, with every picture wanted."""
    rng = np.random.default_rng(1)
    rgba = rng.integers(0, 256, (2400, 3500, 4), np.uint8)
    looks = tuple(Look(n, Place(20.0 * n, 30, 3, 3, None)) for n in range(1, 11))
    wanted = wish(rgba, looks=looks, choke_mm=0.18, ink_limit=200.0, shift_limit=5.0, cloths=(NAVY,) * 4)
    views = draw(Made(rgba), wanted, separation)
    found = [each.picture for each in (*views.on_cloth, *views.close_ups)]
    found += [layer.picture for layer in (views.white, views.heavy) if layer is not None]
    assert sum(len(picture.data) for picture in found) * 4 / 3 < 2_000_000
    assert from_plain(Views, json.loads(json.dumps(to_plain(views)))) == views


@pytest.mark.parametrize("size", [(1, 1), (1, 5000), (1199, 7), (1201, 3), (2401, 2401), (3, 100_000)])
def test_frames_of_any_size(size: tuple[int, int]) -> None:
    frame = Frame.of(Box(0, 0, *size))
    assert 1 <= max(frame.width, frame.height) <= LONGEST
    assert frame.width * frame.cell >= size[0]
    assert (frame.width - 1) * frame.cell < size[0]


@pytest.mark.parametrize("size", [(1, 1), (3, 700), (700, 3), (260, 255)])
def test_odd_artworks_are_drawn(size: tuple[int, int], separation: Separation) -> None:
    rgba = np.full((size[1], size[0], 4), 200, np.uint8)
    wanted = wish(rgba, looks=(Look(1, Place(0, 0, 1, 1, 0.3), "line", 0.3), Look(2, None, "busiest")), choke_mm=0.18)
    views = draw(Made(rgba), wanted, separation)
    assert views.on_cloth[0].picture.width == size[0]
