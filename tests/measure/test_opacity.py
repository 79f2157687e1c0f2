"""Rims, fades, translucent fills and leftovers told apart, with widths and areas that can be reckoned."""

import numpy as np
import pytest

from preflight.model import Examination, Measurement
from tests.measure.pictures import (
    FONTS,
    INK,
    blurred,
    box,
    cover,
    disc,
    examined,
    film,
    lettering,
    measured,
    plain,
    px,
    solid,
    stroke,
)

SIDE = 500
DISC = cover(disc(250.3, 250.6, 200), SIDE, SIDE)
KINDS = ("fade-width", "translucent-area", "residue-area")


def kinds(examination: Examination) -> dict[str, float]:
    """What was found of the three, by id."""
    return {name: value for name in KINDS if (value := examination.measures[name].value)}


def ramp(width_mm: float, ppi: float = 300.0, side: int = SIDE, radius: float = 150.0) -> np.ndarray:
    """A disc whose opacity falls evenly from 1 to 0 over a width."""
    y, x = np.mgrid[0:side, 0:side] + 0.5
    distance = np.hypot(x - side / 2 - 0.3, y - side / 2 - 0.6)
    return np.clip((radius - distance) / px(width_mm, ppi) + 0.5, 0, 1)


# ---- rims -------------------------------------------------------------------------------------------------------


def test_a_crisp_rim_is_nothing() -> None:
    assert kinds(examined(film(DISC))) == {}
    assert kinds(examined(film(cover(stroke(250, 250, 31, 400, px(0.3)), SIDE, SIDE)))) == {}
    assert kinds(examined(film((DISC > 0.5).astype(float)))) == {}


@pytest.mark.parametrize("ppi", [150, 300, 600])
def test_small_text_has_rims_only(ppi: float) -> None:
    # half of the pixels of such text are partly opaque
    page = lettering("Wash at thirty degrees, inside out", 8, ppi, FONTS["plain"], fine=4)
    partly = (page > 0.05) & (page < 0.95)
    assert ppi > 200 or partly.sum() > 0.4 * (page > 0.05).sum()
    assert kinds(examined(film(page), ppi)) == {}


def test_an_opaque_sheet_has_none() -> None:
    assert kinds(examined(solid(plain(INK, 300, 200)))) == {}


# ---- fades ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sigma_mm", [0.25, 0.5, 1.0, 2.0])
def test_width_of_a_blurred_rim(sigma_mm: float) -> None:
    seen = examined(film(blurred(DISC, px(sigma_mm))))
    # from 95 to 5 % a Gaussian blur of a straight edge takes 2 × 1.645 of its sigma (normal distribution)
    assert seen.measures["fade-width"].value == pytest.approx(3.29 * sigma_mm, rel=0.08)
    assert set(kinds(seen)) == {"fade-width"}


def test_width_of_a_wide_blur() -> None:
    covered = cover(disc(400, 400, 300), 800, 800)
    assert measured(film(blurred(covered, px(2.5))), "fade-width").value == pytest.approx(3.29 * 2.5, rel=0.08)


@pytest.mark.parametrize("width_mm", [0.6, 1.0, 2.5, 5.0, 9.0])
def test_width_of_an_even_fade(width_mm: float) -> None:
    # partial is from 5 to 95 %; half the width is kept in whole pixels
    seen = measured(film(ramp(width_mm)), "fade-width")
    assert seen.value == pytest.approx(0.9 * width_mm, rel=0.05, abs=2 / px(1))


def test_a_fade_is_in_millimetres_at_any_resolution() -> None:
    for ppi in (200, 300, 450):
        seen = measured(film(ramp(2.0, ppi, 600, 200)), "fade-width", ppi)
        assert seen.value == pytest.approx(1.8, abs=2 / px(1, ppi))


def test_more_blur_is_wider() -> None:
    seen = [measured(film(blurred(DISC, sigma)), "fade-width").value or 0.0 for sigma in (1, 3, 5, 8, 13)]
    assert seen == sorted(seen)
    assert len(set(seen)) == 5


def test_a_fade_over_the_whole_sheet_is_a_fade() -> None:
    # so slow that each place by itself looks like a level fill
    across = np.linspace(0, 1, round(px(100)))
    seen = examined(film(np.tile(across, (300, 1))))
    assert seen.measures["fade-width"].value == pytest.approx(90, rel=0.03)
    assert set(kinds(seen)) == {"fade-width"}


def test_the_place_of_a_fade() -> None:
    covered = np.zeros((600, 800))
    covered[50:550, 30:330] = cover(disc(150, 250, 120), 300, 500)
    covered[200:400, 500:700] = blurred(cover(disc(100, 100, 60), 200, 200), 6)
    seen = measured(film(covered), "fade-width")
    assert seen.spots_total == 1
    (spot,) = seen.spots
    assert 500 <= spot.x < 540
    assert 660 < spot.x + spot.width <= 700


def test_a_sharp_enlargement_is_no_fade() -> None:
    # an anti-aliased rim enlarged twice is still one
    twice = np.repeat(np.repeat(DISC, 2, axis=0), 2, axis=1)
    assert kinds(examined(film(twice), 600)) == {}


# ---- translucent fills ------------------------------------------------------------------------------------------


def area_mm2(covered: np.ndarray, ppi: float = 300.0) -> float:
    return float(covered.sum()) / px(1, ppi) ** 2


