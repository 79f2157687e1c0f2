"""Photographs: the ones that scikit-image carries, and larger ones made by the dead-leaves model.

The dead-leaves model (discs of power-law size that hide each other; Lee, Mumford and Huang 2001, from memory) has the
statistics of natural pictures and is sharp at any size, so its real detail is known.
"""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np
from skimage import data

from .raster import Bytes, Floats

#: Colour photographs inside the scikit-image wheel (no download).
BUNDLED = ("astronaut", "chelsea", "coffee", "rocket")


@lru_cache(maxsize=8)
def _bundled(name: str) -> Bytes:
    return np.asarray(getattr(data, name)()[..., :3], np.uint8)


def bundled(rng: np.random.Generator, reduce: float = 2.0) -> Floats:
    """One of the bundled photographs, averaged down so that every pixel of it holds real detail."""
    picture = _bundled(str(rng.choice(BUNDLED)))
    if rng.random() < 0.5:
        picture = picture[:, ::-1]
    size = (round(picture.shape[1] / reduce), round(picture.shape[0] / reduce))
    small = cv2.resize(np.ascontiguousarray(picture), size, interpolation=cv2.INTER_AREA)
    return np.asarray(small / np.float32(255), np.float32)


def leaves(rng: np.random.Generator, width: int, height: int, smallest: float = 2.0) -> Floats:
    """A picture with the statistics of a natural one, drawn twice as large and averaged, with faint sensor noise."""
    picture = np.full((height * 2, width * 2, 3), 90, np.uint8)
    largest = min(width, height) * 0.5
    count = int(width * height / 70)
    u = rng.random(count)
    radius = 2 * (smallest**-2 - u * (smallest**-2 - largest**-2)) ** -0.5
    x, y = rng.integers(0, width * 2, count), rng.integers(0, height * 2, count)
    colour = _tones(rng, count)
    for i in range(count):
        tone = (int(colour[i, 0]), int(colour[i, 1]), int(colour[i, 2]))
        cv2.circle(picture, (int(x[i]), int(y[i])), int(radius[i]), tone, -1)
    shaded = picture.astype(np.float32) + _texture(rng, width * 2, height * 2)[..., None]
    small = np.asarray(cv2.resize(shaded, (width, height), interpolation=cv2.INTER_AREA), np.float32)
    small += np.asarray(rng.normal(0, 1.5, small.shape), np.float32)
    return np.asarray(np.clip(small, 0, 255) / 255, np.float32)


def _texture(rng: np.random.Generator, width: int, height: int) -> Floats:
    """Noise of equal strength in every octave: grain, surface and light."""
    total = np.zeros((height, width), np.float32)
    step = 1
    while step <= 256:
        grain = np.asarray(rng.normal(0, 6, (height // step + 2, width // step + 2)), np.float32)
        total += cv2.resize(grain, (width, height), interpolation=cv2.INTER_CUBIC)
        step *= 2
    return total


def _tones(rng: np.random.Generator, count: int) -> Bytes:
    """Muted colours, as most photographs have them."""
    grey = rng.uniform(70, 225, (count, 1))
    tint = rng.normal(0, 14, (count, 3))
    return np.clip(grey + tint, 20, 245).astype(np.uint8)


def enlarged(picture: Floats, factor: float, how: str) -> Floats:
    """The picture made larger, as people do it when the shop asks for more pixels."""
    kinds = {
        "nearest": cv2.INTER_NEAREST,
        "linear": cv2.INTER_LINEAR,
        "cubic": cv2.INTER_CUBIC,
        "lanczos": cv2.INTER_LANCZOS4,
    }
    size = (round(picture.shape[1] * factor), round(picture.shape[0] * factor))
    larger = cv2.resize(picture, size, interpolation=kinds[how])
    return np.asarray(np.clip(larger, 0, 1), np.float32)
