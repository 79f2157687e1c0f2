"""Narrow strokes, and narrow gaps on the inverse: where they are, how wide, how long.

What an opening with a disc wider than the search width takes away is a candidate; each candidate pixel gets a
sub-pixel width; connected candidates make a part. Faint and blurred strokes are brought to full coverage first by the
largest value nearby, so that what looks pale on screen is judged by its shape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.chords import HALF, TAIL, widths
from preflight.measure.kernels import CROSS, THREE, between, both, dilate, erode, solid, square, u8, without
from preflight.measure.spans import Piece
from preflight.model import Bytes

#: Candidates of one span that are measured one by one; of more, every n-th stands for n.
MOST_CANDIDATES = 20_000
#: Local maximum under which there is no stroke, and no gap: faint leftovers are another question's.
_INK_FLOOR, _GAP_FLOOR = 24, 96
_LOCAL = square(7)
_AROUND = square(11)
_THREE_QUARTERS = (np.arange(256) * 0.75).astype(np.uint8)


@dataclass(frozen=True, slots=True)
class Part:
    """A connected narrow part, lengths in px."""

    x: int
    y: int
    width: int  #: of the box
    height: int
    stroke: float  #: median width of the stroke
    low: float  #: 20 % quantile
    high: float  #: 80 % quantile
    length: float
    area: float
    attached: bool  #: to something wider

    @property
    def extent(self) -> float:
        """Diagonal of the box."""
        return math.hypot(self.width, self.height)


@dataclass(frozen=True, slots=True)
class Search:
    """How narrow to look for, px, and the window that this needs."""

    stroke: float
    gaps: bool

    @property
    def radius(self) -> int:
        """Radius of the opening's disc: its diameter 2r + 1 is wider than the stroke by a pixel at least."""
        return max(1, math.ceil(self.stroke / 2))

    @property
    def cap(self) -> int:
        return math.ceil(2.3 * self.stroke)

    @property
    def halo(self) -> int:
        """Pixels around a span that its answer depends on."""
        return max(2 * self.radius, self.cap + TAIL) + 5


