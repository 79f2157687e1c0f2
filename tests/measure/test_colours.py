"""Ink, colour shift and contrast from the table of colours, against what can be reckoned."""

from dataclasses import replace

import numpy as np
import pytest

from preflight.ink.separation import ProfileSeparation, open_separation
from preflight.measure.colours import hex_code, luminance, ratios
from preflight.model import Coverage
from preflight.shop import HeavyInk, Shop
from tests.measure.pictures import (
    INK,
    Picture,
    PlainInks,
    cover,
    disc,
    examined,
    film,
    lettering,
    measured,
    over,
    photo,
    plain,
    px,
    solid,
)

SIDE = 500
DISC = cover(disc(250.3, 250.6, 200), SIDE, SIDE)
CHANNELS = ("cyan", "magenta", "yellow", "black")


def used(art: Picture | np.ndarray, **options: object) -> Coverage:
    coverage = examined(art, **options).coverage  # type: ignore[arg-type]
    assert coverage is not None
    return coverage


def mm2(pixels: float) -> float:
    return pixels / px(1) ** 2


def exact(rgba: np.ndarray) -> np.ndarray:
    """Plain inks of every pixel, weighted with its opacity, summed: mm² at 100 %."""
    inks = PlainInks().inks(rgba[..., :3].reshape(-1, 3)).astype(float)
    return mm2((inks * rgba[..., 3].reshape(-1, 1) / 255.0).sum(axis=0))


# ---- ink --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("colour", [INK, (255, 0, 0), (128, 128, 128), (10, 200, 90), (255, 255, 255)])
def test_ink_of_one_colour(colour: tuple[int, int, int]) -> None:
    art = film(DISC, colour)
    solid_mm2 = used(art).solid_mm2
    assert [solid_mm2[name] for name in CHANNELS] == pytest.approx(exact(art), rel=0.003, abs=0.01)


@pytest.mark.parametrize("points", [6, 12, 24])
def test_ink_of_small_lettering(points: float) -> None:
    art = film(lettering("Whale & Otter, est. 1987", points, 300, fine=4))
    solid_mm2 = used(art).solid_mm2
    assert [solid_mm2[name] for name in CHANNELS] == pytest.approx(exact(art), rel=0.003, abs=0.01)


@pytest.mark.parametrize("name", ["astronaut.png", "coffee.png", "rocket.jpg", "hubble_deep_field.jpg"])
def test_ink_of_a_photograph(name: str) -> None:
    art = solid(photo(name))
    found = np.array([used(art).solid_mm2[name] for name in CHANNELS])
    expected = exact(art)
    assert found.sum() == pytest.approx(expected.sum(), rel=0.005)
    # a channel that a picture hardly uses is made of its noise, which a table smooths
    assert np.abs(found - expected).max() < 0.005 * expected.sum()


def test_ink_follows_opacity_and_nothing_under_clear_film_counts() -> None:
    art = film(DISC)
    full = used(art).solid_mm2
    half = used(film(0.5 * DISC)).solid_mm2
    for name in CHANNELS:
        assert half[name] == pytest.approx(0.5 * full[name], rel=0.01, abs=0.01)
    art[art[..., 3] == 0, :3] = 0  # black as night, and invisible
    hidden = used(art).solid_mm2
    assert hidden == pytest.approx(full)


def test_means_and_most() -> None:
    coverage = used(film(DISC, (255, 0, 0)))
    assert coverage.total_percent_max == pytest.approx(200, abs=0.5)
    assert coverage.total_percent_mean == pytest.approx(200, abs=0.5)
    two = over(plain((255, 0, 0), SIDE, SIDE), np.pad(np.ones((SIDE, 250)), ((0, 0), (0, 250))), (255, 255, 0))
    coverage = used(solid(two))
    assert coverage.total_percent_max == pytest.approx(200, abs=0.5)
    assert coverage.total_percent_mean == pytest.approx(150, abs=2)


# ---- the file's own inks ----------------------------------------------------------------------------------------


def with_inks(inks: np.ndarray, alpha: np.ndarray | None = None) -> Picture:
    """A picture that brings inks in percent, shape (height, width, 4); its plain RGB is grey."""
    height, width = inks.shape[:2]
    opaque = np.full((height, width), 255, np.uint8) if alpha is None else alpha
    rgba = np.dstack([plain((120, 120, 120), width, height), opaque])
    return Picture(rgba, np.rint(inks * 2.55).astype(np.uint8))


