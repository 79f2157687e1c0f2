"""Pieces of the artwork at full size, cut out while its strips go by."""

from __future__ import annotations

import cv2
import numpy as np

from preflight.measure.kernels import u8
from preflight.model import Box, Bytes, Strip
from preflight.views.rulers import Window


class Piece:
    """A window of the canvas, px; clear beyond the canvas. ``rgba`` and ``inks`` as in a strip."""

    def __init__(self, window: Window) -> None:
        x0, y0, x1, y1 = window
        self.window = window
        self.rgba: Bytes = np.zeros((y1 - y0, x1 - x0, 4), np.uint8)
        self.inks: Bytes | None = None

    def see(self, strip: Strip) -> None:
        """Take what the strip has of the window."""
        self._take(strip.rgba, strip.inks, 0, strip.y)

    def part(self, window: Window) -> Piece:
        """The same of another window."""
        part = Piece(window)
        part._take(self.rgba, self.inks, self.window[0], self.window[1])
        return part

    def _take(self, rgba: Bytes, inks: Bytes | None, x: int, y: int) -> None:
        """Pixels whose first one lies at ``x``, ``y`` of the canvas."""
        x0, y0, x1, y1 = self.window
        left, top, right, bottom = max(x0, x), max(y0, y), min(x1, x + rgba.shape[1]), min(y1, y + len(rgba))
        if left >= right or top >= bottom:
            return
        here = (slice(top - y0, bottom - y0), slice(left - x0, right - x0))
        there = (slice(top - y, bottom - y), slice(left - x, right - x))
        self.rgba[here] = rgba[there]
        if inks is not None:
            self.inks = np.zeros_like(self.rgba) if self.inks is None else self.inks
            self.inks[here] = inks[there]


class Busiest:
    """Looks for the window of ``side`` x ``side`` px with the most detail, among those inside one strip."""

    def __init__(self, box: Box, side: int) -> None:
        self.box, self.side = box, side
        self.piece: Piece | None = None
        self._most = 0.0

    def see(self, strip: Strip) -> None:
        """Look at one strip."""
        box, side = self.box, self.side
        top, bottom = max(0, box.y - strip.y), min(len(strip.rgba), box.y + box.height - strip.y)
        if bottom - top < side or box.width < side:
            return
        area = np.ascontiguousarray(strip.rgba[top:bottom, box.x : box.x + box.width])
        light = cv2.cvtColor(area, cv2.COLOR_RGBA2GRAY)
        edges = np.minimum(u8(cv2.convertScaleAbs(cv2.Laplacian(light, cv2.CV_16S))), np.uint8(64))
        edges[area[..., 3] < 250] = 0  # what shows between art and film is no detail
        sums = np.asarray(cv2.boxFilter(edges, cv2.CV_32F, (side, side), normalize=False, anchor=(0, 0)))
        valid = sums[: bottom - top - side + 1, : box.width - side + 1]
        _, most, _, place = cv2.minMaxLoc(np.ascontiguousarray(valid))
        if most > self._most:
            self._most = most
            x, y = box.x + place[0], strip.y + top + place[1]
            self.piece = Piece((x, y, x + side, y + side))
            self.piece.see(strip)
