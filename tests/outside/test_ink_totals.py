"""Ink totals against sums over every pixel that owe nothing to this program's own sampling.

Sources: TIFF 6.0, section 16 (CMYK: 0 is no ink, 255 is full), read back by Pillow and by tifffile; ICC.1:2010 through
LittleCMS as Pillow carries it, with its resampled tables switched off, over all pixels of a picture.
"""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from preflight.ink.separation import open_separation
from preflight.intake import open_artwork
from preflight.intake.colour import reference_profile
from preflight.measure.examine import examine
from preflight.model import Coverage, Ticket
from preflight.shop import Shop
from tests.measure.pictures import (
    INK,
    cover,
    disc,
    enlarged,
    film,
    lettering,
    over,
    photo,
    plain,
    solid,
    star,
    through_jpeg,
)

PPI = 300.0
MM2 = (25.4 / PPI) ** 2
NAMES = ("cyan", "magenta", "yellow", "black")


def measured(path: Path) -> Coverage:
    """Ink of one copy as a check measures it, with the shop's default separation."""
    artwork = open_artwork(path, pixel_limit=10**8)
    ticket = Ticket(width_mm=artwork.facts.width * 25.4 / PPI, size_of="canvas")
    shop = Shop.default()
    coverage = examine(artwork, ticket, shop, open_separation(shop)).coverage
    assert coverage is not None
    return coverage


def inks_of(coverage: Coverage) -> np.ndarray:
    return np.array([coverage.solid_mm2[name] for name in NAMES])


# ---- the file's own planes --------------------------------------------------------------------------------------


def planes(height: int, width: int) -> np.ndarray:
    """Inks as a picture has them: a photograph in three, a key drawn over it, and grain. uint8 (height, width, 4)."""
    rng = np.random.default_rng(11)
    rgb = np.asarray(Image.fromarray(photo("astronaut.png")).resize((width, height)))
    key = 255 * cover(disc(width / 2, height / 2, height / 3), width, height)
    inks = np.dstack([255 - rgb, key]).astype(np.int16) + rng.integers(-9, 10, (height, width, 4))
    return np.clip(inks, 0, 255).astype(np.uint8)


@pytest.mark.parametrize(("height", "width"), [(512, 512), (301, 423), (777, 333)])
@pytest.mark.parametrize("compression", [None, "tiff_lzw", "tiff_adobe_deflate"])
def test_ink_of_a_cmyk_tiff_is_the_sum_of_its_planes(
    tmp_path: Path, compression: str | None, height: int, width: int
) -> None:
    path = tmp_path / "art.tif"
    Image.fromarray(planes(height, width), "CMYK").save(path, compression=compression)
    with Image.open(path) as again:
        assert again.mode == "CMYK"
        expected = np.asarray(again, np.float64).sum(axis=(0, 1)) / 255 * MM2
    assert inks_of(measured(path)) == pytest.approx(expected, rel=0.001)


def test_another_librarys_tiff(tmp_path: Path) -> None:
    tifffile = pytest.importorskip("tifffile")
    path = tmp_path / "art.tif"
    tifffile.imwrite(path, planes(400, 500), photometric="separated")
    expected = tifffile.imread(path).astype(np.float64).sum(axis=(0, 1)) / 255 * MM2
    assert inks_of(measured(path)) == pytest.approx(expected, rel=0.001)


def test_ink_of_a_cmyk_tiff_with_opacity(tmp_path: Path) -> None:
    tifffile = pytest.importorskip("tifffile")
    inks = planes(400, 500)
    alpha = np.rint(255 * cover(disc(250, 200, 170), 500, 400)).astype(np.uint8)
    path = tmp_path / "art.tif"
    samples = np.dstack([inks, alpha])
    tifffile.imwrite(path, samples, photometric="separated", extrasamples=["unassalpha"])
    expected = (inks / 255.0 * (alpha / 255.0)[..., None]).sum(axis=(0, 1)) * MM2
    assert inks_of(measured(path)) == pytest.approx(expected, rel=0.001)


def test_most_ink_of_a_cmyk_tiff(tmp_path: Path) -> None:
    inks = np.zeros((500, 500, 4), np.uint8)
    inks[...] = (26, 51, 77, 0)  # 60.4 %
    inks[100:300, 100:300] = (230, 204, 179, 204)  # 320.4 %
    path = tmp_path / "art.tif"
    Image.fromarray(inks, "CMYK").save(path)
    assert measured(path).total_percent_max == pytest.approx(100 * (230 + 204 + 179 + 204) / 255, abs=0.1)
    expected = 100 * inks.sum() / 255 / inks[..., 0].size
    assert measured(path).total_percent_mean == pytest.approx(expected, rel=0.001)


