"""Which pixels hang together, corners count."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import u8
from preflight.model import Bytes

Ints: TypeAlias = npt.NDArray[np.int32]
#: A label for each pixel, and how many labels there are.
Labelled: TypeAlias = tuple[Ints, int]
#: Packing pays where fewer than one pixel in so many is set.
_DENSE = 25


def connected(mask: Bytes) -> Ints:
    """Label of the connected area that each set pixel belongs to, corners count; 0 elsewhere. int32 (h, w)."""
    return np.asarray(cv2.connectedComponents(mask, connectivity=8, ltype=cv2.CV_32S)[1], np.int32)


def boxes(mask: Bytes, labels: Ints) -> Ints:
    """Left, top, width, height and area of each label's pixels, int32 (n, 5), in OpenCV's columns; row 0 is zero.

    ``labels`` are those that ``connected`` gives for ``mask``. OpenCV's own table takes five times as long, since it
    counts pixel by pixel; here each run of a row is looked at once.
    """
    width = mask.shape[1]
    rimmed = u8(cv2.copyMakeBorder(mask, 0, 0, 1, 1, cv2.BORDER_CONSTANT, value=0))
    steps = np.flatnonzero(rimmed[:, 1:] != rimmed[:, :-1])
    y = steps[::2] // (width + 1)
    first, past = steps[::2] - y * (width + 1), steps[1::2] - y * (width + 1)
    label = labels[y, first]
    table = np.zeros((int(label.max(initial=0)) + 1, 5), np.int32)
    low = np.full((2, len(table)), np.iinfo(np.int32).max, np.int32)
    high = np.zeros((2, len(table)), np.int32)
    for least, most, start, end in ((low[0], high[0], first, past), (low[1], high[1], y, y + 1)):
        np.minimum.at(least, label, start.astype(np.int32))
        np.maximum.at(most, label, end.astype(np.int32))
    table[1:, :2], table[1:, 2:4] = low.T[1:], (high - low).T[1:]
    table[:, cv2.CC_STAT_AREA] = np.bincount(label, weights=past - first, minlength=len(table))
    return table


def labelled(
    picture: Bytes, at: npt.NDArray[np.intp], xs: npt.NDArray[np.integer[Any]], ys: npt.NDArray[np.integer[Any]]
) -> Labelled:
    """Label of the connected area that each pixel belongs to, from 1, and how many labels there are with 0.

    Parameters
    ----------
    picture
        uint8 (h, w), not zero where something is.
    at, xs, ys
        Its pixels that are not zero: places in the whole picture, columns, rows.

    Notes
    -----
    Where pixels are few on many rows they are labelled on a picture from which the rows and columns that have none were
    taken out.
    """
    if len(at) * _DENSE >= picture.size:
        count, labels = cv2.connectedComponents(picture, connectivity=8, ltype=cv2.CV_32S)
        return np.asarray(labels, np.int32).ravel()[at], count
    columns, rows = _packed(xs), _packed(ys)
    xs, ys = columns[xs], rows[ys]
    mask = np.zeros((rows[-1] + 1, columns[-1] + 1), np.uint8)
    mask[ys, xs] = 255
    count, labels = cv2.connectedComponents(mask, connectivity=8, ltype=cv2.CV_32S)
    return np.asarray(labels, np.int32)[ys, xs], count


def _packed(places: npt.NDArray[np.integer[Any]]) -> npt.NDArray[np.intp]:
    """Where each place goes once the empty ones are taken out, all but two of each run.

    In pairs, since the labelling walks over pairs: so labels keep their order.
    """
    pairs = np.zeros(int(places.max()) // 2 + 2, bool)
    pairs[places // 2] = True
    pairs[1:] |= pairs[:-1]
    first = 2 * (np.cumsum(pairs) - pairs)
    return np.stack((first, first + 1), axis=1).ravel()


def roots_of(count: int, joins: Sequence[npt.NDArray[np.int64]]) -> npt.NDArray[np.int64]:
    """The representative of each label once joined labels are one."""
    parent = list(range(count))  # a list is read one by one three times as fast as an array

    def root(label: int) -> int:
        while parent[label] != label:
            parent[label] = parent[parent[label]]
            label = parent[label]
        return label

    for pairs in joins:
        for one, other in pairs.tolist():
            parent[root(one)] = root(other)
    return np.array([label if parent[label] == label else root(label) for label in range(count)], np.int64)