class ThinParts:
    """Collects the narrow parts of a sheet span by span, top to bottom."""

    def __init__(self, search: Search) -> None:
        self.search = search
        self._labels = 0
        self._pixels: list[npt.NDArray[np.float64]] = []  # columns: label, x, y, width, weight
        self._attached: list[npt.NDArray[np.int64]] = []
        self._joins: list[npt.NDArray[np.int64]] = []
        self._rows: dict[int, list[tuple[int, npt.NDArray[np.int64]]]] = {}

    def see(self, piece: Piece, ink: Bytes) -> None:
        """Look at one span; ``piece`` carries at least ``search.halo`` px around it, ``ink`` is its ``normalised_ink``."""
        # Gaps are those of the normalised ink: a flat translucent fill is ink throughout, no gap.
        cover = ink
        if self.search.gaps:
            film = u8(255 - ink)
            if self._narrow(piece, solid(film, _GAP_FLOOR)) is None:
                return
            cover = normalise(film, _GAP_FLOOR)
        split = self._narrow(piece, solid(cover, HALF))
        if split is None:
            return
        narrow, near = split
        count, found = cv2.connectedComponents(narrow, connectivity=8, ltype=cv2.CV_32S)
        labels = np.asarray(found, np.int32)
        self._join(piece, labels)
        xs, ys = _pixels(both(near, narrow))
        self._attached.append(np.unique(labels[ys, xs]).astype(np.int64) + self._labels)
        self._measure(piece, cover, narrow, labels, count)
        self._labels += count

    def _narrow(self, piece: Piece, mask: Bytes) -> tuple[Bytes, Bytes] | None:
        """What an opening takes away inside the span, and what lies in or beside the rest; None when it is nothing.

        Along every curve and corner of solid art the opening leaves shavings one pixel thick: no part of anything.
        """
        wide = opened(mask, self.search.radius)
        narrow = np.ascontiguousarray(piece.inner(without(mask, wide)))
        near = np.ascontiguousarray(piece.inner(dilate(wide, THREE)))
        return (narrow, near) if cv2.countNonZero(without(narrow, near)) else None

    def _join(self, piece: Piece, labels: npt.NDArray[np.int32]) -> None:
        """Remember which parts go on across the seam between two bands."""
        span = piece.span
        top, bottom = (_seam_row(row, self._labels) for row in (labels[0], labels[-1]))
        for x0, above in self._rows.get(span.y0, []):
            for shift in (-1, 0, 1):
                left, right = max(x0, span.x0 + shift), min(x0 + len(above), span.x1 + shift)
                if left >= right:
                    continue
                upper = above[left - x0 : right - x0]
                lower = top[left - shift - span.x0 : right - shift - span.x0]
                both = (upper >= 0) & (lower >= 0)
                if both.any():
                    self._joins.append(np.unique(np.stack((upper[both], lower[both]), axis=1), axis=0))
        self._rows.setdefault(span.y1, []).append((span.x0, bottom))

    def _measure(self, piece: Piece, cover: Bytes, narrow: Bytes, labels: npt.NDArray[np.int32], count: int) -> None:
        """Width at the candidates of parts that are large enough to matter."""
        xs, ys = _pixels(narrow)
        label = labels[ys, xs]
        area = np.bincount(label, minlength=count)
        # A part cut by the seam may go on, so only whole small parts are dropped unmeasured.
        small = area < 0.5 * self.search.stroke
        small[np.unique(np.concatenate((labels[0], labels[-1])))] = False
        keep = ~small[label]
        ys, xs, label = ys[keep], xs[keep], label[keep]
        weight = max(1, -(-len(ys) // MOST_CANDIDATES))
        if weight > 1:
            # An odd step along the row-major list does not fall in with columns of a regular pattern.
            step = weight | 1
            ys, xs, label, weight = ys[::step], xs[::step], label[::step], step
        if not len(ys):
            return
        width = widths(cover, ys + piece.halo, xs + piece.halo, self.search.cap)
        columns = (label + self._labels, xs + piece.span.x0, ys + piece.span.y0, width, np.full(len(ys), weight))
        self._pixels.append(np.stack([column.astype(np.float64) for column in columns], axis=1).astype(np.float64))

    def parts(self) -> list[Part]:
        """All parts narrower than the search width, in no order."""
        if not self._pixels:
            return []
        pixels = np.concatenate(self._pixels)
        roots = _roots(self._labels, self._joins)
        group = roots[pixels[:, 0].astype(np.int64)]
        thin = pixels[:, 3] < self.search.stroke
        pixels, group = pixels[thin], group[thin]
        order = np.lexsort((pixels[:, 3], group))
        pixels, group = pixels[order], group[order]
        if not len(group):
            return []
        attached = np.zeros(self._labels, bool)
        attached[roots[np.concatenate(self._attached)]] = True
        first = np.flatnonzero(np.concatenate(([True], group[1:] != group[:-1])))
        last = np.concatenate((first[1:], [len(group)]))
        pairs = zip(first.tolist(), last.tolist(), strict=True)
        return [_part(pixels[a:b], bool(attached[group[a]])) for a, b in pairs]


def _pixels(mask: Bytes) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Columns and rows of the pixels that are set."""
    points: Any = cv2.findNonZero(mask)
    if points is None:
        return np.empty(0, np.intp), np.empty(0, np.intp)
    flat = np.reshape(points, (-1, 2)).astype(np.intp)  # its shape differs between releases
    return flat[:, 0], flat[:, 1]


def _part(pixels: npt.NDArray[np.float64], attached: bool) -> Part:
    """One part from its pixels, sorted by width."""
    x, y, width, weight = pixels[:, 1], pixels[:, 2], pixels[:, 3], pixels[:, 4]
    count = len(pixels)
    low, middle, high = (float(width[min(count - 1, int(count * q))]) for q in (0.2, 0.5, 0.8))
    x0, y0 = int(x.min()), int(y.min())
    return Part(
        x=x0,
        y=y0,
        width=int(x.max()) - x0 + 1,
        height=int(y.max()) - y0 + 1,
        stroke=middle,
        low=low,
        high=high,
        # A stroke of width w has about w candidate pixels to each px of its length, and one at least.
        length=float((weight / np.maximum(width, 0.7)).sum()),
        area=float(weight.sum()),
        attached=attached,
    )


def _seam_row(row: npt.NDArray[np.int32], offset: int) -> npt.NDArray[np.int64]:
    """Labels of a row made unique over the sheet; -1 where there is none."""
    return np.where(row > 0, row.astype(np.int64) + offset, -1)


def _roots(count: int, joins: list[npt.NDArray[np.int64]]) -> npt.NDArray[np.int64]:
    """The representative of each label once joined labels are one."""
    parent = np.arange(count, dtype=np.int64)

    def root(label: int) -> int:
        while parent[label] != label:
            parent[label] = parent[parent[label]]
            label = int(parent[label])
        return label

    for pairs in joins:
        for one, other in pairs.tolist():
            parent[root(one)] = root(other)
    touched = np.flatnonzero(parent != np.arange(count))
    for label in touched.tolist():
        parent[label] = root(label)
    return parent


def normalised_ink(piece: Piece) -> Bytes:
    """The piece's opacity with faint and blurred strokes brought to full coverage."""
    return normalise(piece.alpha, _INK_FLOOR)


def normalise(cover: Bytes, floor: int) -> Bytes:
    """Coverage relative to the largest within 7 x 7 px; nothing where even that is below ``floor``."""
    peak = dilate(cover, _LOCAL)
    if not cv2.countNonZero(both(between(peak, 0, 249), cover)):
        return cover  # crisp art: every rim has full coverage beside it
    lifted = u8(cv2.divide(cover, peak, scale=255))
    # A pale margin along solid art, such as a shadow's, would be lifted as a strip of its own: it is no stroke.
    least = np.maximum(u8(cv2.LUT(dilate(peak, _AROUND), _THREE_QUARTERS)), np.uint8(floor))
    return both(lifted, u8(cv2.compare(peak, least, cv2.CMP_GE)))


def opened(mask: Bytes, radius: int) -> Bytes:
    """Opening with an octagon of diameter 2·radius + 1, a good stand-in for the disc at a tenth of the cost."""
    boxes = max(1, round(0.585 * radius))
    crosses = radius - boxes
    box = square(2 * boxes + 1)
    shrunk = erode(mask, box)
    for _ in range(crosses):
        shrunk = erode(shrunk, CROSS)
    for _ in range(crosses):
        shrunk = dilate(shrunk, CROSS)
    return dilate(shrunk, box)
