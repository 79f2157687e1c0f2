"""A file's own colours as sRGB, through profiles made here whose truth is known."""

import struct

import numpy as np
import pytest
from PIL import ImageCms

from preflight.intake.colour import ProfileError, cmyk_to_srgb, open_profile, reference_profile, to_srgb
from preflight.model import Bytes

#: sRGB's primaries under D50 (IEC 61966-2-1 adapted by Bradford, as ICC profiles of sRGB carry them).
RED, GREEN, BLUE = (0.4361, 0.2225, 0.0139), (0.3851, 0.7169, 0.0971), (0.1431, 0.0606, 0.7141)
COLOURS = np.random.default_rng(1).integers(0, 256, (500, 3), dtype=np.uint8)


def fixed(*numbers: float) -> bytes:
    return b"".join(struct.pack(">i", round(number * 65536)) for number in numbers)


def profile(space: bytes, tags: dict[bytes, bytes]) -> bytes:
    """An ICC monitor profile of version 2 (ICC.1:2001-04, clause 6)."""
    tags = {b"desc": text(b"test"), b"cprt": b"text\0\0\0\0none\0", b"wtpt": xyz(0.9642, 1, 0.8249)} | tags
    offset, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for name, block in tags.items():
        table += name + struct.pack(">II", offset + len(body), len(block))
        body += block + b"\0" * (-len(block) % 4)
    size = offset + len(body)
    head = struct.pack(">I4xI4s4s4s12x4s", size, 0x02100000, b"mntr", space, b"XYZ ", b"acsp")
    head = head.ljust(68, b"\0") + fixed(0.9642, 1, 0.8249)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def text(words: bytes) -> bytes:
    return b"desc\0\0\0\0" + struct.pack(">I", len(words) + 1) + words + b"\0" + b"\0" * 78


def xyz(*numbers: float) -> bytes:
    return b"XYZ \0\0\0\0" + fixed(*numbers)


def gamma(exponent: float) -> bytes:
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(exponent * 256))


def rgb_profile(red: tuple[float, ...], green: tuple[float, ...], blue: tuple[float, ...], exponent: float) -> bytes:
    curves = {name: gamma(exponent) for name in (b"rTRC", b"gTRC", b"bTRC")}
    return profile(b"RGB ", {b"rXYZ": xyz(*red), b"gXYZ": xyz(*green), b"bXYZ": xyz(*blue)} | curves)


def encoded(linear: np.ndarray) -> np.ndarray:
    """The curve of sRGB (IEC 61966-2-1), 0…255."""
    return 255 * np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def same(found: Bytes, expected: np.ndarray, steps: float) -> bool:
    return bool(np.abs(found - expected).max() <= steps)


def test_no_profile_and_srgb_leave_the_colours_alone() -> None:
    assert to_srgb(None)(COLOURS) is COLOURS
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert np.array_equal(to_srgb(srgb)(COLOURS), COLOURS)


def test_linear_light_becomes_srgb() -> None:
    found = to_srgb(rgb_profile(RED, GREEN, BLUE, 1.0))(COLOURS)
    assert found.dtype == np.uint8
    assert same(found, encoded(COLOURS / 255), 1.6)  # primaries rounded to four decimals


def test_exchanged_primaries_exchange_the_channels() -> None:
    straight, exchanged = (to_srgb(rgb_profile(*each, 2.2)) for each in ((RED, GREEN, BLUE), (GREEN, RED, BLUE)))
    assert same(exchanged(COLOURS), straight(COLOURS[:, [1, 0, 2]]).astype(float), 1)


def test_grey_has_a_profile_of_its_own() -> None:
    grey = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    found = to_srgb(profile(b"GRAY", {b"kTRC": gamma(1.0)}))(grey)
    assert same(found, encoded(grey / 255), 1.6)


def test_inks_become_srgb() -> None:
    inks = np.array([[0, 0, 0, 0], [0, 0, 0, 255], [255, 0, 0, 0], [0, 255, 255, 0]], np.uint8)
    white, black, cyan, red = cmyk_to_srgb(None)(inks).astype(int)
    assert list(white) == [255, 255, 255]
    assert black.max() < 70
    assert cyan[0] < 60 < 140 < cyan[1] < cyan[2]
    assert red[0] > 180 > 80 > red[1:].max()
    assert np.array_equal(cmyk_to_srgb(reference_profile())(inks), cmyk_to_srgb(None)(inks))


def test_no_colours() -> None:
    assert cmyk_to_srgb(None)(np.zeros((0, 4), np.uint8)).shape == (0, 3)
    assert to_srgb(rgb_profile(RED, GREEN, BLUE, 1.0))(np.zeros((0, 3), np.uint8)).shape == (0, 3)


def test_profiles_that_do_not_fit() -> None:
    with pytest.raises(ProfileError, match="for CMYK, not for RGB"):
        to_srgb(reference_profile())
    with pytest.raises(ProfileError, match="for RGB, not for CMYK"):
        cmyk_to_srgb(rgb_profile(RED, GREEN, BLUE, 1.0))
    with pytest.raises(ProfileError, match="no ICC profile"):
        to_srgb(b"nothing")
    with pytest.raises(ProfileError, match="lacks the tables"):
        to_srgb(profile(b"RGB ", {}))
    assert open_profile(rgb_profile(RED, GREEN, BLUE, 2.2)).profile.xcolor_space.strip() == "RGB"
