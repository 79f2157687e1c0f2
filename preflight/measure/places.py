"""From cells and pixels to places, and from pixels to millimetres."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.labels import boxes, connected
from preflight.measure.sheet import CELL
from preflight.model import MOST_PLACES, Bytes, Spot

#: More components than this are not looked at one by one; the largest come first.
_MOST_COMPONENTS = 5_000


class Scale(NamedTuple):
    """The print scale."""

    ppi: float

    def mm(self, pixels: float) -> float:
        """Length in mm of so many pixels."""
        return pixels * 25.4 / self.ppi

    def px(self, millimetres: float) -> float:
        """Length in pixels of so many mm."""
        return millimetres * self.ppi / 25.4

    def mm2(self, pixels: float) -> float:
        """Area in mm² of so many pixels."""
        return pixels * (25.4 / self.ppi) ** 2


CellValue = Callable[[tuple[slice, slice], npt.NDArray[np.bool_]], float]


def spots_of_mask(
    mask: Bytes, value: CellValue, *, least: float = 0.0, cell: int = CELL
) -> tuple[tuple[Spot, ...], int]:
    """Connected areas of a mask as spots in px, largest value first, and how many there are.

    Parameters
    ----------
    mask
        uint8 0/1; each of its elements stands for ``cell`` x ``cell`` px.
    value
        Called with the slices of an area's box and, inside it, which cells belong: gives the spot's value.
    least
        Areas of a smaller value are left out.
    """
    labels = connected(mask)
    stats = boxes(mask, labels)
    order = np.argsort(-stats[1:, cv2.CC_STAT_AREA], kind="stable")[:_MOST_COMPONENTS] + 1
    spots = []
    for index in order.tolist():
        x, y, width, height = (int(stats[index, column]) for column in range(4))
        cells = (slice(y, y + height), slice(x, x + width))
        found = value(cells, labels[cells] == index)
        if found >= least:
            spots.append(Spot(x * cell, y * cell, width * cell, height * cell, found))
    spots.sort(key=lambda spot: -(spot.value or 0.0))
    return tuple(spots[:MOST_PLACES]), len(spots) + max(0, len(stats) - 1 - _MOST_COMPONENTS)
