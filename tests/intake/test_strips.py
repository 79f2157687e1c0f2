"""Strips: 256 rows each, from top to bottom, as often as asked; and the names that files come under."""

import os
import tempfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from preflight.errors import IntakeError
from preflight.intake import decode, open_artwork


def tall(height):
    y, x = np.mgrid[0:height, 0:7]
    return Image.fromarray(np.stack([y % 256, y // 256, x, 255 - x], -1).astype(np.uint8))


@pytest.mark.parametrize("height", [1, 255, 256, 257, 900])
@pytest.mark.parametrize("name", ["art.png", "art.tif", "art.webp", "art.bmp", "art.jpg"])
def test_rows_of_a_strip(name, height, save):
    mode = "RGBA" if name.endswith(("png", "tif", "webp")) else "RGB"
    strips = list(open_artwork(save(tall(height).convert(mode), name), pixel_limit=10**6).strips())
    assert [strip.y for strip in strips] == list(range(0, height, 256))
    assert [len(strip.rgba) for strip in strips] == [min(256, height - strip.y) for strip in strips]


def test_strips_can_be_taken_again_and_stay_as_they_were(save):
    artwork = open_artwork(save(tall(600), "art.png"), pixel_limit=10**6)
    kept = list(artwork.strips())
    copies = [strip.rgba.copy() for strip in kept]
    for strip, again, copy in zip(kept, artwork.strips(), copies, strict=True):
        np.testing.assert_array_equal(strip.rgba, copy)
        np.testing.assert_array_equal(again.rgba, copy)


@pytest.mark.parametrize("name", ["art.png", "art.tif", "art.webp", "art.gif", "art.bmp"])
def test_a_new_file_under_an_old_name_is_a_new_picture(name, save, read):
    """The decoder's library keeps what it read by name, unless told not to."""
    for colour in ((250, 0, 0), (0, 250, 0)):
        whole = read(save(Image.new("RGB", (20, 30), colour), name, lossless=True))
        assert (whole.rgba[..., :3] == colour).all()


def test_one_column_and_one_row(save, read):
    for size in ((1, 400), (400, 1), (1, 1)):
        for mode in ("RGB", "RGBA", "L", "LA", "CMYK"):
            name = "art.tif" if mode == "CMYK" else "art.png"
            whole = read(save(Image.new(mode, size, 77 if mode == "L" else (77,) * len(mode)), name))
            assert (whole.facts.width, whole.facts.height) == size


def test_nothing_is_decoded_on_opening(save):
    """Rows that cannot be unpacked do not matter yet."""
    path = save(tall(600), "art.png")
    data = bytearray(path.read_bytes())
    start = data.index(b"IDAT") + 6
    data[start : start + 20] = bytes(20)
    facts = open_artwork(save(bytes(data), "art.png"), pixel_limit=10**6).facts
    assert (facts.width, facts.height) == (7, 600)


NAMES = [
    "two words.png",
    "-rf.png",
    "--help.png",
    "100%.png",
    "art[page=1].png",
    "art[1].png",
    "süß 印刷 🎈.png",
    "a'b\"c$(d).png",
    "semi;colon&and.png",
    " lead and trail .png",
    ".png",
    "no ending",
    "new\nline.png",
    "tab\tbell\x07.png",
    "n" * 240 + ".png",
]


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_odd_names(name, tmp_path, read):
    path = tmp_path / name
    try:
        tall(300).save(path, "PNG")
    except OSError:
        pytest.skip("this system has no such names")
    np.testing.assert_array_equal(read(path).rgba, np.asarray(tall(300)))
    assert open_artwork(path, pixel_limit=10**6).name == name


def test_a_name_outside_utf8(tmp_path, read):
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.png"))
    try:
        tall(300).save(tmp_path / "plain.png")
        (tmp_path / "plain.png").rename(path)
    except OSError:
        pytest.skip("this system has no such names")
    np.testing.assert_array_equal(read(path).rgba, np.asarray(tall(300)))


def test_a_relative_name(tmp_path, monkeypatch, read):
    tall(300).save(tmp_path / "-art.png")
    monkeypatch.chdir(tmp_path)
    np.testing.assert_array_equal(read(Path("-art.png")).rgba, np.asarray(tall(300)))


# ---- a large interlaced picture is laid down in a file ---------------------------------------------------------------


@pytest.fixture
def laced(tmp_path):
    """A picture of 600 rows, interlaced, 8 or 16 bits; its path and its samples."""
    pyvips = pytest.importorskip("pyvips")

    def made(bits):
        samples = np.random.default_rng(3).integers(0, 256, (600, 40, 4), dtype=np.uint8)
        stored = samples if bits == 8 else samples.astype(np.uint16) * 257
        image = pyvips.Image.new_from_array(stored).copy(interpretation="srgb" if bits == 8 else "rgb16")
        path = tmp_path / "laced.png"
        image.pngsave(str(path), interlace=True, bitdepth=bits)
        return path, samples

    return made


@pytest.mark.parametrize("bits", [8, 16])
def test_rows_laid_down_in_a_file_are_the_decoders(bits, laced, monkeypatch):
    path, samples = laced(bits)
    used = []
    taken_up = decode._taken_up
    monkeypatch.setattr(decode, "_LAID_DOWN", 1000)
    monkeypatch.setattr(decode, "_taken_up", lambda *given: used.append(1) or taken_up(*given))
    strips = list(open_artwork(path, pixel_limit=10**6).strips())
    assert used == [1]
    assert [(strip.y, len(strip.rgba)) for strip in strips] == [(0, 256), (256, 256), (512, 88)]
    np.testing.assert_array_equal(np.concatenate([strip.rgba for strip in strips]), samples)


def test_where_there_is_no_room_for_the_file_rows_come_from_the_decoder(laced, monkeypatch):
    resource = pytest.importorskip("resource")
    path, samples = laced(8)
    monkeypatch.setattr(decode, "_LAID_DOWN", 1000)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (30_000, before[1]))
    try:
        strips = [strip.rgba.copy() for strip in open_artwork(path, pixel_limit=10**6).strips()]
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    np.testing.assert_array_equal(np.concatenate(strips), samples)


def test_where_no_file_can_be_made_rows_come_from_the_decoder(laced, monkeypatch, tmp_path):
    path, samples = laced(8)
    monkeypatch.setattr(decode, "_LAID_DOWN", 1000)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "not there"))
    strips = [strip.rgba for strip in open_artwork(path, pixel_limit=10**6).strips()]
    np.testing.assert_array_equal(np.concatenate(strips), samples)


def test_a_damaged_picture_is_refused_before_a_row_is_given(laced, monkeypatch):
    path, _ = laced(8)
    monkeypatch.setattr(decode, "_LAID_DOWN", 1000)
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 255
    path.write_bytes(data)
    with pytest.raises(IntakeError):
        next(iter(open_artwork(path, pixel_limit=10**6).strips()))
