"""What the tests of this folder share: files made in code, and reading a file to its end."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from preflight.intake import open_artwork
from preflight.model import PixelFacts

LIMIT = 50_000_000


@dataclass
class Whole:
    """A file read to its end."""

    facts: PixelFacts
    rgba: np.ndarray
    inks: np.ndarray | None


def read_whole(path: Path) -> Whole:
    artwork = open_artwork(path, pixel_limit=LIMIT)
    strips = list(artwork.strips())
    rgba = np.concatenate([strip.rgba for strip in strips])
    facts = artwork.facts
    assert rgba.shape == (facts.height, facts.width, 4)
    assert rgba.dtype == np.uint8
    assert facts.has_alpha or (rgba[..., 3] == 255).all()
    assert (strips[0].inks is not None) == (facts.colour == "cmyk")
    inks = None if strips[0].inks is None else np.concatenate([strip.inks for strip in strips])
    return Whole(facts, rgba, inks)


def make_png(
    samples: np.ndarray, colour_type: int, bits: int = 8, chunks: tuple[tuple[bytes, bytes], ...] = ()
) -> bytes:
    """A PNG file as ISO/IEC 15948 lays it out, for what Pillow does not write.

    samples: shape (rows, width, channels); chunks go between IHDR and IDAT.
    """
    height, width = samples.shape[:2]
    if bits < 8:
        each = np.unpackbits(samples.astype(np.uint8)[..., None], axis=-1)[..., -bits:]
        rows = np.packbits(each.reshape(height, -1), axis=-1)
    else:
        rows = samples.astype(f">u{bits // 8}").reshape(height, -1).view(np.uint8)
    data = b"".join(b"\x00" + row.tobytes() for row in rows)
    head = struct.pack(">IIBBBBB", width, height, bits, colour_type, 0, 0, 0)
    parts = [(b"IHDR", head), *chunks, (b"IDAT", zlib.compress(data)), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in parts
    )


@pytest.fixture
def read() -> Callable[[Path], Whole]:
    return read_whole


@pytest.fixture
def png() -> Callable[..., bytes]:
    return make_png


@pytest.fixture
def colours() -> np.ndarray:
    """A small picture in which every pixel differs from its neighbours: uint8, shape (37, 53, 4)."""
    y, x = np.mgrid[0:37, 0:53]
    alpha = np.where((x + y) % 3 == 0, 255, (x * 5) % 256)
    return np.stack([x * 4, y * 6, (x * y) % 256, alpha], axis=-1).astype(np.uint8)


@pytest.fixture
def save(tmp_path: Path) -> Callable[..., Path]:
    """Write bytes, or save a Pillow picture with its own options, under a name."""

    def saved(what: Any, name: str, **options: Any) -> Path:
        path = tmp_path / name
        if isinstance(what, bytes):
            path.write_bytes(what)
        else:
            what.save(path, **options)
        return path

    return saved
