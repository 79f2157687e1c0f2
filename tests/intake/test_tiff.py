"""TIFF: the sample layouts of TIFF 6.0, against the samples that were written."""

import io
import struct

import numpy as np
import pytest
import tifffile
from PIL import Image, TiffImagePlugin

from preflight.errors import IntakeError

RNG = np.random.default_rng(7)


def noise(channels, kind=np.uint8, rows=300, width=41):
    return RNG.integers(0, np.iinfo(kind).max + 1, (rows, width, channels), dtype=kind)


def rounded(values):
    return ((values.astype(np.int64) * 255 * 2 + 65535) // (2 * 65535)).astype(np.uint8)


@pytest.fixture
def tiff(tmp_path):
    def written(samples, **options):
        path = tmp_path / "art.tif"
        if options.get("planarconfig") == "separate":
            samples = np.ascontiguousarray(samples.transpose(2, 0, 1))
        elif samples.shape[2] == 1:
            samples = samples[..., 0]
        tifffile.imwrite(path, samples, **options)
        return path

    return written


LAYOUTS = [
    {},
    {"rowsperstrip": 7},
    {"rowsperstrip": 100_000},
    {"compression": "zlib", "rowsperstrip": 10},
    {"compression": "zlib", "predictor": True},
    {"tile": (32, 16)},
    {"planarconfig": "separate"},
    {"byteorder": ">"},
    {"bigtiff": True},
]


@pytest.mark.parametrize("layout", LAYOUTS, ids=str)
@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_rgb_in_every_layout(layout, kind, tiff, read):
    samples = noise(3, kind)
    whole = read(tiff(samples, photometric="rgb", **layout))
    np.testing.assert_array_equal(whole.rgba[..., :3], samples if kind is np.uint8 else rounded(samples))
    assert whole.facts.bits == np.iinfo(kind).bits
    assert whole.facts.colour == "rgb"


@pytest.mark.parametrize("layout", [{}, {"planarconfig": "separate"}, {"compression": "zlib"}], ids=str)
def test_inks_as_they_stand(layout, tiff, read):
    samples = noise(4)
    whole = read(tiff(samples, photometric="separated", **layout))
    np.testing.assert_array_equal(whole.inks, samples)
    light = 255 - samples.astype(float)
    np.testing.assert_array_equal(whole.rgba[..., :3], np.floor(light[..., :3] * light[..., 3:] / 255 + 0.5))
    assert whole.facts.colour == "cmyk"


def test_sixteen_bit_inks(tiff, read):
    samples = noise(4, np.uint16)
    np.testing.assert_array_equal(read(tiff(samples, photometric="separated")).inks, rounded(samples))


def test_inks_with_transparency(tiff, read):
    samples = noise(5)
    whole = read(tiff(samples, photometric="separated", extrasamples=["unassalpha"]))
    np.testing.assert_array_equal(whole.inks, samples[..., :4])
    np.testing.assert_array_equal(whole.rgba[..., 3], samples[..., 4])
    assert whole.facts.has_alpha


@pytest.mark.parametrize(("photometric", "turned"), [("minisblack", False), ("miniswhite", True)])
@pytest.mark.parametrize("kind", [np.uint8, np.uint16, np.bool_])
def test_grey_whichever_end_is_white(photometric, turned, kind, tiff, read):
    samples = noise(1) > 127 if kind is np.bool_ else noise(1, kind)
    whole = read(tiff(samples, photometric=photometric))
    grey = rounded(samples) if kind is np.uint16 else samples * np.uint8(255) if kind is np.bool_ else samples
    np.testing.assert_array_equal(whole.rgba[..., :3], np.broadcast_to(255 - grey if turned else grey, (300, 41, 3)))
    assert whole.facts.colour == "grey"
    assert whole.facts.bits == (1 if kind is np.bool_ else np.iinfo(kind).bits)


def test_palette(tiff, read):
    table = RNG.integers(0, 256, (3, 256)).astype(np.uint16) * 257
    samples = noise(1)
    whole = read(tiff(samples, photometric="palette", colormap=table))
    np.testing.assert_array_equal(whole.rgba[..., :3], (table // 257).T[samples[..., 0]])


@pytest.mark.parametrize("channels", [2, 4])
def test_straight_transparency(channels, tiff, read):
    samples = noise(channels)
    kind = "rgb" if channels == 4 else "minisblack"
    whole = read(tiff(samples, photometric=kind, planarconfig="contig", extrasamples=["unassalpha"]))
    np.testing.assert_array_equal(whole.rgba[..., 3], samples[..., -1])
    np.testing.assert_array_equal(whole.rgba[..., 0], samples[..., 0])


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_premultiplied_transparency_is_divided_out(kind, tiff, read):
    full = np.iinfo(kind).max
    straight = noise(4, kind)
    stored = straight.copy()
    alpha = straight[..., 3:].astype(np.int64)
    stored[..., :3] = straight[..., :3] * alpha // full
    whole = read(tiff(stored, photometric="rgb", extrasamples=["assocalpha"]))
    firm = alpha[..., 0] > full * 0.9  # under low alpha few levels are left in the file itself
    wanted = straight if kind is np.uint8 else rounded(straight)
    assert np.abs(whole.rgba[firm].astype(int) - wanted[firm]).max() <= 2
    np.testing.assert_array_equal(whole.rgba[..., 3], wanted[..., 3])
    clear = alpha[..., 0] == 0
    assert (whole.rgba[clear][:, :3] == 0).all()


def test_a_channel_that_is_no_transparency_is_left_out_and_said(tiff, read):
    samples = noise(4)
    whole = read(tiff(samples, photometric="rgb", extrasamples=["unspecified"]))
    assert not whole.facts.has_alpha
    np.testing.assert_array_equal(whole.rgba[..., :3], samples[..., :3])
    assert [note for note in whole.facts.notes if note.startswith("The file holds 1 channel beyond its colours")]


def test_spot_inks_are_left_out_and_said(tiff, read):
    samples = noise(7)
    kinds = ["unspecified", "unassalpha", "unspecified"]
    whole = read(tiff(samples, photometric="separated", extrasamples=kinds))
    np.testing.assert_array_equal(whole.inks, samples[..., :4])
    np.testing.assert_array_equal(whole.rgba[..., 3], samples[..., 5])
    assert [note for note in whole.facts.notes if note.startswith("The file holds 2 channels beyond its colours")]


def test_a_fourth_channel_without_a_name_is_taken_as_transparency_and_said(tmp_path, read):
    samples = noise(4)
    picture = Image.fromarray(samples)
    path = tmp_path / "art.tif"
    picture.save(path, tiffinfo={258: (8, 8, 8, 8)})
    data = bytearray(path.read_bytes())
    place = data.index(struct.pack("<HHI", 338, 3, 1))  # ExtraSamples: rename the tag
    data[place : place + 2] = struct.pack("<H", 339)
    data[place + 8 : place + 10] = struct.pack("<H", 1)
    path.write_bytes(bytes(data))
    whole = read(path)
    np.testing.assert_array_equal(whole.rgba, samples)
    assert "The file does not say what its last channel is; it is taken as transparency." in whole.facts.notes


@pytest.mark.parametrize(
    "compression", [None, "tiff_lzw", "tiff_adobe_deflate", "packbits", "tiff_ccitt", "group3", "group4"]
)
def test_compressions_without_loss(compression, colours, save, read):
    picture = Image.fromarray(colours)
    picture = picture.convert("1") if compression in ("tiff_ccitt", "group3", "group4") else picture
    whole = read(save(picture, "art.tif", compression=compression))
    np.testing.assert_array_equal(whole.rgba, np.asarray(picture.convert("RGBA")))


@pytest.mark.parametrize("mode", ["RGB", "L", "CMYK"])
def test_jpeg_inside(mode, save, read):
    picture = Image.new(mode, (64, 48), {"RGB": (200, 30, 60), "L": 90, "CMYK": (200, 30, 60, 10)}[mode])
    whole = read(save(picture, "art.tif", compression="jpeg", quality=100))
    seen = whole.inks if mode == "CMYK" else whole.rgba
    wanted = np.asarray(picture if mode == "CMYK" else picture.convert("RGBA"))
    assert np.abs(seen.astype(int) - wanted).max() <= 2


def test_one_strip_larger_than_the_decoders_own_limit(tmp_path, read, monkeypatch):
    """The decoder takes 50 MB at once by default; PackBits in one strip needs all rows at once."""
    monkeypatch.setattr(TiffImagePlugin, "STRIP_SIZE", 1 << 30)
    path = tmp_path / "art.tif"
    picture = Image.new("RGBA", (3508, 4200), (1, 2, 3, 4))
    picture.save(path, compression="packbits")
    with Image.open(path) as check:
        assert len(check.tag_v2[273]) == 1
    assert (read(path).rgba == (1, 2, 3, 4)).all()


def test_pages_and_smaller_copies(tmp_path, read):
    path = tmp_path / "art.tif"
    first, second = noise(3), noise(3)
    with tifffile.TiffWriter(path) as writer:
        writer.write(first, photometric="rgb")
        writer.write(second, photometric="rgb")
        writer.write(first[::2, ::2], photometric="rgb", subfiletype=1)
    whole = read(path)
    np.testing.assert_array_equal(whole.rgba[..., :3], first)
    assert whole.facts.frames == 2
    assert "The file holds 2 pages; only the first is checked." in whole.facts.notes


def test_floating_point_is_turned_into_srgb(tiff, read):
    """Linear light to the sRGB curve (IEC 61966-2-1): 0.5 shows as 188, 0.2140 as 127 or 128."""
    samples = np.zeros((4, 3, 3), np.float32)
    samples[0], samples[1], samples[2], samples[3] = 0.5, 0.2140, 1.0, 2.5
    whole = read(tiff(samples, photometric="rgb"))
    assert np.abs(whole.rgba[:, 0, 0].astype(int) - (188, 127, 255, 255)).max() <= 1
    assert [note for note in whole.facts.notes if "floating-point" in note]
    assert not [note for note in whole.facts.notes if "no colour profile" in note]


def test_sixteen_bit_lab_is_turned_into_srgb(tiff, read):
    """L 100 is white, L 0 black, a and b 0 are grey (TIFF 6.0, section 23): L 53.59 is mid-grey 128 in sRGB."""
    samples = np.zeros((3, 2, 3), np.uint16)
    samples[0, :, 0], samples[1, :, 0] = 65535, round(53.585 * 655.35)
    whole = read(tiff(samples, photometric="cielab"))
    assert np.abs(whole.rgba[:, 0, :3].astype(int) - [[255], [128], [0]]).max() <= 2


REFUSED = [
    ("signed numbers", {"photometric": "minisblack"}, noise(1).astype(np.int16)),
    ("32 bits, whole numbers", {"photometric": "rgb"}, noise(3).astype(np.uint32)),
    ("floating-point numbers", {"photometric": "minisblack"}, noise(1).astype(np.float32)),
    ("Lab with 8 bits", {"photometric": "cielab"}, noise(3)),
    ("YCbCr without JPEG", {"photometric": "ycbcr"}, noise(3)),
    ("photometric interpretation 9", {"photometric": "icclab"}, noise(3)),
    ("tiles of separate channels", {"photometric": "rgb", "planarconfig": "separate", "tile": (16, 16)}, noise(3)),
    ("with 16 bit inks", {"photometric": "separated", "extrasamples": ["assocalpha"]}, noise(5, np.uint16)),
    ("camera raw", {"photometric": "cfa"}, noise(1)),
    ("inks are not", {"photometric": "separated", "extratags": [(332, "H", 1, 2, True)]}, noise(4)),
]  # fmt: skip


@pytest.mark.parametrize(("why", "options", "samples"), REFUSED, ids=[row[0] for row in REFUSED])
def test_what_would_come_out_wrong_is_refused(why, options, samples, tiff, read):
    with pytest.raises(IntakeError, match=why) as caught:
        read(tiff(samples, **options))
    assert caught.value.rule == "unreadable-file"


@pytest.mark.parametrize(
    ("code", "name"), [(34925, "LZMA"), (50000, "Zstandard"), (6, "old-style JPEG"), (12345, "12345")]
)
def test_compressions_that_would_come_out_black_are_refused(code, name, tiff, read):
    path = tiff(noise(3), photometric="rgb")
    data = path.read_bytes()
    plain, other = struct.pack("<HHIH", 259, 3, 1, 1), struct.pack("<HHIH", 259, 3, 1, code)
    assert data.count(plain) == 1
    path.write_bytes(data.replace(plain, other))
    with pytest.raises(IntakeError, match=name):
        read(path)


def test_every_compression_let_through_is_decoded_or_refused_but_never_black(save, read):
    """Whatever the installed decoder was built with: a red picture comes out red."""
    red = Image.new("RGB", (64, 64), (255, 0, 0))
    opened = 0
    for compression in ("tiff_lzw", "tiff_adobe_deflate", "packbits", "jpeg", "lzma", "zstd"):
        buffer = io.BytesIO()
        try:
            red.save(buffer, "TIFF", compression=compression)
        except (OSError, KeyError):
            continue  # this Pillow was built without it
        try:
            whole = read(save(buffer.getvalue(), "art.tif"))
        except IntakeError:
            continue
        opened += 1
        assert np.abs(whole.rgba[..., :3].astype(int) - (255, 0, 0)).max() <= 2
    assert opened >= 4


@pytest.mark.parametrize("claim", [10**8, None])
def test_an_uncompressed_strip_needs_no_right_length(claim, tiff, read):
    """Too much claimed, or nothing at all, as old files do: what the pixels need is there."""
    samples = noise(3, rows=10)
    path = tiff(samples, photometric="rgb")
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as file:
        tag = file.pages[0].tags[279]
        entry, at, kind = tag.offset, tag.valueoffset, "<" + {3: "H", 4: "I"}[tag.dtype]
    if claim is None:
        struct.pack_into("<H", data, entry, 65000)  # a private tag that nobody reads
    else:
        struct.pack_into(kind, data, at, claim)
    path.write_bytes(bytes(data))
    np.testing.assert_array_equal(read(path).rgba[..., :3], samples)


def test_many_channels_are_refused_by_their_bytes(tiff, read):
    """A head that claims thousands of channels would have the decoder take gigabytes."""
    path = tiff(noise(3), photometric="rgb")
    data = path.read_bytes()
    plain = struct.pack("<HHIH", 277, 3, 1, 3)
    assert data.count(plain) == 1
    data = data.replace(plain, struct.pack("<HHIH", 277, 3, 1, 60_000))
    path.write_bytes(data)
    with pytest.raises(IntakeError):
        read(path)
