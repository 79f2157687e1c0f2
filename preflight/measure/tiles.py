"""Full-resolution tiles kept from the stream: the busiest opaque ones for detail, a regular grid for patterns."""

from __future__ import annotations

from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import between
from preflight.measure.sheet import CELL, Cells
from preflight.model import Bytes, PixelFacts, Strip

#: Tile for spectra, px, and about the most that are kept.
DETAIL_TILE = 128
MOST = 24
#: Largest tile for the painted checkerboard, px, and the grid of them.
PATTERN_TILE = 192
_GRID = 8
#: Share of samples that differ a little, by so many levels, from their neighbours in a piece of a picture.
_TONE_SHARE = 0.25
_LITTLE, _MUCH = 3, 60
#: Levels by which the channels of a neutral pixel may differ.
NEUTRAL = 12


class Tile(NamedTuple):
    """A piece of the artwork: ``rgb`` uint8 (side, side, 3) from (x, y) px; ``activity`` orders the busy ones."""

    x: int
    y: int
    rgb: Bytes
    activity: float


class DetailTiles:
    """Keeps the busiest wholly opaque tile of each square."""

    def __init__(self, facts: PixelFacts) -> None:
        # Squares grow with the sheet, so that a small picture gives some tiles and a large one not too many.
        side = round((facts.width * facts.height / MOST) ** 0.5)
        self._square = max(DETAIL_TILE, side // DETAIL_TILE * DETAIL_TILE)
        self._best: dict[tuple[int, int], Tile] = {}

    def see(self, strip: Strip, cells: Cells) -> None:
        """Look for busier tiles in this strip."""
        step = DETAIL_TILE // CELL
        rows, columns = cells.alpha.shape[0] // step, cells.alpha.shape[1] // step
        if not rows or not columns:
            return
        area = (slice(0, rows * step), slice(0, columns * step))
        solid = _least(cells.alpha[area], rows, columns) == 255
        if not solid.any():
            return
        # Every second line is enough to tell the busy tiles from the quiet ones, and pictures from flat art.
        activity, tone = _activity(cells.sample[: rows * step : 2, : columns * step, 1], rows, columns)
        for row, column in zip(*np.nonzero(solid & (activity > 0.2) & (tone >= _TONE_SHARE)), strict=True):
            x, y = int(column) * DETAIL_TILE, int(row) * DETAIL_TILE
            square = (x // self._square, (strip.y + y) // self._square)
            best = self._best.get(square)
            if best is None or activity[row, column] > best.activity:
                rgb = strip.rgba[y : y + DETAIL_TILE, x : x + DETAIL_TILE, :3].copy()
                if rgb.shape[:2] != (DETAIL_TILE, DETAIL_TILE):
                    continue  # over the rim
                self._best[square] = Tile(x, strip.y + y, rgb, float(activity[row, column]))

    def tiles(self) -> list[Tile]:
        """The kept tiles, busiest first."""
        return sorted(self._best.values(), key=lambda tile: -tile.activity)[:MOST]


def _least(alpha: Bytes, rows: int, columns: int) -> Bytes:
    """Smallest value in each of ``rows`` x ``columns`` equal blocks."""
    by_row = alpha.reshape(rows, -1, alpha.shape[1]).min(axis=1)
    least: Bytes = by_row.reshape(rows, columns, -1).min(axis=2)
    return least


def _activity(green: Bytes, rows: int, columns: int) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """How each of ``rows`` x ``columns`` equal blocks differs from sample to sample.

    Returns the mean difference, and the share of samples that differ a little: in a picture most do, in flat art,
    which has no fine detail to miss, nearly none.
    """
    level = np.ascontiguousarray(green)
    difference = np.zeros_like(level)
    difference[:, :-1] = cv2.absdiff(level[:, 1:], level[:, :-1])
    little = between(difference, _LITTLE, _MUCH)
    mean, share = (cv2.resize(each, (columns, rows), interpolation=cv2.INTER_AREA) for each in (difference, little))
    shape = (rows, columns)
    return np.asarray(mean, np.float32).reshape(shape), np.asarray(share, np.float32).reshape(shape) / np.float32(255.0)


class PatternTiles:
    """Keeps opaque tiles with enough grey in them, from a regular grid of at most 8 x 8."""

    def __init__(self, facts: PixelFacts) -> None:
        # A small picture is looked at in small tiles, so that several can agree.
        self._side = max(96, min(PATTERN_TILE, min(facts.width, facts.height) // 2))
        self._columns = _starts(facts.width, self._side)
        self._bands = set(_starts(-(-facts.height // 256), 1, _GRID))
        self._tiles: list[Tile] = []

    def see(self, strip: Strip, cells: Cells) -> None:
        """Take this strip's tiles."""
        height = min(self._side, len(strip.rgba))
        if strip.y // 256 not in self._bands or height < 64:
            return
        for x in self._columns:
            width = min(self._side, strip.rgba.shape[1] - x)
            inside = cells.alpha[: -(-height // CELL), x // CELL : -(-(x + width) // CELL)]
            if width < 64 or int(inside.min()) < 250:
                continue
            tile = strip.rgba[:height, x : x + width, :3]
            # A few of the pixels tell most artwork from a pattern of greys.
            if neutral(tile[::6, ::6]).mean() >= 0.2:
                self._tiles.append(Tile(x, strip.y, tile.copy(), 0.0))

    def tiles(self) -> list[Tile]:
        """The kept tiles, top to bottom."""
        return self._tiles


def neutral(rgb: Bytes) -> npt.NDArray[np.bool_]:
    """Where red, green and blue differ little, uint8 (h, w, 3) → bool (h, w)."""
    red, green, blue = (rgb[..., channel] for channel in range(3))
    most, least = np.maximum(red, np.maximum(green, blue)), np.minimum(red, np.minimum(green, blue))
    return np.asarray(most - least <= NEUTRAL)


def _starts(length: int, tile: int, most: int = _GRID) -> list[int]:
    """Where up to ``most`` tiles start along ``length``."""
    room = max(0, length - tile)
    count = max(1, min(most, length // tile))
    return sorted({round(room * i / max(1, count - 1)) if count > 1 else 0 for i in range(count)})
