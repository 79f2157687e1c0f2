"""PSD and PSB: written by hand as the format has it, and by an independent library."""

from __future__ import annotations

import contextlib
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from preflight.errors import IntakeError
from preflight.intake.psd import open_psd

LIMIT = 10**7
BITMAP, GREY, INDEXED, RGB, CMYK, MULTICHANNEL, DUOTONE, LAB = 0, 1, 2, 3, 4, 7, 8, 9
RAW, RUNS, ZIP, ZIP_PREDICTED = range(4)


def resource(number: int, data: bytes, name: bytes = b"") -> bytes:
    head = b"8BIM" + struct.pack(">H", number) + bytes([len(name)]) + name
    head += bytes(len(head) % 2)
    return head + struct.pack(">I", len(data)) + data + bytes(len(data) % 2)


def layer(name: str, *, hidden: bool = False, section: int = 0, keys: tuple[bytes, ...] = ()) -> bytes:
    """A layer's record without channels."""
    wide = name.encode("utf-16-be")
    blocks = [(b"luni", struct.pack(">I", len(name)) + wide + bytes(len(wide) % 4))]
    if section:
        blocks.append((b"lsct", struct.pack(">I", section)))
    blocks += [(key, bytes(4)) for key in keys]
    plain = name.encode("ascii", "replace")[:255]
    extra = struct.pack(">II", 0, 0) + (bytes([len(plain)]) + plain).ljust((len(plain) + 4) // 4 * 4, b"\0")
    extra += b"".join(b"8BIM" + key + struct.pack(">I", len(data)) + data for key, data in blocks)
    return bytes(16) + struct.pack(">H4s4sBBBxI", 0, b"8BIM", b"norm", 255, 0, 2 if hidden else 0, len(extra)) + extra


def layers(*records: bytes, clear: bool = False, large: bool = False) -> bytes:
    """A layer section, its length in front."""
    wide = ">Q" if large else ">I"
    info = struct.pack(">h", -len(records) if clear else len(records)) + b"".join(records)
    info += bytes(len(info) % 2)
    body = struct.pack(wide, len(info)) + info + struct.pack(">I", 0)
    return struct.pack(wide, len(body)) + body


def packed(planes: list[np.ndarray], kind: int, *, large: bool) -> bytes:
    rows = [row.tobytes() for plane in planes for row in plane]
    if kind == RAW:
        return b"".join(rows)
    if kind == RUNS:
        runs = [
            b"".join(bytes([len(row[i : i + 128]) - 1]) + row[i : i + 128] for i in range(0, len(row), 128))
            for row in rows
        ]
        return b"".join(struct.pack(">I" if large else ">H", len(run)) for run in runs) + b"".join(runs)
    if kind == ZIP:
        return zlib.compress(b"".join(rows))
    differences = [np.diff(plane, axis=1, prepend=plane.dtype.type(0)).astype(plane.dtype) for plane in planes]
    return zlib.compress(b"".join(one.tobytes() for one in differences))


def make_psd(
    planes: list[np.ndarray],
    mode: int,
    *,
    kind: int = RAW,
    bits: int = 8,
    large: bool = False,
    palette: bytes = b"",
    resources: bytes = b"",
    section: bytes | None = None,
    width: int | None = None,
) -> bytes:
    """A whole file. Planes: uint8 or big-endian uint16 of shape (height, width), packed bits for bitmaps."""
    height = planes[0].shape[0]
    width = width or planes[0].shape[1]
    head = b"8BPS" + struct.pack(">H6xHIIHH", 2 if large else 1, len(planes), height, width, bits, mode)
    head += struct.pack(">I", len(palette)) + palette + struct.pack(">I", len(resources)) + resources
    head += section if section is not None else struct.pack(">Q" if large else ">I", 0)
    return head + struct.pack(">H", kind) + packed(planes, kind, large=large)


@pytest.fixture
def planes() -> list[np.ndarray]:
    """Five channels in which every sample differs from its neighbours: uint8, shape (300, 53)."""
    y, x = np.mgrid[0:300, 0:53]
    return [((x * 5 + y * step) % 256).astype(np.uint8) for step in (3, 7, 11, 13, 17)]


def opened(data: bytes, save, name="art.psd"):
    return open_psd(save(data, name), pixel_limit=LIMIT)[0]


def whole(page) -> np.ndarray:
    strips = list(page.strips())
    assert [strip.y for strip in strips] == list(range(0, page.facts.height, 256))
    rgba = np.concatenate([strip.rgba for strip in strips])
    assert rgba.shape == (page.facts.height, page.facts.width, 4)
    return rgba


@pytest.mark.parametrize("kind", [RAW, RUNS, ZIP, ZIP_PREDICTED])
@pytest.mark.parametrize("large", [False, True])
def test_every_packing(kind, large, planes, save):
    page = opened(make_psd(planes[:3], RGB, kind=kind, large=large), save)
    np.testing.assert_array_equal(whole(page), np.dstack([*planes[:3], np.full((300, 53), 255)]))
    facts = page.facts
    assert (facts.format, facts.colour, facts.bits, facts.has_alpha) == ("PSD", "rgb", 8, False)
    assert (page.name, page.page, page.document.pages, page.document.layers) == ("art.psd", 1, 1, 0)


@pytest.mark.parametrize("kind", [RAW, RUNS, ZIP, ZIP_PREDICTED])
def test_sixteen_bits(kind, planes, save):
    deep = [(plane.astype(np.uint16) * 257 + 40).clip(0, 65535).astype(">u2") for plane in planes[:3]]
    page = opened(make_psd(deep, RGB, kind=kind, bits=16), save)
    assert page.facts.bits == 16
    expected = np.rint(np.dstack(deep).astype(float) * 255 / 65535)
    np.testing.assert_array_equal(whole(page)[..., :3], expected)


def test_grey_and_duotone(planes, save):
    for mode in (GREY, DUOTONE):
        page = opened(make_psd(planes[:1], mode, palette=b"" if mode == GREY else bytes(532)), save)
        np.testing.assert_array_equal(whole(page)[..., 0], planes[0])
        assert page.facts.colour == "grey"
        assert any("duotone" in note for note in page.facts.notes) == (mode == DUOTONE)


def test_bitmap(save):
    bits = np.random.default_rng(3).integers(0, 2, (20, 53), dtype=np.uint8)
    page = opened(make_psd([np.packbits(bits, axis=1)], BITMAP, bits=1, width=53), save)
    np.testing.assert_array_equal(whole(page)[..., 0], (1 - bits) * 255)  # a set bit is black


def test_palette_with_a_transparent_colour(planes, save):
    palette = bytes(range(256)) + bytes(reversed(range(256))) + bytes([7]) * 256
    page = opened(make_psd(planes[:1], INDEXED, palette=palette, resources=resource(0x0417, b"\x00\x05")), save)
    rgba = whole(page)
    np.testing.assert_array_equal(rgba[..., 0], planes[0])
    np.testing.assert_array_equal(rgba[..., 1], 255 - planes[0])
    np.testing.assert_array_equal(rgba[..., 3] == 0, planes[0] == 5)
    assert page.facts.has_alpha


def test_lab_red(save):
    """sRGB's red under D50 is L 54.3, a 80.8, b 69.9 (published conversions of the primaries)."""
    values = [round(54.3 * 2.55), 128 + 81, 128 + 70]
    page = opened(make_psd([np.full((4, 4), value, np.uint8) for value in values], LAB), save)
    np.testing.assert_allclose(whole(page)[0, 0], [255, 0, 0, 255], atol=6)
    assert page.facts.icc is None


def test_cmyk_keeps_its_inks(planes, save):
    page = opened(make_psd(planes[:4], CMYK), save)
    inks = np.concatenate([strip.inks for strip in page.strips()])
    np.testing.assert_array_equal(inks, 255 - np.dstack(planes[:4]))  # stored with 255 for no ink
    assert page.facts.colour == "cmyk"
    assert [(ink.name, ink.kind) for ink in page.document.inks] == [
        ("Cyan", "process"),
        ("Magenta", "process"),
        ("Yellow", "process"),
        ("Black", "process"),
    ]


@pytest.mark.parametrize("mode", [RGB, GREY])
def test_transparency_is_taken_off_its_white(mode, save):
    """The merged picture is stored as laid over white; what comes out is the colour itself."""
    rng = np.random.default_rng(5)
    colours = [rng.integers(0, 256, (40, 40)).astype(float) for _ in range(3 if mode == RGB else 1)]
    alpha = rng.integers(30, 256, (40, 40)).astype(float)
    stored = [np.rint(colour * alpha / 255 + 255 - alpha).astype(np.uint8) for colour in colours]
    section = layers(layer("Art"), clear=True)
    page = opened(make_psd([*stored, alpha.astype(np.uint8)], mode, section=section), save)
    rgba = whole(page)
    np.testing.assert_array_equal(rgba[..., 3], alpha)
    for band, colour in enumerate(colours):
        assert np.abs(rgba[..., band] - colour).max() <= 0.5 * 255 / 30 + 1  # a rounding step, made larger by the alpha
    assert page.facts.has_alpha
    assert page.document.transparency


def test_an_extra_channel_is_transparency_only_when_something_says_so(planes, save):
    silent = opened(make_psd(planes[:4], RGB), save)
    assert silent.facts.has_alpha  # programs without channels of their own write one more and say nothing
    saved = opened(make_psd(planes[:4], RGB, section=layers(layer("Art"))), save)
    assert not saved.facts.has_alpha  # a selection kept for later
    named = resource(0x0415, struct.pack(">I", 5) + "Alpha".encode("utf-16-be")) + resource(
        0x041D, struct.pack(">I", 7)
    )
    assert not opened(make_psd(planes[:4], RGB, resources=named), save).facts.has_alpha
    numbered = resource(0x041D, struct.pack(">II", 0, 7))
    page = opened(make_psd(planes[:5], RGB, resources=numbered, section=layers(layer("Art"))), save)
    np.testing.assert_array_equal(whole(page)[..., 3], planes[3])


def spot_resources(*names: str) -> bytes:
    wide = b"".join(struct.pack(">I", len(name) + 1) + name.encode("utf-16-be") + b"\0\0" for name in names)
    kinds = struct.pack(">I", 1) + b"".join(struct.pack(">6HB", 0, 0, 0, 0, 0, 100, 2) for _ in names)
    return resource(0x0415, wide) + resource(0x0435, kinds)


def test_spot_channels_are_named_and_measured(planes, save):
    plate = np.full((300, 53), 255, np.uint8)
    plate[:150] = 0  # full ink over half of the canvas: 255 stands for none
    gold = np.full((300, 53), 204, np.uint8)
    data = make_psd([*planes[:4], plate, gold], CMYK, resources=spot_resources("White ink", "Gold"), kind=RUNS)
    page = opened(data, save)
    spots = {ink.name: ink for ink in page.document.inks if ink.kind != "process"}
    assert {name: ink.kind for name, ink in spots.items()} == {"White ink": "white", "Gold": "spot"}
    assert any("White ink, Gold" in note for note in page.facts.notes)
    assert not page.facts.has_alpha
    shares = {ink.name: ink.share for ink in page.ink_shares()}
    assert shares["White ink"] == pytest.approx(0.5)
    assert shares["Gold"] == pytest.approx(0.2)
    assert shares["Cyan"] is None
    white = np.concatenate([rows for _, rows in page.white_plate()])
    np.testing.assert_array_equal(white, 255 - plate)


def test_no_white_plate_without_one(planes, save):
    assert list(opened(make_psd(planes[:3], RGB), save).white_plate()) == []


def test_density(planes, save):
    """Resource 0x03ED: 16.16 fixed point, always per inch (from memory), whatever unit is shown."""
    for unit in (1, 2):
        data = struct.pack(">IHHIHH", 300 << 16, unit, 1, 150 << 16, unit, 1)
        page = opened(make_psd(planes[:3], RGB, resources=resource(0x03ED, data)), save)
        assert page.facts.density_ppi == (300, 150)
        assert page.facts.density_from == "PSD"
        assert (page.document.width_mm, page.document.height_mm) == pytest.approx((53 / 300 * 25.4, 300 / 150 * 25.4))
        assert page.document.size_certain
    page = opened(make_psd(planes[:3], RGB), save)
    assert page.facts.density_ppi is None
    assert not page.document.size_certain


def test_colour_profile(planes, save):
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    data = resource(0x03E8, b"x") + resource(0x040F, icc, b"odd")
    page = opened(make_psd(planes[:3], RGB, resources=data), save)
    assert page.facts.icc == icc
    assert page.facts.icc_name
    page = opened(make_psd(planes[:4], CMYK, resources=data), save)
    assert page.facts.icc is None
    assert any("for other colours" in note for note in page.facts.notes)


def test_layers_are_counted_and_hidden_ones_named(planes, save):
    section = layers(
        layer("Background"),
        layer("Sketch", hidden=True),
        layer("</Layer group>", section=3),
        layer("Inner"),
        layer("Inner hidden", hidden=True),
        layer("Old ideas", hidden=True, section=1),
        layer("Größe\u2003✂", hidden=True),
        layer("Art", keys=(b"lfx2",)),
    )
    page = opened(make_psd(planes[:3], RGB, section=section), save)
    assert page.document.layers == 4  # what lies in a hidden group is that group
    assert page.document.hidden_layers == ("Größe ✂", "Old ideas", "Sketch")
    assert any("3 hidden layers" in note for note in page.facts.notes)


def test_layers_of_a_large_file(planes, save):
    section = layers(layer("Art"), layer("Off", hidden=True), large=True)
    page = opened(make_psd(planes[:3], RGB, section=section, large=True), save, "art.psb")
    assert (page.document.layers, page.document.hidden_layers) == (2, ("Off",))


# Against the other library


def test_the_same_as_another_reader(colours, tmp_path):
    """psd-tools writes and reads; ours only reads."""
    from psd_tools import PSDImage

    picture = Image.fromarray(colours)
    for mode in ("RGB", "RGBA", "L", "CMYK", "1"):
        made = picture.convert("RGB").convert("CMYK") if mode == "CMYK" else picture.convert(mode)
        path = tmp_path / "art.psd"
        PSDImage.frompil(made).save(path)
        page = open_psd(path, pixel_limit=LIMIT)[0]
        other = PSDImage.open(path).topil(apply_icc=False)
        if mode == "CMYK":
            inks = np.concatenate([strip.inks for strip in page.strips()])
            np.testing.assert_array_equal(inks, np.asarray(other))
        else:
            seen = np.asarray(other.convert("RGBA"), int)
            assert np.abs(whole(page) - seen).max() <= 1
            np.testing.assert_array_equal(whole(page)[..., 3], seen[..., 3])


def without_merged(path: Path) -> None:
    """What a program writes when told not to keep files compatible: a blank merged picture, and the word for it."""
    data = path.read_bytes()
    at = 26 + 4 + struct.unpack(">I", data[26:30])[0]
    size = struct.unpack(">I", data[at : at + 4])[0]
    old = data[at + 4 : at + 4 + size]
    kept, place = b"", 0
    while place < len(old):
        name = old[place + 6]
        start = place + 6 + (name + 2) // 2 * 2
        length = struct.unpack(">I", old[start : start + 4])[0]
        end = start + 4 + (length + 1) // 2 * 2
        if struct.unpack(">H", old[place + 4 : place + 6])[0] != 0x0421:
            kept += old[place:end]
        place = end
    kept += resource(0x0421, struct.pack(">IBIIIII", 1, 0, 0, 0, 0, 1, 0))
    path.write_bytes(data[:at] + struct.pack(">I", len(kept)) + kept + data[at + 4 + size :])


@pytest.fixture
def layered(tmp_path):
    """Two layers, the upper one half opaque and off the corner; shape (1100, 60): more than one piece."""
    from psd_tools import PSDImage

    document = PSDImage.new("RGB", (60, 1100))
    document.create_pixel_layer(Image.new("RGBA", (60, 600), (200, 10, 30, 255)), name="Lower")
    document.create_pixel_layer(Image.new("RGBA", (30, 1080), (0, 0, 255, 128)), name="Upper", top=20, left=10)
    path = tmp_path / "art.psd"
    document.save(path)
    return path


def test_a_file_without_its_merged_picture_is_put_together(layered):
    without_merged(layered)
    page = open_psd(layered, pixel_limit=LIMIT)[0]
    assert any("put together from its layers" in note for note in page.facts.notes)
    assert page.facts.has_alpha
    rgba = whole(page)
    assert tuple(rgba[5, 5]) == (200, 10, 30, 255)
    np.testing.assert_allclose(rgba[100, 20], [100, 5, 143, 255], atol=2)
    np.testing.assert_allclose(rgba[1050, 20], [0, 0, 255, 128], atol=2)
    assert rgba[1050, 50, 3] == 0


def test_layers_with_more_than_pixels_are_not_guessed(planes, save):
    version = resource(0x0421, struct.pack(">IB", 1, 0))
    for keys, what in (((b"lfx2",), "layer effects"), ((b"levl",), "adjustment layers"), ((b"vmsk",), "vector shapes")):
        section = layers(layer("Art", keys=keys))
        with pytest.raises(IntakeError, match=what) as caught:
            opened(make_psd(planes[:3], RGB, resources=version, section=section), save)
        assert "compatibility" in caught.value.next_step
    hidden = layers(layer("Art", keys=(b"lfx2",), hidden=True), layer("Plain"))
    assert opened(make_psd(planes[:3], RGB, resources=version, section=hidden), save)


# Refusals


@pytest.mark.parametrize(
    ("mode", "bits", "what"),
    [
        (MULTICHANNEL, 8, "separate ink channels"),
        (RGB, 32, "32 bits"),
        (RGB, 3, "3 bits"),
        (5, 8, "does not hold together"),
        (CMYK, 8, "3 channels in colour mode 4"),
    ],
)
def test_unusual(mode, bits, what, planes, save):
    with pytest.raises(IntakeError, match=what):
        opened(make_psd(planes[:3], mode, bits=bits), save)


@pytest.mark.parametrize("kind", [RAW, RUNS, ZIP])
def test_cut_short(kind, planes, save):
    data = make_psd(planes[:3], RGB, kind=kind)
    for kept in (10, 30, len(data) // 2, len(data) - 9):
        path = save(data[:kept], "art.psd")
        with pytest.raises(IntakeError) as caught:
            list(open_psd(path, pixel_limit=LIMIT)[0].strips())
        assert caught.value.rule == "cut-short"


def test_rows_that_unpack_to_too_little(planes, save):
    data = bytearray(make_psd(planes[:3], RGB, kind=RUNS))
    start = len(data) - 3 * 300 * 54
    data[start] = 20  # 21 samples follow it, not 53
    with pytest.raises(IntakeError, match="damaged near row 0"):
        list(opened(bytes(data), save).strips())


def test_the_limit_comes_before_everything_else(planes, save):
    data = bytearray(make_psd(planes[:3], RGB))
    struct.pack_into(">II", data, 14, 300_000, 300_000)
    with pytest.raises(IntakeError, match=r"300000 × 300000 px, 90000\.0 megapixels; the limit is 10\.0"):
        opened(bytes(data), save)


@pytest.mark.parametrize("seed", range(20))
def test_noise_in_the_file_ends_in_a_picture_or_a_sentence(seed, planes, save):
    rng = np.random.default_rng(seed)
    section = layers(layer("Art"), layer("Off", hidden=True, section=1), clear=True)
    good = make_psd(planes[:4], RGB, kind=RUNS, section=section, resources=spot_resources("White"))
    for _ in range(20):
        data = bytearray(good)
        for _ in range(rng.integers(1, 6)):
            data[rng.integers(4, 800)] = rng.integers(0, 256)
        with contextlib.suppress(IntakeError):  # any other error fails the test
            list(opened(bytes(data), save).strips())