def flat(*percent: float, side: int = SIDE) -> np.ndarray:
    return np.broadcast_to(np.array(percent, float), (side, side, 4)).copy()


def test_own_inks_are_summed_exactly() -> None:
    inks = np.random.default_rng(2).uniform(0, 100, (301, 423, 4))
    art = with_inks(inks)
    seen = examined(art)
    assert seen.coverage is not None
    assert art.inks is not None
    expected = mm2(art.inks.astype(float).sum(axis=(0, 1)) / 255)
    assert [seen.coverage.solid_mm2[name] for name in CHANNELS] == pytest.approx(expected, rel=1e-9)
    assert seen.separation == "the file's own inks"


def test_own_inks_are_not_judged_by_the_shops_profile() -> None:
    shift = measured(with_inks(flat(80, 70, 0, 0)), "colour-shift")
    assert not shift.applies
    assert shift.why_not


@pytest.mark.parametrize("percent", [(80, 80, 80, 100), (60, 50, 50, 80), (100, 100, 100, 100), (10, 20, 30, 0)])
def test_total_ink(percent: tuple[float, ...]) -> None:
    assert measured(with_inks(flat(*percent)), "total-ink").value == pytest.approx(sum(percent), abs=1.5)


@pytest.mark.parametrize("share", [0.0005, 0.002])
def test_lone_heavy_pixels_do_not_matter(share: float) -> None:
    inks = flat(40, 40, 40, 30)
    inks[np.random.default_rng(1).random((SIDE, SIDE)) < share] = 100
    assert measured(with_inks(inks), "total-ink").value == pytest.approx(150, abs=2)


def test_pale_art_on_film_is_pale() -> None:
    art = film(DISC, (240, 240, 240))
    art[art[..., 3] == 0, :3] = 0  # black where nothing is seen
    seen = examined(art)
    assert seen.measures["total-ink"].value == pytest.approx(6, abs=1.5)
    assert seen.coverage is not None
    assert seen.coverage.total_percent_max == pytest.approx(100 * 15 / 255, abs=0.5)


@pytest.mark.parametrize(("side_mm", "found"), [(4.3, False), (6.2, True)])
def test_a_small_heavy_patch_is_allowed(side_mm: float, found: bool) -> None:
    # the shop allows 25 mm², 5 mm by 5
    inks = flat(40, 40, 40, 30)
    side = round(px(side_mm))
    inks[100 : 100 + side, 203 : 203 + side] = 90
    seen = measured(with_inks(inks), "total-ink")
    assert (seen.value > 300) == found
    if found:
        (spot,) = seen.spots
        assert (spot.x, spot.y) == (pytest.approx(203, abs=12), pytest.approx(100, abs=12))
        assert (spot.width, spot.height) == (pytest.approx(side, abs=24), pytest.approx(side, abs=24))


def test_the_allowed_area_is_the_shops() -> None:
    inks = flat(40, 40, 40, 30)
    side = round(px(4.3))
    inks[100 : 100 + side, 203 : 203 + side] = 90
    strict = replace(Shop.default(), heavy_ink=HeavyInk(allowed_mm2=10.0))
    seen = measured(with_inks(inks), "total-ink", shop=strict)
    assert seen.value > 300
    assert seen.details["area"] == "10 mm²"


