"""HEIC and AVIF: size from the head, turned as viewers show them, damaged ones refused in words.

The HEIC files below were encoded from a picture of three flat colours that this project made (64 × 48 px: red, its
upper right quarter blue; in the second the lower left quarter is clear). AVIF files are written here.
"""

from __future__ import annotations

import base64
import io
import struct

import numpy as np
import pytest
from PIL import Image, ImageCms, features

from preflight.errors import IntakeError
from preflight.intake import heif
from preflight.intake.heif import open_avif, open_heic

LIMIT = 10**7
PLAIN = base64.b64decode(
    "AAAAHGZ0eXBoZWljAAAAAG1pZjFoZWljbWlhZgAAAa1tZXRhAAAAAAAAACFoZGxyAAAAAAAAAABwaWN0AAAAAAAAAAAAAAAAAAAAAA5waXRtAA"
    "AAAAACAAAAEGlkYXQAAAAAAEAAMAAAADhpbG9jAQAAAERAAAIAAQAAAAAAAAHRAAEAAAAAAAAAaQACAAEAAAAAAAAAAQAAAAAAAAAIAAAAOGlp"
    "bmYAAAAAAAIAAAAVaW5mZQIAAAEAAQAAaHZjMQAAAAAVaW5mZQIAAAAAAgAAZ3JpZAAAAADYaXBycAAAALZpcGNvAAAAdmh2Y0MBA3AAAAAAAA"
    "AAAAAe8AD8/fj4AAAPAyAAAQAYQAEMAf//A3AAAAMAkAAAAwAAAwAeugJAIQABACpCAQEDcAAAAwCQAAADAAADAB6gIIEFlurkprm4EBAwIAAA"
    "AwAgAAADACEiAAEABkQBwXPAiQAAABRpc3BlAAAAAAAAAEAAAABAAAAAFGlzcGUAAAAAAAAAQAAAADAAAAAQcGl4aQAAAAADCAgIAAAAGmlwbW"
    "EAAAAAAAAAAgABAoECAAICA4QAAAAaaXJlZgAAAAAAAAAOZGltZwACAAEAAQAAAHFtZGF0AAAAZSgBrwT4cWTTt/+TD///+V67sv8mGSszwfxq"
    "tpf4etf/9CjMw/D36N8HxH/yLCrnftMW2y/3Q+I7ReUZVdrC78tc88GqMz+9KNlU4UkIMSHFBa2rInx8sT2tn3CSHmYY+vXky0nw"
)
CLEAR = base64.b64decode(
    "AAAAHGZ0eXBoZWljAAAAAG1pZjFoZWljbWlhZgAAAvxtZXRhAAAAAAAAACFoZGxyAAAAAAAAAABwaWN0AAAAAAAAAAAAAAAAAAAAAA5waXRtAA"
    "AAAAACAAAAGGlkYXQAAAAAAEAAMAAAAAAAQAAwAAAAYGlsb2MBAAAAREAABAABAAAAAAAAAyAAAQAAAAAAAADqAAIAAQAAAAAAAAABAAAAAAAA"
    "AAgAAwAAAAAAAAQKAAEAAAAAAAAA0AAEAAEAAAAAAAAAAQAAAAgAAAAIAAAAYmlpbmYAAAAAAAQAAAAVaW5mZQIAAAEAAQAAaHZjMQAAAAAVaW"
    "5mZQIAAAAAAgAAZ3JpZAAAAAAVaW5mZQIAAAEAAwAAaHZjMQAAAAAVaW5mZQIAAAAABAAAZ3JpZAAAAAGxaXBycAAAAYRpcGNvAAAAdmh2Y0MB"
    "A3AAAAAAAAAAAAAe8AD8/fj4AAAPAyAAAQAYQAEMAf//A3AAAAMAkAAAAwAAAwAeugJAIQABACpCAQEDcAAAAwCQAAADAAADAB6gIIEFlurkpr"
    "m4EBAwIAAAAwAgAAADACEiAAEABkQBwXPAiQAAABRpc3BlAAAAAAAAAEAAAABAAAAAFGlzcGUAAAAAAAAAQAAAADAAAAAQcGl4aQAAAAADCAgI"
    "AAAAcWh2Y0MBBAgAAAAAAAAAAAAe8AD8/Pj4AAAPAyAAAQAXQAEMAf//BAgAAAMAn/gAAAMAAB66AkAhAAEAJkIBAQQIAAADAJ/4AAADAAAewI"
    "IEFlurkprmwIAAAAMAgAAAAwCEIgABAAZEAcFzwIkAAAAUaXNwZQAAAAAAAABAAAAAQAAAABRpc3BlAAAAAAAAAEAAAAAwAAAADnBpeGkAAAAA"
    "AQgAAAAnYXV4QwAAAAB1cm46bXBlZzpoZXZjOjIwMTU6YXV4aWQ6MQAAAAAlaXBtYQAAAAAAAAAEAAECgQIAAgIDhAADAoUGAAQDB4iJAAAANm"
    "lyZWYAAAAAAAAADmRpbWcAAgABAAEAAAAOZGltZwAEAAEAAwAAAA5hdXhsAAQAAQACAAABwm1kYXQAAADmKAGvBPjteXT9b/2h///9aI9l+3Po"
    "W3G0tOxxx96vVH/uEf//Drn9QY/SKTwIZ4DOabFe9dARJgYyHIs6wfuq2qhdG/5mPo34RV3/5G9vypBW5l+3V//1QOse/ATmvNx6/17L5+kI7g"
    "B07gjCOvzSaZoCj7WmbxrVcdXqpwnQKNoWxyUfI5iTF1AR67xFDs0xp3nzIZx/vsXckHx53orzVw9cUcvGoHu7O9koxTduMij/+hyHd7XnclAZ"
    "bzGcbg0d/f+r16FxgSMURD0J7p+HhkLyzOqWq0XXv8lVVjJ4XNttwe/+4TAAAADMKAGuCfDeWlcbT9BVOE7Ezgf5xKvIwX3/NHwETcmaoWU9pX"
    "KwZ/jwk+nv2wjCkn7gWOfsA9qNooplOQiMk+6civ6vzfoF1WbXYhY4hVMhxsTSBSngOtfhz0p7xxhXVnarzOfEMIdZq4h3dn/cmBxuGZ558MK9"
    "mvRgGj8ucVCwpKdSQ7EyrzYMxKIt0Bn76BBjxW4mM8mFDwAPR1NwZ1dzg/9MN7ZBF5q1Rln53CvnP0d0dlCH+zrcb8bQN/JVtotZoq3pioeSrL"
    "3DnjrA"
)
RED, BLUE = (255, 0, 0, 255), (0, 0, 255, 255)

