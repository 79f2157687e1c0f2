"""Enlarged pictures are found, and by how much; sharp ones and drawings are left in peace."""

import numpy as np
import pytest
from PIL import Image

from preflight.measure.detail import luma, spectrum, tone
from preflight.measure.kernels import median, quantile
from preflight.measure.sheet import gather
from preflight.measure.tiles import DETAIL_TILE, MOST, PATTERN_TILE, DetailTiles, PatternTiles
from preflight.model import Measurement
from tests.measure.pictures import (
    INK,
    Picture,
    cover,
    disc,
    enlarged,
    examined,
    film,
    measured,
    over,
    photo,
    plain,
    solid,
    star,
    through_jpeg,
)

Resampling = Image.Resampling
SHARP = [
    "astronaut.png",
    "coffee.png",
    "chelsea.png",
    "rocket.jpg",
    "camera.png",
    "brick.png",
    "gravel.png",
    "motorcycle_left.png",
    "hubble_deep_field.jpg",
    "ihc.png",
    "coins.png",
]


def detail(rgb: np.ndarray, ppi: float = 300.0) -> Measurement:
    return measured(solid(rgb), "detail-ppi", ppi)


@pytest.mark.parametrize("name", SHARP)
def test_an_original_holds_what_it_promises(name: str) -> None:
    seen = detail(photo(name))
    assert seen.value is None
    assert seen.why_not is None
    assert detail(through_jpeg(photo(name), 85)).value is None


@pytest.mark.parametrize(
    ("name", "how"),
    [(name, Resampling.BICUBIC) for name in SHARP[:8]]
    + [(name, how) for name in SHARP[:3] for how in (Resampling.BILINEAR, Resampling.LANCZOS)],
)
def test_an_enlarged_photograph_is_found(name: str, how: Resampling) -> None:
    values = []
    for factor in (2, 3, 4):
        seen = detail(enlarged(photo(name)[:320, :320], factor, how))
        assert seen.value is not None
        assert seen.value < 300 / factor * 1.6  # told too fine by up to so much
        assert seen.details["pixels_ppi"] == "300 ppi"
        assert float(seen.details["factor"]) == pytest.approx(300 / seen.value, rel=0.04)  # two figures
        values.append(seen.value)
    assert values[0] >= values[1] * 0.8
    assert values[1] > values[2] * 0.95


@pytest.mark.parametrize("factor", [2, 3, 4])
def test_repeated_pixels_are_counted(factor: int) -> None:
    for name in ("astronaut.png", "grass.png", "rocket.jpg"):
        seen = detail(enlarged(photo(name)[:280, :280], factor, Resampling.NEAREST))
        assert seen.value == pytest.approx(300 / factor, rel=0.04)


@pytest.mark.parametrize("quality", [80, 88])
@pytest.mark.parametrize("factor", [2, 2.5, 3, 4])
def test_repeated_pixels_are_counted_in_a_lossy_file(factor: float, quality: int) -> None:
    # the file's own rhythm of 8 px is no enlargement, and 2 and 4 go into it
    for name in ("astronaut.png", "coffee.png", "rocket.jpg"):
        seen = detail(through_jpeg(enlarged(photo(name)[:280, :280], factor, Resampling.NEAREST), quality))
        assert seen.value == pytest.approx(300 / factor, rel=0.04)


@pytest.mark.parametrize("factor", [0.55, 0.75, 0.8])
@pytest.mark.parametrize("how", [Resampling.NEAREST, Resampling.BILINEAR])
def test_a_reduced_photograph_holds_what_it_promises(factor: float, how: Resampling) -> None:
    for name in ("astronaut.png", "coffee.png", "chelsea.png"):
        assert detail(through_jpeg(enlarged(photo(name), factor, how), 85)).value is None


def test_detail_follows_the_print_size() -> None:
    rgb = enlarged(photo("coffee.png"), 2)
    assert detail(rgb, 600).value == pytest.approx(2 * detail(rgb, 300).value)
    assert detail(rgb, 600).details["pixels_ppi"] == "600 ppi"


def test_drawings_are_left_in_peace() -> None:
    badge = over(plain((250, 240, 220), 600, 600), cover(disc(300, 300, 250), 600, 600), INK)
    badge = over(badge, cover(star(300, 300, 5, 36, 180), 600, 600), (220, 40, 30))
    assert detail(badge).value is None
    assert detail(np.repeat(np.repeat(badge[::4, ::4], 4, axis=0), 4, axis=1)).value is None  # enlarged line art
    assert measured(film(cover(star(250, 250, 7, 20, 240), 500, 500)), "detail-ppi").value is None


@pytest.mark.parametrize("module", [4, 6, 9])
def test_a_code_lies_on_an_even_grid_and_is_no_enlargement(module: int) -> None:
    import segno

    symbol = np.array([list(row) for row in segno.make("a code for a sleeve, order 10427", error="h").matrix])
    grid = np.where(np.repeat(np.repeat(symbol, module, axis=0), module, axis=1), 0, 255)
    rgb = np.repeat(np.pad(grid, 40, constant_values=255)[..., None], 3, axis=2).astype(np.uint8)
    assert detail(rgb).value is None