def test_a_larger_aperture_flattens_more() -> None:
    y, x = np.mgrid[0:SIDE, 0:SIDE]
    checks = np.where(((x // 16 + y // 16) % 2)[..., None] == 1, flat(100, 100, 100, 0), flat(0, 0, 0, 0))
    seen = [
        measured(
            with_inks(checks), "total-ink", shop=replace(Shop.default(), heavy_ink=HeavyInk(aperture_mm=aperture))
        ).value
        for aperture in (0.4, 1.4, 5.0)
    ]
    assert seen == sorted(seen, reverse=True)
    assert seen[0] > 280
    assert seen[2] == pytest.approx(150, abs=20)


def test_clear_film_holds_no_ink() -> None:
    alpha = np.zeros((SIDE, SIDE), np.uint8)
    alpha[:, :250] = 255
    art = with_inks(flat(90, 90, 90, 90), alpha)
    coverage = used(art)
    assert coverage.solid_mm2["cyan"] == pytest.approx(mm2(0.9 * SIDE * 250), rel=0.005)
    assert coverage.total_percent_mean == pytest.approx(360, abs=2)


# ---- contrast ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("art", "garment", "ratio"),
    [
        # WCAG 2.2, success criterion 1.4.3 and "contrast ratio"
        ((0, 0, 0), "white", 21.0),
        ((255, 255, 255), "black", 21.0),
        ((0x76, 0x76, 0x76), "white", 4.54),
        ((0x77, 0x77, 0x77), "white", 4.48),
        ((0x40, 0x40, 0x40), "#404040", 1.0),
    ],
)
def test_contrast_is_that_of_wcag(art: tuple[int, int, int], garment: str, ratio: float) -> None:
    seen = measured(film(DISC, art), "contrast", garments=(garment,))
    assert seen.value == pytest.approx(ratio, abs=0.006)
    assert seen.details["garment"] == garment


def test_contrast_is_told_for_the_worst_garment() -> None:
    seen = measured(film(DISC, (40, 40, 48)), "contrast", garments=("white", "#1d1d1f", "yellow"))
    assert seen.details["garment"] == "#1d1d1f"
    assert seen.value < 1.5
    assert seen.spots_total == 1
    assert seen.details["share"] == "100 %"


@pytest.mark.parametrize(("share", "low"), [(0.15, False), (0.25, True)])
def test_contrast_counts_from_a_fifth_of_the_art(share: float, low: bool) -> None:
    rgb = plain((250, 250, 250), SIDE, SIDE)
    rgb[:, : round(share * SIDE)] = (10, 10, 10)
    seen = measured(solid(rgb), "contrast", garments=("black",))
    assert (seen.value < 1.5) == low
    assert float(seen.details["share"].removesuffix(" %")) == pytest.approx(100 * share, abs=1.5)


def test_no_garment_no_contrast() -> None:
    seen = measured(film(DISC), "contrast")
    assert seen.value is None
    assert not seen.applies


def test_luminance_and_ratio() -> None:
    assert luminance(np.array([[0, 0, 0], [255, 255, 255]], np.uint8)) == pytest.approx([0, 1])
    assert luminance(np.array([[255, 0, 0], [0, 255, 0], [0, 0, 255]], np.uint8)) == pytest.approx(
        [0.2126, 0.7152, 0.0722]
    )
    assert ratios(np.array([0.0, 1.0, 0.2]), 0.2) == pytest.approx([5, 4.2, 1])
    assert hex_code(np.array([1, 171, 255], np.uint8)) == "#01abff"


# ---- colour shift -----------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def bundled() -> ProfileSeparation:
    return open_separation(Shop.default())


@pytest.mark.parametrize("colour", [(0, 255, 0), (128, 128, 128), (255, 0, 255), (200, 120, 100)])
def test_shift_of_one_colour_is_the_separations(colour: tuple[int, int, int], bundled: ProfileSeparation) -> None:
    one = np.array([colour], np.uint8)
    seen = measured(film(DISC, colour), "colour-shift", separation=bundled)
    assert seen.value == pytest.approx(float(bundled.shift(one)[0]), abs=0.01)
    assert seen.details["worst_colour"] == hex_code(one[0])
    assert seen.details["printed_colour"] == hex_code(bundled.printed(one)[0])


@pytest.mark.parametrize(("share", "found"), [(0.03, False), (0.08, True)])
def test_a_shift_counts_from_a_twentieth_of_the_art(share: float, found: bool, bundled: ProfileSeparation) -> None:
    rgb = plain((200, 120, 100), SIDE, SIDE)
    rgb[: round(share * SIDE)] = (0, 255, 0)
    seen = measured(solid(rgb), "colour-shift", separation=bundled)
    assert (seen.value > 10) == found
    assert float(seen.details["share"].removesuffix(" %")) == pytest.approx(100 * share, abs=1.5)
    assert seen.spots[0].y == 0
    assert seen.spots[0].width == pytest.approx(SIDE, abs=24)


# ---- the table --------------------------------------------------------------------------------------------------


def test_neighbouring_colours_keep_their_mean() -> None:
    # bins of a few levels are converted by their mean: a ramp must not be shifted by its bins
    ramp = np.repeat(np.tile(np.arange(256, dtype=np.uint8), (512, 1))[..., None], 3, axis=2)
    for grey in (ramp, ramp.transpose(1, 0, 2), ramp[:, ::-1]):
        art = solid(grey)
        assert used(art).solid_mm2["black"] == pytest.approx(exact(art)[3], rel=0.003)


def test_many_colours_of_noise() -> None:
    noise = np.random.default_rng(9).integers(0, 256, (SIDE, SIDE, 3), dtype=np.uint8)
    found = [used(solid(noise)).solid_mm2[name] for name in CHANNELS]
    assert found == pytest.approx(exact(solid(noise)), rel=0.02)
