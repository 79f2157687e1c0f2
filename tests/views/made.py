"""Artwork made for the tests of pictures: shapes drawn with exact coverage, and the artwork that gives them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from preflight.model import Box, Bytes, DocumentFacts, PixelFacts, Strip
from preflight.views.model import Cloth, Wanted

PPI = 300.0
MM = 25.4 / PPI
NAVY = Cloth("navy", (0, 0, 128))


@dataclass
class Made:
    """An artwork from an array: uint8 (h, w, 4)."""

    rgba: Bytes
    inks: Bytes | None = None
    icc: bytes | None = None
    name: str = "made.png"
    page: int = 1
    document: DocumentFacts | None = None

    @property
    def facts(self) -> PixelFacts:
        height, width = self.rgba.shape[:2]
        colour = "rgb" if self.inks is None else "cmyk"
        return PixelFacts("PNG", width, height, True, colour, 8, None, None, self.icc, None)

    def strips(self) -> Iterator[Strip]:
        for y in range(0, len(self.rgba), 256):
            rows = slice(y, y + 256)
            yield Strip(y, self.rgba[rows], None if self.inks is None else self.inks[rows])


def clear(width_mm: float, height_mm: float, mm: float = MM) -> Bytes:
    return np.zeros((round(height_mm / mm), round(width_mm / mm), 4), np.uint8)


def paint(rgba: Bytes, coverage: npt.NDArray[np.float64], colour: tuple[int, int, int]) -> None:
    """Lay a colour where there is coverage, 0…1; opacity is the coverage."""
    rgba[coverage > 0, :3] = colour
    rgba[..., 3] = np.maximum(rgba[..., 3], np.rint(255 * coverage)).astype(np.uint8)


def grid(rgba: Bytes, mm: float = MM) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Middle of each pixel in mm."""
    y, x = np.indices(rgba.shape[:2])
    return (x + 0.5) * mm, (y + 0.5) * mm


def stroke(
    rgba: Bytes, middle: tuple[float, float], length: float, width: float, angle: float, mm: float = MM
) -> npt.NDArray[np.float64]:
    """Coverage of a straight stroke, mm and degrees; its rim is one pixel wide."""
    x, y = grid(rgba, mm)
    dx, dy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    along = (x - middle[0]) * dx + (y - middle[1]) * dy
    across = -(x - middle[0]) * dy + (y - middle[1]) * dx
    inside: Any = np.minimum((width / 2 - abs(across)) / mm + 0.5, (length / 2 - abs(along)) / mm + 0.5)
    return np.clip(inside, 0, 1)


def disc(rgba: Bytes, middle: tuple[float, float], radius: float, mm: float = MM) -> npt.NDArray[np.float64]:
    x, y = grid(rgba, mm)
    return np.clip((radius - np.hypot(x - middle[0], y - middle[1])) / mm + 0.5, 0, 1)


def wish(rgba: Bytes, mm: float | None = MM, **more: Any) -> Wanted:
    """The whole canvas as the artwork."""
    height, width = rgba.shape[:2]
    settings: dict[str, Any] = {"cloths": (NAVY,), **more}
    return Wanted((width, height), Box(0, 0, width, height), mm, **settings)
