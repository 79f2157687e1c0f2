"""JPEG: colours, and which way round inks are stored."""

import io
import struct

import numpy as np
import pytest
from PIL import Image

from preflight.errors import IntakeError

INKS = (200, 30, 60, 10)


def encoded(picture, **options):
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", **{"quality": 100, "subsampling": 0, **options})
    return buffer.getvalue()


def segments(data):
    """(marker, whole segment) up to and with the start of the scan."""
    at = 2
    while True:
        length = struct.unpack(">H", data[at + 2 : at + 4])[0]
        yield data[at + 1], data[at : at + 2 + length]
        at += 2 + length
        if data[at - length - 1] == 0xDA:
            yield None, data[at:]
            return


def without(data, marker):
    return data[:2] + b"".join(segment for kind, segment in segments(data) if kind != marker)


def flat(inks):
    picture = np.empty((32, 24, 4), np.uint8)
    picture[:] = inks
    return Image.fromarray(picture, "CMYK")


@pytest.fixture
def photo():
    y, x = np.mgrid[0:300, 0:401]
    return Image.fromarray(np.stack([x * 255 // 400, y * 255 // 299, (x + y) % 256 // 4], -1).astype(np.uint8))


@pytest.mark.parametrize(
    "options", [{}, {"progressive": True}, {"subsampling": 2, "quality": 80}, {"restart_marker_blocks": 3}]
)
@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_same_as_pillow(mode, options, photo, save, read):
    data = encoded(photo.convert(mode), **options)
    whole = read(save(data, "art.jpg"))
    expected = np.asarray(Image.open(io.BytesIO(data)).convert("RGBA")).astype(int)
    assert np.abs(whole.rgba - expected).max() <= 2  # builds of the decoder may round differently
    assert whole.facts.colour == ("rgb" if mode == "RGB" else "grey")
    assert not whole.facts.has_alpha
    assert whole.facts.interlaced == ("progressive" in options)


def test_inks_with_the_marker_are_stored_the_other_way_round(save, read):
    data = encoded(flat(INKS))
    assert any(kind == 0xEE and b"Adobe" in segment for kind, segment in segments(data))
    whole = read(save(data, "art.jpg"))
    assert np.abs(whole.inks.astype(int) - INKS).max() <= 1
    assert whole.facts.notes == ("The file has no colour profile; its inks are taken as they stand.",)


def test_inks_without_the_marker_are_stored_as_the_standard_has_it(save, read):
    """ISO/IEC 10918-6 (from memory): without APP14, 0 is no ink. Pillow writes 255 − ink, hence the complement."""
    stored = [255 - ink for ink in INKS]
    data = without(encoded(flat(stored)), 0xEE)
    assert b"Adobe" not in data
    whole = read(save(data, "art.jpg"))
    assert np.abs(whole.inks.astype(int) - INKS).max() <= 1
    assert [note for note in whole.facts.notes if "which way round" in note]


def test_inks_coded_as_ycck(save, read):
    """Adobe's transform 2: YCbCr of the inks as they stand after the inversion, black by itself."""
    inks = np.empty((32, 24, 3), np.uint8)
    inks[:] = INKS[:3]
    ycc = np.asarray(Image.fromarray(inks).convert("YCbCr"))
    planes = np.concatenate([255 - ycc, np.full((32, 24, 1), INKS[3], np.uint8)], -1)
    data = bytearray(encoded(Image.fromarray(planes, "CMYK")))
    place = data.index(b"Adobe") + 11
    assert data[place] == 0
    data[place] = 2
    whole = read(save(bytes(data), "art.jpg"))
    assert np.abs(whole.inks.astype(int) - INKS).max() <= 3


def test_shapes_of_a_cmyk_file_show_as_light(save, read):
    c, m, y, k = INKS
    whole = read(save(encoded(flat(INKS)), "art.jpg"))
    expected = [round((255 - ink) * (255 - k) / 255) for ink in (c, m, y)]
    assert np.abs(whole.rgba[..., :3].astype(int) - expected).max() <= 1
    assert (whole.rgba[..., 3] == 255).all()


def test_colours_without_transform_are_not_turned(save, read):
    """APP14 with transform 0 on three channels is plain RGB (libjpeg; ISO/IEC 10918-6 from memory)."""
    rgb = Image.new("RGB", (16, 16), (250, 10, 90))
    data = encoded(rgb, keep_rgb=True)
    assert np.abs(read(save(data, "art.jpg")).rgba[..., :3].astype(int) - (250, 10, 90)).max() <= 1


def test_two_channels_are_refused(photo, save, read):
    data = bytearray(encoded(photo))
    place = data.index(b"\xff\xc0") + 9
    assert data[place] == 3
    data[place] = 2
    with pytest.raises(IntakeError, match="2 colour channels"):
        read(save(bytes(data), "art.jpg"))


def test_a_gap_in_the_middle_is_no_whole_picture(photo, save, read):
    """The decoder fills what is missing with grey and says so only in its log."""
    data = encoded(photo)
    middle = len(data) // 2
    with pytest.raises(IntakeError):
        read(save(data[:middle] + data[middle + 900 :], "art.jpg"))


def test_an_end_put_on_a_cut_file_does_not_make_it_whole(photo, save, read):
    data = encoded(photo)
    with pytest.raises(IntakeError) as caught:
        read(save(data[: len(data) // 2] + b"\xff\xd9", "art.jpg"))
    assert caught.value.rule == "cut-short"


def test_endless_markers_are_given_up(save, read):
    with pytest.raises(IntakeError, match="do not hold together"):
        read(save(b"\xff\xd8\xff\xe0\x00\x02" + b"\xff\x02" * 200_000, "art.jpg"))
