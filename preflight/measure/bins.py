"""Sorting a map of samples into bins of like colours, a few rows at a time.

numpy makes copies of 8 bytes an element for this, and fresh memory costs more than the counting (measured).
"""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import u8
from preflight.model import Bytes

#: Rows that are sorted at a time, for a table of up to so many colours.
_ROWS, _FEW_COUNTERS = 64, 32_768


def areas(index: npt.NDArray[np.int32], weight: npt.NDArray[np.float32], rows: int) -> npt.NDArray[np.float64]:
    """Visible px of each row of a table, float64 (n,)."""
    area = np.zeros(rows)
    for part in _parts(len(index), rows):
        area += np.bincount(index[part].ravel(), weights=weight[part].ravel(), minlength=rows)
    area[0] = 0.0
    return area


def _parts(height: int, counters: int) -> Iterator[slice]:
    """Rows of a map a few at a time: numpy makes copies of 8 bytes an element, and fresh memory is dear.

    For a table of many counters in fewer parts, since those are added up for each.
    """
    step = max(_ROWS, counters * _ROWS // _FEW_COUNTERS)
    for first in range(0, height, step):
        yield slice(first, first + step)


def sort_colours(
    colours: Bytes, channels: int, bits: int, weight: npt.NDArray[np.float32]
) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.float64]]:
    """Row of each cell and the mean colour of each row, by the first ``channels`` of the samples, uint8 (h, w, 4).

    Row 0 is for cells where nothing is visible.
    """
    colours = np.ascontiguousarray(colours)
    index = np.empty(colours.shape[:2], np.int32)
    counts = np.zeros((1 << (bits * channels)) + 1, np.int64)
    for part in _parts(len(index), len(counts)):
        index[part] = _codes(colours[part], channels, bits) * (weight[part] > 0)
        counts += np.bincount(index[part].ravel(), minlength=len(counts))
    counts[0] = 1
    used = np.flatnonzero(counts)
    row = np.zeros(len(counts), np.int32)
    row[used] = np.arange(len(used), dtype=np.int32)
    for part in _parts(len(index), 0):
        np.take(row, index[part], out=index[part], mode="clip")
    return index, _means(colours[..., :channels], index, used - 1, bits)


def _codes(colours: Bytes, channels: int, bits: int) -> npt.NDArray[np.int32]:
    """Number of each colour's bin, from 1, int32 (h, w)."""
    code = np.zeros(colours.shape[:2], np.int32)
    for channel in range(channels):
        code <<= bits
        code |= u8(cv2.extractChannel(colours, channel)) >> (8 - bits)
    code += 1
    return code


def _means(
    colours: Bytes, index: npt.NDArray[np.int32], codes: npt.NDArray[np.intp], bits: int
) -> npt.NDArray[np.float64]:
    """Mean colour of each row, float64 (n, channels), from a fifth of the cells or fewer.

    A row that has none of these takes the middle of its bin.
    """
    channels = colours.shape[2]
    # A step that does not divide the rows walks through all columns; an even grid sees a ramp's bins from one side.
    step = next((step for step in (5, 7, 9, 11, 13) if index.shape[1] % step), 1)
    some, seen = index.reshape(-1)[::step], colours.reshape(-1, channels)[::step]
    counts = np.bincount(some, minlength=len(codes))
    means = np.zeros((len(codes), channels))
    for channel in range(channels):
        shift = bits * (channels - 1 - channel)
        level = (np.maximum(codes, 0) >> shift) & ((1 << bits) - 1)
        middle = (level << (8 - bits)) + (1 << (8 - bits)) / 2 - 0.5
        sums = np.bincount(some, weights=seen[:, channel], minlength=len(codes))
        means[:, channel] = np.where(counts > 0, sums / np.maximum(counts, 1), middle)
    return means
