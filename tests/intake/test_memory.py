"""What the head of a picture says about the memory that decoding it keeps."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from preflight.intake import memory, open_artwork
from preflight.intake.head import Head
from preflight.intake.heads.jpeg import _samples
from tests.intake.conftest import LIMIT

WIDTH, HEIGHT = 400, 300
PIXELS = WIDTH * HEIGHT


@pytest.fixture
def picture() -> Image.Image:
    rng = np.random.default_rng(1)
    return Image.fromarray(rng.integers(0, 256, (HEIGHT, WIDTH, 4), dtype=np.uint8))


def held(path: Path) -> float:
    """Bytes for each pixel, what does not depend on them left out."""
    artwork = open_artwork(path, pixel_limit=LIMIT)
    decoding = artwork.held  # type: ignore[attr-defined]
    size = path.stat().st_size if artwork.facts.format in ("JPEG", "WebP", "GIF") else 0
    return max(0, decoding - size - memory._THREADS) / PIXELS


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        ({"progressive": False}, 0.0),
        ({"progressive": True, "subsampling": 0}, 3 * 2.6),
        ({"progressive": True, "subsampling": 2}, 1.5 * 2.6),
    ],
)
def test_jpeg_in_several_passes(tmp_path: Path, picture: Image.Image, options: dict, expected: float) -> None:
    picture.convert("RGB").save(tmp_path / "art.jpg", **options)
    assert held(tmp_path / "art.jpg") == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(
    ("frame", "expected"),
    [
        (b"\x08\0\x08\0\x08\x01" + b"\x01\x11\0", 1.0),
        (b"\x08\0\x08\0\x08\x03" + b"\x01\x22\0\x02\x11\0\x03\x11\0", 1.5),
        (b"\x08\0\x08\0\x08\x03" + b"\x01\x00\0\x02\x00\0\x03\x00\0", 3.0),
        (b"\x08\0\x08\0\x08\x04", 4.0),
    ],
)
def test_samples_of_a_jpeg(frame: bytes, expected: float) -> None:
    """Colours at full and at half resolution; nonsense counts as full."""
    assert _samples(frame) == expected


def test_what_streams_keeps_nothing(tmp_path: Path, picture: Image.Image) -> None:
    picture.save(tmp_path / "art.png")
    picture.save(tmp_path / "art.tif", compression="tiff_lzw")
    assert held(tmp_path / "art.png") == held(tmp_path / "art.tif") == 0.0


def test_a_turned_picture_is_kept(tmp_path: Path, picture: Image.Image) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    picture.convert("RGB").save(tmp_path / "art.jpg", exif=exif)
    assert held(tmp_path / "art.jpg") == pytest.approx(3.0, abs=1e-4)


@pytest.mark.parametrize(("kind", "each"), [("GIF", 4.5), ("BMP", 5.0), ("WEBP", 16.0)])
def test_whole_formats(tmp_path: Path, picture: Image.Image, kind: str, each: float) -> None:
    path = tmp_path / f"art.{kind.lower()}"
    picture.convert("RGB").save(path, kind)
    assert held(path) == pytest.approx(each, abs=1e-4)


def test_sixteen_bits_in_several_passes() -> None:
    head = Head("PNG", 100, 100, "rgb", bits=16, extras=1, alpha=0, interlaced=True, held=8.0)
    assert memory.held(head, 999) == 80_000 + memory._THREADS
    turned = Head("PNG", 100, 100, "rgb", bits=16, orientation=8)
    assert memory.held(turned, 999) == 60_000 + memory._THREADS


def test_what_is_left_is_never_below_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limit may be lower than what the process has already."""
    resource = pytest.importorskip("resource")
    monkeypatch.setattr(resource, "getrlimit", lambda _: (1 << 20, 1 << 20))
    monkeypatch.setattr(memory, "sys", SimpleNamespace(platform="linux"))
    assert memory.left() in (0, None)  # None: a system without /proc
    monkeypatch.setattr(resource, "getrlimit", lambda _: (resource.RLIM_INFINITY,) * 2)
    assert memory.left() is None
