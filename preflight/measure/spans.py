"""Where there is an edge at all: the pieces of the alpha plane that the kernels must look at.

Most of a sheet is empty film or solid art, where nothing about edges can be asked. Cells of 64 px that are neither
wholly empty nor wholly opaque, and their neighbours, are gathered into pieces of rows.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import cv2
import numpy as np

from preflight.measure.kernels import THREE, dilate, u8
from preflight.measure.sheet import CELL
from preflight.model import Bytes

#: Side of a coarse cell and height of a band of pieces, px.
COARSE = 64
BAND = 256


class Span(NamedTuple):
    """A piece of the plane that holds edges: rows ``y0:y1``, columns ``x0:x1`` (px)."""

    y0: int
    y1: int
    x0: int
    x1: int


class Piece(NamedTuple):
    """A span with its surroundings: ``alpha`` carries ``halo`` more pixels on every side, empty beyond the canvas.

    ``inner`` crops any array of that size back to the span.
    """

    span: Span
    alpha: Bytes
    halo: int

    def inner(self, array: Bytes) -> Bytes:
        """The part of ``array`` that belongs to the span itself."""
        return array[
            self.halo : self.halo + self.span.y1 - self.span.y0, self.halo : self.halo + self.span.x1 - self.span.x0
        ]


def coarse_cells(alpha4: Bytes, *, neighbours: bool) -> tuple[Bytes, Bytes]:
    """Which 64-px cells are mixed and which are full and not mixed, uint8 0/1.

    With ``neighbours`` a cell beside a mixed one counts as mixed, and a full one on the canvas' rim, beyond which
    there is film: for questions that reach out from an edge.
    """
    step = COARSE // CELL
    h, w = alpha4.shape
    bottom, right = -h % step, -w % step
    low = u8(cv2.copyMakeBorder(alpha4, 0, bottom, 0, right, cv2.BORDER_CONSTANT, value=255))
    high = u8(cv2.copyMakeBorder(alpha4, 0, bottom, 0, right, cv2.BORDER_CONSTANT, value=0))
    rows, columns = low.shape[0] // step, low.shape[1] // step
    # Down the columns first: numpy is quick at that, and what is left is small.
    least = low.reshape(rows, step, -1).min(axis=1).reshape(rows, columns, step).min(axis=2)
    most = high.reshape(rows, step, -1).max(axis=1).reshape(rows, columns, step).max(axis=2)
    full = (least == 255).astype(np.uint8)
    empty = (most == 0).astype(np.uint8)
    mixed = u8(1 - (full | empty))
    if neighbours:
        rim = np.ones_like(full)
        rim[1:-1, 1:-1] = 0
        mixed = dilate(mixed, THREE) | (full & rim)
    # An edge may run along the very seam between a full and an empty cell.
    mixed = mixed | (dilate(full, THREE) & dilate(empty, THREE))
    return mixed, u8(full & (1 - mixed))


def spans(alpha4: Bytes, width: int, height: int, *, neighbours: bool = False) -> list[Span]:
    """The spans of a sheet of ``width`` x ``height`` px, top to bottom; they never touch sideways."""
    mixed, _ = coarse_cells(alpha4, neighbours=neighbours)
    found = []
    per_band = BAND // COARSE
    for band in range(0, mixed.shape[0], per_band):
        columns = mixed[band : band + per_band].max(axis=0)
        y0, y1 = band * COARSE, min(height, (band + per_band) * COARSE)
        for first, last in _runs(columns):
            found.append(Span(y0, y1, first * COARSE, min(width, last * COARSE)))
    return [span for span in found if span.x1 > span.x0 and span.y1 > span.y0]


def _runs(flags: Bytes) -> Iterator[tuple[int, int]]:
    """First and one-past-last index of each run of ones."""
    steps = np.flatnonzero(np.diff(np.concatenate(([0], flags, [0])).astype(np.int8)))
    for first, last in zip(steps[::2], steps[1::2], strict=True):
        yield int(first), int(last)


def cut(plane: Bytes, span: Span, halo: int) -> Piece:
    """The span's pixels with ``halo`` more on every side; beyond the canvas there is no ink."""
    height, width = plane.shape
    y0, y1, x0, x1 = span.y0 - halo, span.y1 + halo, span.x0 - halo, span.x1 + halo
    inside = plane[max(0, y0) : min(height, y1), max(0, x0) : min(width, x1)]
    pads = (max(0, -y0), max(0, y1 - height), max(0, -x0), max(0, x1 - width))
    if any(pads):
        inside = u8(cv2.copyMakeBorder(inside, *pads, cv2.BORDER_CONSTANT, value=0))
    return Piece(span, inside, halo)