@pytest.mark.parametrize("opacity", [0.08, 0.2, 0.5, 0.8, 0.93])
def test_area_and_opacity_of_a_flat_fill(opacity: float) -> None:
    seen = examined(film(opacity * DISC))
    found = seen.measures["translucent-area"]
    assert found.value == pytest.approx(area_mm2(DISC), rel=0.01)
    assert found.details["opacity"] == f"{100 * opacity:.0f} %"
    assert set(kinds(seen)) == {"translucent-area"}


def test_a_fill_beside_solid_art_counts_only_itself() -> None:
    inner = cover(disc(250, 250, 90), SIDE, SIDE)
    seen = examined(film(np.maximum(0.4 * DISC, inner)))
    assert seen.measures["translucent-area"].value == pytest.approx(area_mm2(DISC) - area_mm2(inner), rel=0.02)
    assert set(kinds(seen)) == {"translucent-area"}


def test_fills_of_two_opacities_add_up() -> None:
    first, second = cover(box(20, 20, 220, 120), SIDE, SIDE), cover(box(260, 260, 460, 410), SIDE, SIDE)
    seen = measured(film(0.3 * first + 0.7 * second), "translucent-area")
    assert seen.value == pytest.approx(area_mm2(first + second), rel=0.01)
    assert seen.spots_total == 2
    assert seen.spots[0].value == pytest.approx(area_mm2(second), rel=0.06)  # the larger one first
    assert (seen.spots[0].x, seen.spots[0].y) == (260, 260)


@pytest.mark.parametrize("apart", [1, 2, 3, 4, 5, 6, 8, 12])
def test_fills_of_nearly_the_same_opacity_are_fills(apart: int) -> None:
    left, right = cover(disc(130, 250, 100), SIDE, SIDE), cover(disc(370, 250, 70), SIDE, SIDE)
    seen = examined(film(left * (130 + apart) / 255 + right * 130 / 255))
    assert set(kinds(seen)) == {"translucent-area"}
    expected = area_mm2(left) + area_mm2(right)
    assert seen.measures["translucent-area"].value == pytest.approx(expected, rel=0.05)


@pytest.mark.parametrize("levels", [48, 60])
def test_a_slow_fade_in_few_levels_is_no_fill(levels: int) -> None:
    steps = np.rint(ramp(14.0, side=700, radius=200) * levels) / levels
    assert set(kinds(examined(film(steps)))) == {"fade-width"}


@pytest.mark.parametrize("width_mm", [0.42, 0.5, 0.6])
@pytest.mark.parametrize("apart", [0.0, 30.2])
def test_a_narrow_translucent_strip_is_a_fill_not_a_fade(apart: float, width_mm: float) -> None:
    strip = cover(box(40, 250.2 + apart, 460, 250.2 + apart + px(width_mm)), SIDE, SIDE)
    art = np.maximum(cover(box(40, 40, 460, 250.2), SIDE, SIDE), 0.5 * strip)
    seen = examined(film(art))
    assert "fade-width" not in kinds(seen)
    if width_mm > 0.55:  # the plateau of a narrower one is too small to tell
        assert seen.measures["translucent-area"].value == pytest.approx(area_mm2(strip), rel=0.2)


@pytest.mark.parametrize("degrees", [0, 20, 45])
@pytest.mark.parametrize("pitch", [3.1, 4.0])
def test_dense_hatching_is_no_fade(pitch: float, degrees: float) -> None:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    hatch = cover(lambda x, y: np.abs((c * x + s * y) % pitch - pitch / 2) - pitch / 4, SIDE, SIDE)
    assert "fade-width" not in kinds(examined(film(hatch * DISC)))


def test_a_noisy_fill_within_two_levels_is_flat() -> None:
    noise = np.random.default_rng(4).integers(-1, 2, (SIDE, SIDE))
    art = film(0.5 * DISC)
    inside = art[..., 3] > 120
    art[..., 3][inside] = (art[..., 3].astype(int) + noise)[inside]
    assert measured(art, "translucent-area").value == pytest.approx(area_mm2(DISC), rel=0.03)


# ---- leftovers --------------------------------------------------------------------------------------------------


def with_leftovers(opacity: float) -> np.ndarray:
    art = cover(disc(120, 120, 80), SIDE, SIDE)
    return film(np.maximum(art, opacity * cover(box(300, 300, 400, 420), SIDE, SIDE)))


def residue(opacity: float) -> Measurement:
    return measured(with_leftovers(opacity), "residue-area")


@pytest.mark.parametrize("opacity", [0.01, 0.02, 0.045])
def test_area_of_leftovers(opacity: float) -> None:
    seen = residue(opacity)
    assert seen.value == pytest.approx(100 * 120 / px(1) ** 2, rel=0.01)
    (spot,) = seen.spots
    assert (spot.x, spot.y, spot.width, spot.height) == (300, 300, 100, 120)


def test_from_five_percent_on_it_is_a_fill() -> None:
    seen = kinds(examined(with_leftovers(0.06)))
    assert set(seen) == {"translucent-area"}
    assert residue(0.0).value is None


def test_the_faint_end_of_a_fade_is_no_leftover() -> None:
    for sigma_mm in (0.5, 2.0):
        assert residue_of(blurred(DISC, px(sigma_mm))) is None
    assert residue_of(ramp(6.0)) is None


def residue_of(covered: np.ndarray) -> float | None:
    return measured(film(covered), "residue-area").value
