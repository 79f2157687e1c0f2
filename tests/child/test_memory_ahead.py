"""A picture that takes more memory than its child may have is refused from its head, before anything dies of it."""

from __future__ import annotations

import struct
import zlib
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, features

from preflight.child import Limits, Workshop
from preflight.errors import ChildDied, IntakeError
from preflight.ink.separation import open_separation
from preflight.intake import memory, open_artwork
from preflight.intake.memory import needed
from preflight.model import Examination, PixelFacts, Ticket
from preflight.shop import Shop
from tests.child.conftest import LINUX

pytestmark = [
    pytest.mark.skipif(not LINUX, reason="elsewhere no limit on address space is held"),
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning"),
]
SHOP = Shop.default()
SEPARATION = open_separation(SHOP)
WIDTH, HEIGHT = 4000, 3000


def examined(path: Path, limits: Limits) -> Examination:
    ticket = Ticket(width_mm=400.0)
    with Workshop(limits) as workshop:
        return workshop.examine(path, ticket, SHOP, SEPARATION, {})


def refusal(path: Path, limits: Limits) -> IntakeError:
    with pytest.raises(IntakeError) as caught:
        examined(path, limits)
    assert not isinstance(caught.value, ChildDied)
    assert caught.value.file == str(path)
    assert "megapixels: reading it can take" in caught.value.what
    assert "machine.memory_gb" in caught.value.next_step
    return caught.value


def died(path: Path, limits: Limits) -> bool:
    try:
        examined(path, limits)
    except IntakeError as told:
        return isinstance(told, ChildDied)
    return False


def one_bit(side: int) -> bytes:
    """A black PNG of one bit a pixel."""
    packer = zlib.compressobj(9)
    row = bytes(1 + (side + 7) // 8)
    data = b"".join(packer.compress(row * 100) for _ in range(side // 100)) + packer.flush()
    parts = ((b"IHDR", struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)), (b"IDAT", data), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in parts
    )


def test_900_megapixels_of_one_bit(tmp_path: Path) -> None:
    path = tmp_path / "art.png"
    path.write_bytes(one_bit(30_000))
    assert path.stat().st_size < 200_000
    told = refusal(path, Limits.of(SHOP))
    assert "30000 × 30000 px, 900.0 megapixels: reading it can take 3.6 GB" in told.what


@pytest.mark.skipif(not features.check("webp"), reason="this Pillow writes no WebP")
def test_a_webp_that_promises_268_megapixels(tmp_path: Path) -> None:
    stream = BytesIO()
    Image.new("RGBA", (9, 9), "red").save(stream, "WEBP", lossless=True)
    data = bytearray(stream.getvalue())
    data[21:25] = (int.from_bytes(data[21:25], "little") >> 28 << 28 | 16_382 << 14 | 16_382).to_bytes(4, "little")
    path = tmp_path / "art.webp"
    path.write_bytes(data)
    assert "16383 × 16383 px" in refusal(path, Limits.of(SHOP)).what


def sheet() -> np.ndarray:
    """An opaque sheet, a ground of one colour all around: it is measured twice more, as if the ground were gone."""
    rng = np.random.default_rng(1)
    rgba = np.full((HEIGHT, WIDTH, 4), 255, np.uint8)
    for top in range(100, HEIGHT - 500, 700):
        for left in range(100, WIDTH - 500, 700):
            rgba[top : top + 400, left : left + 400, :3] = rng.integers(0, 256, (400, 400, 3))
    return rgba


def save(rgba: np.ndarray, path: Path, kind: str) -> None:
    if kind == "interlaced":
        import pyvips

        image = pyvips.Image.new_from_memory(rgba.data, WIDTH, HEIGHT, 4, "uchar").copy(interpretation="srgb")
        image.write_to_file(str(path), interlace=True, compression=1)
        return
    picture = Image.fromarray(rgba)
    options = {"PNG": {"compress_level": 1}, "JPEG": {"progressive": True, "quality": 90}, "WEBP": {"method": 0}}
    picture = picture if kind in ("PNG", "WEBP") else picture.convert("RGB")
    picture.save(path, kind, **options.get(kind, {}))


@pytest.mark.parametrize(
    ("kind", "ending", "clear"),
    [
        ("PNG", "png", False),
        ("PNG", "png", True),
        ("interlaced", "png", True),
        ("JPEG", "jpg", False),
        ("GIF", "gif", False),
        ("BMP", "bmp", False),
        pytest.param("WEBP", "webp", True, marks=pytest.mark.skipif(not features.check("webp"), reason="no WebP")),
    ],
)
def test_what_is_said_to_suffice_does_and_less_is_refused(tmp_path: Path, kind: str, ending: str, clear: bool) -> None:
    """The estimate is no less than what reading and measuring take, for the art that takes most.

    Such art is measured again without its ground: what has to be decoded whole then meets what measuring holds already.
    """
    rgba = sheet()
    if clear:
        rgba[:, :700, 3] = 0
    path = tmp_path / f"art.{ending}"
    save(rgba, path, kind)
    artwork = open_artwork(path, pixel_limit=SHOP.pixel_limit)
    enough = needed(artwork.facts, artwork.held)  # type: ignore[attr-defined]
    found = examined(path, replace(Limits(), memory=enough + artwork.held + (1 << 20)))  # type: ignore[attr-defined]
    assert found.facts.width == WIDTH
    assert found.measures["background-share"].value or kind == "WEBP"  # its ground is smeared
    refusal(path, replace(Limits(), memory=enough - (1 << 20)))
    assert not died(path, replace(Limits(), memory=enough + (1 << 20)))  # if it does not suffice for a second look


def test_decoding_again_needs_its_memory_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Measuring has taken some meanwhile: what no longer fits is refused, not tried."""
    path = tmp_path / "art.png"
    save(sheet(), path, "interlaced")
    artwork = open_artwork(path, pixel_limit=SHOP.pixel_limit)
    monkeypatch.setattr(memory, "left", lambda: 80_000_000 - 1)
    with pytest.raises(IntakeError, match="more than one file may have") as caught:
        next(artwork.strips())
    assert caught.value.file == str(path)


def facts(width: int, height: int, *, clear: bool = True) -> PixelFacts:
    return PixelFacts("PNG", width, height, clear, "rgb", 8, None, None, None, None)


@pytest.mark.parametrize(
    ("width", "height", "each"),
    [
        pytest.param(6600, 18_000, 0.0, id="the usual large sheet"),
        pytest.param(6600, 18_000, 4.0, id="interlaced"),
        pytest.param(6600, 18_000, 8.0, id="interlaced, 16 bits"),
        pytest.param(6600, 16_300, 16.0, id="the longest WebP of that width"),
        pytest.param(6614, 59_055, 0.0, id="560 mm × 5 m at 300 ppi"),
    ],
)
def test_honest_sheets_fit(width: int, height: int, each: float) -> None:
    decoding = round(width * height * each) + (memory._THREADS if each else 0)
    assert needed(facts(width, height), decoding) < Limits().memory


def test_where_nothing_is_held_nothing_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(memory, "left", lambda: None)
    memory.check(facts(1_000_000, 1_000_000), 1 << 60)
    memory.check_again(facts(1_000_000, 1_000_000), 1 << 60)