needs_avif = pytest.mark.skipif(not features.check("avif"), reason="this Pillow was built without AVIF")


def whole(page) -> np.ndarray:
    strips = list(page.strips())
    assert all(strip.y % 256 == 0 for strip in strips)
    rgba = np.concatenate([strip.rgba for strip in strips])
    assert rgba.shape == (page.facts.height, page.facts.width, 4)
    return rgba


def close(found, expected):
    np.testing.assert_allclose(found.astype(int), expected, atol=12)  # both formats lose a little


def heic(data, save):
    pytest.importorskip("pi_heif", reason="the library for HEIC is not installed")
    return open_heic(save(data, "art.heic"), pixel_limit=LIMIT)[0]


def avif(picture, save, **options):
    return open_avif(save(picture, "art.avif", **options), pixel_limit=LIMIT)[0]


def test_heic(save):
    page = heic(PLAIN, save)
    facts = page.facts
    assert (facts.format, facts.width, facts.height, facts.colour, facts.bits) == ("HEIC", 64, 48, "rgb", 8)
    assert (facts.has_alpha, facts.frames, facts.density_ppi, page.name, page.page) == (False, 1, None, "art.heic", 1)
    rgba = whole(page)
    close(rgba[10, 10], RED)
    close(rgba[10, 50], BLUE)
    assert (rgba[..., 3] == 255).all()
    np.testing.assert_array_equal(rgba, whole(page))  # each call decodes anew


def test_heic_with_transparency(save):
    page = heic(CLEAR, save)
    assert page.facts.has_alpha
    rgba = whole(page)
    close(rgba[10, 50], BLUE)
    assert rgba[40, 10, 3] < 12
    assert rgba[40, 50, 3] > 243


@pytest.mark.parametrize("kept", [13, 100, 300, len(PLAIN) - 40])
def test_heic_cut_short(kept, save):
    with pytest.raises(IntakeError) as caught:
        whole(heic(PLAIN[:kept], save))
    assert caught.value.rule in ("cut-short", "unreadable-file")
    assert caught.value.next_step.endswith(".")


