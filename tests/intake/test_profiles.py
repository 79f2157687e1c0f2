"""Colour profiles: honoured where they fit, set aside with a sentence where they do not."""

import pytest
from PIL import Image, ImageCms

from preflight.intake.colour import reference_profile

SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


@pytest.mark.parametrize("name", ["art.png", "art.jpg", "art.tif", "art.webp"])
def test_it_comes_out_as_it_went_in(name, save, read):
    whole = read(save(Image.new("RGB", (20, 10)), name, icc_profile=SRGB))
    assert whole.facts.icc == SRGB
    assert whole.facts.icc_name == "sRGB built-in"
    assert whole.facts.notes == ()


@pytest.mark.parametrize("name", ["art.jpg", "art.tif"])
def test_a_large_profile_for_inks(name, save, read):
    """More than one JPEG segment holds (ICC.1, annex B.4: 64 KB each)."""
    profile = reference_profile()
    assert len(profile) > 3 * 65536
    whole = read(save(Image.new("CMYK", (20, 10)), name, icc_profile=profile))
    assert whole.facts.icc == profile
    assert whole.facts.icc_name
    assert whole.facts.notes == ()


@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_none_is_assumed_to_be_srgb_and_said(mode, save, read):
    for name in ("art.png", "art.jpg", "art.tif", "art.bmp"):
        facts = read(save(Image.new(mode, (20, 10)), name)).facts
        assert facts.icc is None
        assert facts.icc_name is None
        assert facts.notes == ("The file has no colour profile; sRGB is assumed.",)


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_one_for_other_colours_is_set_aside(mode, save, read):
    facts = read(save(Image.new(mode, (20, 10)), "art.tif", icc_profile=SRGB)).facts
    assert facts.icc is None
    assert len(facts.notes) == 1
    assert "for other colours than the file holds" in facts.notes[0]
    assert ("sRGB is assumed" in facts.notes[0]) == (mode == "L")


@pytest.mark.parametrize(
    "broken", [b"x" * 400, SRGB[:200], SRGB[:128] + b"\xff" * 400, b""], ids=["text", "cut", "table", "empty"]
)
def test_one_that_cannot_be_read_is_set_aside(broken, save, read):
    broken = broken[:16] + b"RGB " + broken[20:] if len(broken) > 128 else broken
    facts = read(save(Image.new("RGB", (20, 10)), "art.tif", tiffinfo={34675: broken})).facts
    assert facts.icc is None
    assert facts.notes == ("The file's colour profile cannot be read; sRGB is assumed.",)


def test_a_name_from_inside_a_file_is_one_short_line_of_text(save, read):
    at = SRGB.index("sRGB built-in".encode("utf-16-be"))
    odd = SRGB[:at] + "sRGB\n\x07uilt-in".encode("utf-16-be") + SRGB[at + 26 :]
    facts = read(save(Image.new("RGB", (20, 10)), "art.png", icc_profile=odd)).facts
    assert facts.icc_name == "sRGB uilt-in"


def test_pixels_are_handed_on_in_the_files_own_colours(save, read):
    """The profile travels beside them; nothing is converted here."""
    picture = Image.new("RGB", (20, 10), (17, 99, 200))
    assert (read(save(picture, "art.png", icc_profile=SRGB)).rgba == (17, 99, 200, 255)).all()