def test_a_pale_enlargement_is_found() -> None:
    # the noise of rounding to whole levels is no detail
    for name in ("astronaut.png", "coffee.png", "motorcycle_left.png"):
        large = enlarged(photo(name)[:320, :320], 3)
        pale = np.rint(100 + 0.2 * large.astype(float)).astype(np.uint8)
        assert detail(pale).value == pytest.approx(detail(large).value, rel=0.25)


def test_a_photograph_without_busy_places_cannot_be_told() -> None:
    y, x = np.mgrid[0:600, 0:600]
    sky = np.dstack([90 + x / 30, 130 + y / 30, 200 + (x + y) / 80]).astype(np.uint8)
    seen = detail(sky)
    assert seen.value is None
    assert not seen.applies


# ---- continuous tone and line art -------------------------------------------------------------------------------


def test_tone() -> None:
    for name in SHARP:
        assert tone(gather(Picture(solid(photo(name))))) == "continuous-tone"
    drawn = over(plain((250, 240, 220), 500, 500), cover(star(250, 250, 7, 30, 230), 500, 500), INK)
    assert tone(gather(Picture(solid(drawn)))) == "line-art"
    assert tone(gather(Picture(film(cover(disc(250, 250, 200), 500, 500))))) == "line-art"
    assert tone(gather(Picture(np.zeros((90, 90, 4), np.uint8)))) == "line-art"


def test_the_kind_of_a_picture_picks_its_limits() -> None:
    assert examined(solid(photo("coffee.png"))).measures["effective-ppi"].kind == "continuous-tone"
    assert examined(film(cover(disc(250, 250, 200), 500, 500))).measures["effective-ppi"].kind == "line-art"


# ---- the pieces -------------------------------------------------------------------------------------------------


def test_luma_weights() -> None:
    # Rec. ITU-R BT.601: 0.299, 0.587, 0.114
    rgb = np.array([[[255, 0, 0], [0, 255, 0], [0, 0, 255], [255, 255, 255]]], np.uint8)
    assert luma(rgb)[0] == pytest.approx([76.245, 149.685, 29.07, 255])


def test_a_spectrum_shows_the_frequency_of_a_wave() -> None:
    y, x = np.mgrid[0:DETAIL_TILE, 0:DETAIL_TILE]
    for cycles in (8, 24, 50):
        power = spectrum(100 + 50 * np.sin(2 * np.pi * cycles * (x + y) / DETAIL_TILE))
        assert int(power.argmax()) == cycles
    noise = np.random.default_rng(1).normal(0, 10, (DETAIL_TILE, DETAIL_TILE))
    assert spectrum(noise)[4:-4].mean() == pytest.approx(100, rel=0.1)  # white noise: its variance at every frequency


def kept(rgba: np.ndarray) -> tuple[DetailTiles, PatternTiles]:
    picture = Picture(rgba)
    busy, grid = DetailTiles(picture.facts), PatternTiles(picture.facts)
    gather(picture, [busy, grid])
    return busy, grid


def test_tiles_are_pieces_of_the_artwork() -> None:
    rgb = enlarged(photo("coffee.png"), 2)
    busy, _ = kept(solid(rgb))
    for tile in busy.tiles():
        assert np.array_equal(tile.rgb, rgb[tile.y : tile.y + DETAIL_TILE, tile.x : tile.x + DETAIL_TILE])
    activity = [tile.activity for tile in busy.tiles()]
    assert activity == sorted(activity, reverse=True)
    assert 4 <= len(activity) <= MOST
    greys = np.repeat(rgb[..., 1:2], 3, axis=2)
    for tile in kept(solid(greys))[1].tiles():
        assert np.array_equal(tile.rgb, greys[tile.y : tile.y + PATTERN_TILE, tile.x : tile.x + PATTERN_TILE])


def test_tiles_are_taken_from_opaque_art_only() -> None:
    rgba = solid(enlarged(photo("coffee.png"), 2))
    rgba[:, :600, 3] = 0
    busy, grid = kept(rgba)
    assert busy.tiles()
    assert all(tile.x >= 600 for tile in (*busy.tiles(), *grid.tiles()))


def test_the_busiest_place_is_among_the_tiles() -> None:
    rgb = plain((120, 120, 120), 1900, 1800)
    rgb += np.random.default_rng(2).integers(0, 14, rgb.shape, dtype=np.uint8)
    rgb[640:768, 384:512] = np.random.default_rng(3).integers(0, 256, (128, 128, 3), dtype=np.uint8)
    first = kept(solid(rgb))[0].tiles()[0]
    assert (first.x, first.y) == (384, 640)


def test_quantiles_are_those_of_numpy() -> None:
    rng = np.random.default_rng(2)
    for share in (0.0, 0.25, 0.75, 0.98, 1.0):
        for length in (1, 2, 7, 127):
            values = rng.random(length)
            assert quantile(values, share) == np.quantile(values, share)


def test_the_middle_is_that_of_numpy() -> None:
    rng = np.random.default_rng(3)
    for length in (1, 2, 7, 40):
        values = rng.integers(0, 256, (length, 3)).astype(np.int16)
        assert np.array_equal(median(values), np.median(values, axis=0))
        assert median(values[:, 0]) == np.median(values[:, 0])