def test_heic_limit_comes_from_the_head(save):
    """The size box says 64 × 48; another number in it is enough to be refused, and nothing is decoded."""
    data = bytearray(PLAIN)
    for at in (at for at in range(len(data)) if data[at : at + 4] == b"ispe"):
        struct.pack_into(">II", data, at + 8, 30_000, 20_000)
    with pytest.raises(IntakeError) as caught:
        heic(bytes(data), save)
    assert "30000 × 20000 px, 600.0 megapixels; the limit for HEIC is 10.0 megapixels" in caught.value.what


def test_without_the_library_the_answer_says_what_to_send(save, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "pi_heif", None)
    with pytest.raises(IntakeError, match="not installed") as caught:
        open_heic(save(PLAIN, "art.heic"), pixel_limit=LIMIT)
    assert "JPEG or PNG" in caught.value.next_step


def test_a_missing_file_is_the_systems_error(tmp_path):
    for opener in (open_heic, open_avif):
        with pytest.raises(FileNotFoundError):
            opener(tmp_path / "gone", pixel_limit=LIMIT)


def test_premultiplied_colour_is_made_straight():
    samples = np.array([[[50, 25, 0, 128], [0, 0, 0, 0], [200, 100, 50, 255]]], np.uint8)
    straight = heif._straight(samples)
    np.testing.assert_array_equal(straight[0], [[100, 50, 0, 128], [0, 0, 0, 0], [200, 100, 50, 255]])


@needs_avif
def test_avif(colours, save):
    picture = Image.fromarray(colours)
    page = avif(picture, save, quality=100, subsampling="4:4:4")
    assert (page.facts.format, page.facts.width, page.facts.height) == ("AVIF", 53, 37)
    assert page.facts.has_alpha
    with Image.open(page.path) as opened:
        np.testing.assert_array_equal(whole(page), np.asarray(opened.convert("RGBA")))
    assert not avif(picture.convert("RGB"), save).facts.has_alpha


@needs_avif
def test_avif_density_and_profile(save):
    exif = Image.Exif()
    exif[282], exif[283], exif[296] = 300.0, 300.0, 2
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    facts = avif(Image.new("RGB", (20, 10)), save, exif=exif, icc_profile=icc).facts
    assert facts.density_ppi == (300, 300)
    assert (facts.density_from, facts.icc) == ("EXIF", icc)
    assert avif(Image.new("RGB", (20, 10)), save).facts.density_ppi is None


@needs_avif
@pytest.mark.parametrize("orientation", range(1, 9))
def test_avif_is_turned_as_viewers_show_it(orientation, save):
    """The same as Pillow's own turning by the tag that it gives."""
    from PIL import ImageOps

    picture = Image.new("RGB", (64, 48), (255, 0, 0))
    picture.paste((0, 0, 255), (32, 0, 64, 24))
    exif = Image.Exif()
    exif[274] = orientation
    page = avif(picture, save, exif=exif, quality=100)
    with Image.open(page.path) as opened:
        upright = ImageOps.exif_transpose(opened)
        assert upright.size == (page.facts.width, page.facts.height)
        np.testing.assert_array_equal(whole(page)[..., :3], np.asarray(upright.convert("RGB")))
    assert any("turned" in note for note in page.facts.notes) == (orientation != 1)


@needs_avif
def test_moving_avif_gives_its_first_picture_and_says_so(save):
    pictures = [Image.new("RGB", (32, 32), colour) for colour in ((255, 0, 0), (0, 0, 255))]
    page = avif(pictures[0], save, save_all=True, append_images=pictures[1:])
    close(whole(page)[5, 5], RED)
    assert page.facts.frames == 2
    assert "The file holds 2 pictures; only the first is checked." in page.facts.notes


@needs_avif
def test_avif_damaged(save):
    buffer = io.BytesIO()
    Image.effect_noise((200, 200), 80).convert("RGB").save(buffer, "AVIF", quality=90)
    data = buffer.getvalue()
    for kept in (20, 100, len(data) // 2):
        with pytest.raises(IntakeError):
            whole(open_avif(save(data[:kept], "art.avif"), pixel_limit=LIMIT)[0])


@needs_avif
def test_avif_limit(save):
    path = save(Image.new("RGB", (200, 100)), "art.avif")
    assert open_avif(path, pixel_limit=20_000)[0].facts.width == 200
    with pytest.raises(IntakeError, match="200 × 100 px"):
        open_avif(path, pixel_limit=19_999)


@needs_avif
def test_more_than_one_strip(save):
    page = avif(Image.linear_gradient("L").convert("RGB").resize((40, 600)), save)
    assert [strip.y for strip in page.strips()] == [0, 256, 512]