# ---- through the profile ----------------------------------------------------------------------------------------


def every_pixel(rgba: np.ndarray) -> np.ndarray:
    """Ink of all pixels through LittleCMS without its shortcuts, weighted with opacity; mm² at 100 %, shape (4,)."""
    settings = Shop.default().separation
    flags = ImageCms.Flags.NOOPTIMIZE | ImageCms.Flags.NOCACHE | ImageCms.Flags.HIGHRESPRECALC
    if settings.black_point:
        flags |= ImageCms.Flags.BLACKPOINTCOMPENSATION
    assert settings.intent == "relative"
    convert = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"),
        ImageCms.ImageCmsProfile(BytesIO(reference_profile())),
        "RGB",
        "CMYK",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        flags,
    )
    inks = np.asarray(convert.apply(Image.fromarray(np.ascontiguousarray(rgba[..., :3]), "RGB")), np.float64)
    return (inks / 255 * (rgba[..., 3:] / 255.0)).sum(axis=(0, 1)) * MM2


def poster() -> np.ndarray:
    """Flat art on film: a disc, a star on it and a line of text, rims smooth."""
    side = 700
    page = over(plain((238, 190, 30), side, side), cover(star(350, 320, 5, 36, 200), side, side), (200, 30, 60))
    words = lettering("Whale & Otter", 18, PPI, fine=4)
    page[500 : 500 + len(words), 180 : 180 + words.shape[1]] = over(
        page[500 : 500 + len(words), 180 : 180 + words.shape[1]], words, (20, 20, 30)
    )
    return np.dstack([page, np.rint(255 * cover(disc(350, 350, 330), side, side)).astype(np.uint8)])


def cut_out() -> np.ndarray:
    alpha = np.rint(255 * cover(disc(256, 256, 220), 512, 512)).astype(np.uint8)
    return np.dstack([photo("astronaut.png"), alpha])


ARTS = {
    "photograph": lambda: solid(photo("astronaut.png")),
    "dark photograph": lambda: solid(photo("hubble_deep_field.jpg")),
    "enlarged photograph": lambda: solid(enlarged(photo("coffee.png"), 2)),
    "lossy photograph": lambda: solid(through_jpeg(photo("motorcycle_left.png"), 70)),
    "cut-out photograph": cut_out,
    "poster": poster,
    "one colour": lambda: film(cover(disc(250.3, 250.6, 200), 500, 500), INK),
    "small lettering": lambda: film(lettering("Whale & Otter, est. 1987", 9, PPI, fine=4), (150, 20, 40)),
}


@pytest.mark.parametrize("name", ARTS)
def test_ink_of_an_rgb_file_is_littlecms_over_all_pixels(tmp_path: Path, name: str) -> None:
    art = ARTS[name]()
    path = tmp_path / "art.png"
    Image.fromarray(art).save(path)
    found, expected = inks_of(measured(path)), every_pixel(art)
    assert found.sum() == pytest.approx(expected.sum(), rel=0.01)
    # each channel too, where it makes up a tenth of the ink
    for channel, one in enumerate(expected):
        if one > 0.1 * expected.sum():
            assert found[channel] == pytest.approx(one, rel=0.01), NAMES[channel]
        else:
            assert abs(found[channel] - one) < 0.002 * expected.sum(), NAMES[channel]


def test_the_reference_tells_shortcuts_from_the_exact_path() -> None:
    # LittleCMS' own resampled tables are up to 11 of 255 off: the reference must not be built with them
    colours = np.random.default_rng(7).integers(0, 256, (64, 64, 3), dtype=np.uint8)
    profile = ImageCms.ImageCmsProfile(BytesIO(reference_profile()))
    short = ImageCms.buildTransform(ImageCms.createProfile("sRGB"), profile, "RGB", "CMYK", renderingIntent=1)
    quick = np.asarray(short.apply(Image.fromarray(colours, "RGB")), np.float64).sum(axis=(0, 1)) / 255 * MM2
    exact = every_pixel(solid(colours))
    assert np.abs(quick - exact).max() > 1e-3 * exact.sum()
