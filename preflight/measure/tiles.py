"""Full-resolution tiles kept from the stream: the busiest opaque ones for detail, a regular grid for patterns."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from preflight.measure.sheet import CELL, Cells
from preflight.model import Bytes, PixelFacts, Strip

#: Tile for spectra, px; one per square of ``_SQUARE`` px, at most ``MOST`` in all.
DETAIL_TILE = 128
_SQUARE = 1024
MOST = 48
#: Tile for the painted checkerboard, px, and the grid of them.
PATTERN_TILE = 192
_GRID = 8


@dataclass(frozen=True, slots=True)
class Tile:
    """A piece of the artwork: ``rgb`` uint8 (side, side, 3) from (x, y) px; ``activity`` orders the busy ones."""

    x: int
    y: int
    rgb: Bytes
    activity: float


class DetailTiles:
    """Keeps the busiest wholly opaque tile of each square."""

    def __init__(self, facts: PixelFacts) -> None:
        squares = max(1, (facts.width // _SQUARE + 1) * (facts.height // _SQUARE + 1))
        # On a sheet of many squares they grow, so that no more than MOST tiles are kept.
        self._square = _SQUARE * max(1, int(np.ceil((squares / MOST) ** 0.5)))
        self._best: dict[tuple[int, int], Tile] = {}

    def see(self, strip: Strip, cells: Cells) -> None:
        """Look for busier tiles in this strip."""
        step = DETAIL_TILE // CELL
        rows, columns = cells.alpha.shape[0] // step, cells.alpha.shape[1] // step
        if not rows or not columns:
            return
        area = (slice(0, rows * step), slice(0, columns * step))
        activity = _activity(cells.sample[area][..., 1], step)
        solid = cells.alpha[area].reshape(rows, step, columns, step).min(axis=(1, 3)) == 255
        for row, column in zip(*np.nonzero(solid & (activity > 0.2)), strict=True):
            x, y = int(column) * DETAIL_TILE, int(row) * DETAIL_TILE
            square = (x // self._square, (strip.y + y) // self._square)
            best = self._best.get(square)
            if best is None or activity[row, column] > best.activity:
                rgb = strip.rgba[y : y + DETAIL_TILE, x : x + DETAIL_TILE, :3].copy()
                self._best[square] = Tile(x, strip.y + y, rgb, float(activity[row, column]))

    def tiles(self) -> list[Tile]:
        """The kept tiles, busiest first."""
        return sorted(self._best.values(), key=lambda tile: -tile.activity)[:MOST]


def _activity(green: Bytes, step: int) -> np.ndarray:  # type: ignore[type-arg]
    """Mean difference between neighbouring samples in each tile of ``step`` x ``step`` cells."""
    across = cv2.absdiff(green[:, 1:], green[:, :-1])
    padded = cv2.copyMakeBorder(across, 0, 0, 0, 1, cv2.BORDER_REPLICATE)
    rows, columns = padded.shape[0] // step, padded.shape[1] // step
    mean = cv2.resize(padded, (columns, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(mean, np.float32).reshape(rows, columns)


class PatternTiles:
    """Keeps opaque tiles on a regular grid of at most 8 x 8."""

    def __init__(self, facts: PixelFacts) -> None:
        self._columns = _starts(facts.width)
        self._bands = set(_starts(-(-facts.height // 256), 1, _GRID))
        self._tiles: list[Tile] = []

    def see(self, strip: Strip, cells: Cells) -> None:
        """Take this strip's tiles."""
        height = min(PATTERN_TILE, len(strip.rgba))
        if strip.y // 256 not in self._bands or height < 64:
            return
        for x in self._columns:
            width = min(PATTERN_TILE, strip.rgba.shape[1] - x)
            inside = cells.alpha[: -(-height // CELL), x // CELL : -(-(x + width) // CELL)]
            if width >= 64 and int(inside.min()) >= 250:
                rgb = strip.rgba[:height, x : x + width, :3].copy()
                self._tiles.append(Tile(x, strip.y, rgb, 0.0))

    def tiles(self) -> list[Tile]:
        """The kept tiles, top to bottom."""
        return self._tiles


def _starts(length: int, tile: int = PATTERN_TILE, most: int = _GRID) -> list[int]:
    """Where up to ``most`` tiles start along ``length``."""
    room = max(0, length - tile)
    count = max(1, min(most, length // tile))
    return sorted({round(room * i / max(1, count - 1)) if count > 1 else 0 for i in range(count)})
