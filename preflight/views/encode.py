"""Small pictures as the bytes of a file that any browser and any PDF writer takes."""

from __future__ import annotations

import cv2
import numpy as np

from preflight.errors import IntakeError
from preflight.model import Bytes
from preflight.views.model import JPEG, PNG, Picture

#: More colours than this, of a ninth of the pixels, make a photograph: a PNG of it would be large.
_FLAT_COLOURS = 3000
#: A PNG that is larger is written again as JPEG; a JPEG that is larger, again with the next quality.
_LARGEST_PNG, _LARGEST_JPEG = 300_000, 450_000
_QUALITIES = (88, 75, 60)
#: Runs of equal bytes alone are looked for: as small as with all that the format can do, for less time (measured).
_AS_PNG = (cv2.IMWRITE_PNG_STRATEGY, cv2.IMWRITE_PNG_STRATEGY_RLE, cv2.IMWRITE_PNG_COMPRESSION, 3)


def picture(pixels: Bytes, x_mm: float = 0.0, y_mm: float = 0.0, mm_per_px: float | None = None) -> Picture:
    """Pixels, uint8 (h, w, 3) or grey (h, w), as a PNG when they are flat, else as a JPEG."""
    height, width = pixels.shape[:2]
    kind, data = _encoded(pixels)
    return Picture(kind, data, width, height, x_mm, y_mm, mm_per_px)


def exact(pixels: Bytes, x_mm: float = 0.0, y_mm: float = 0.0, mm_per_px: float | None = None) -> Picture:
    """The same always as PNG: every pixel as it is."""
    height, width = pixels.shape[:2]
    return Picture(PNG, _written(".png", pixels, _AS_PNG), width, height, x_mm, y_mm, mm_per_px)


def _encoded(pixels: Bytes) -> tuple[str, bytes]:
    if _is_flat(pixels):
        data = _written(".png", pixels, _AS_PNG)
        if len(data) <= _LARGEST_PNG:
            return PNG, data
    for quality in _QUALITIES:
        data = _written(".jpg", pixels, (cv2.IMWRITE_JPEG_QUALITY, quality))
        if len(data) <= _LARGEST_JPEG:
            break
    return JPEG, data


def _written(ending: str, pixels: Bytes, settings: tuple[int, ...]) -> bytes:
    turned = pixels if pixels.ndim == 2 else cv2.cvtColor(pixels, cv2.COLOR_RGB2BGR)
    done, data = cv2.imencode(ending, turned, settings)
    if not done:  # cannot be: no file is written
        raise IntakeError("its picture could not be drawn", "Run it again with --verbose and report what that prints.")
    return np.asarray(data, np.uint8).tobytes()


def _is_flat(pixels: Bytes) -> bool:
    if pixels.ndim == 2:
        return True
    some = pixels[::3, ::3].reshape(-1, 3).astype(np.uint32)
    codes = np.sort((some[:, 0] << 16) | (some[:, 1] << 8) | some[:, 2])
    return int(np.count_nonzero(codes[1:] != codes[:-1])) < _FLAT_COLOURS
