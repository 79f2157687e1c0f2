"""Narrow strokes, and narrow gaps on the inverse: where they are, how wide, how long.

What an opening with a disc wider than the search width takes away is a candidate; each candidate pixel gets a
sub-pixel width; connected candidates make a part. Faint and blurred strokes are brought to full coverage first by the
largest value nearby, so that what looks pale on screen is judged by its shape.
"""

from __future__ import annotations

import math
from dataclasses import fields
from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.chords import HALF, TAIL, widths
from preflight.measure.kernels import CROSS, THREE, between, both, dilate, distinct, erode, solid, square, u8, without
from preflight.measure.labels import Labelled, labelled, roots_of
from preflight.measure.sheet import CELL
from preflight.measure.spans import Piece, Span
from preflight.model import Bytes
from preflight.records import dataclass

#: Candidates of one span that are measured one by one; of more, every n-th stands for n.
MOST_CANDIDATES = 4_000
#: Local maximum under which there is no stroke, and no gap: faint leftovers are another question's.
_INK_FLOOR, _GAP_FLOOR = 24, 96
_LOCAL = square(7)
_AROUND = square(11)
#: Widths, px, of a stroke on two rows of pixels, after the lift; it need not cover either fully.
_TWO_ROWS = (1.2, 2.05)
#: Levels by which a margin is paler than the art beside it.
_PALE = 64


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """Connected narrow parts; each field an array with one element a part, lengths in px."""

    box: npt.NDArray[np.float64]  #: (n, 4): x0, y0, x1, y1
    stroke: npt.NDArray[np.float64]  #: median width of the stroke
    low: npt.NDArray[np.float64]  #: 20 % quantile
    high: npt.NDArray[np.float64]  #: 80 % quantile
    length: npt.NDArray[np.float64]
    area: npt.NDArray[np.float64]
    attached: npt.NDArray[np.bool_]  #: to something wider
    veiled: npt.NDArray[np.float64]  #: share that lies in fades and translucent fills, 0…1
    share: npt.NDArray[np.float64]  #: of the whole connected part that is narrow, 0…1

    def __len__(self) -> int:
        return len(self.stroke)

    @property
    def size(self) -> npt.NDArray[np.float64]:
        """Longer side of each box."""
        return np.maximum(self.box[:, 2] - self.box[:, 0], self.box[:, 3] - self.box[:, 1])

    @property
    def extent(self) -> npt.NDArray[np.float64]:
        """Diagonal of each box."""
        return np.hypot(self.box[:, 2] - self.box[:, 0], self.box[:, 3] - self.box[:, 1])

    def where(self, keep: npt.NDArray[np.bool_] | npt.NDArray[np.intp]) -> Parts:
        """Some of the parts, by mask or by index."""
        return Parts(*(getattr(self, field.name)[keep] for field in fields(self)))


class Search(NamedTuple):
    """How narrow to look for, px, and the window that this needs."""

    stroke: float
    gaps: bool

    @property
    def radius(self) -> int:
        """Radius of the opening's disc: its diameter 2r + 1 is wider than the stroke by a pixel at least."""
        return max(1, math.ceil(self.stroke / 2))

    @property
    def cap(self) -> int:
        """The longest half chord that is followed."""
        return math.ceil(2.3 * self.stroke)

    @property
    def halo(self) -> int:
        """Pixels around a span that its answer depends on."""
        return max(2 * self.radius, self.cap + TAIL) + 5


class _Candidates(NamedTuple):
    """Candidate pixels of one span: label, place and width in px, and how many each stands for."""

    label: npt.NDArray[np.int64]
    x: npt.NDArray[np.intp]
    y: npt.NDArray[np.intp]
    width: npt.NDArray[np.float32]
    weight: npt.NDArray[np.int64]


class ThinParts:
    """Collects the narrow parts of a sheet span by span, top to bottom."""

    def __init__(self, search: Search) -> None:
        self.search = search
        self._labels = 0
        self._candidates: list[_Candidates] = []
        self._attached: list[npt.NDArray[np.int64]] = []
        self._joins: list[npt.NDArray[np.int64]] = []
        self._rows: dict[int, list[tuple[int, npt.NDArray[np.int64]]]] = {}

    def see(self, piece: Piece, ink: Bytes) -> None:
        """Look at one span with at least ``search.halo`` px around it; ``ink`` is its ``normalised_ink``."""
        # Gaps are those of the normalised ink: a flat translucent fill is ink throughout, no gap.
        cover, raw = ink, piece.alpha
        if self.search.gaps:
            raw = u8(255 - ink)
            cover = normalise(raw, _GAP_FLOOR)
        found = self._narrow(piece, cover)
        if found is None:
            return
        xs, ys, beside, (label, count) = found
        self._join(piece, xs, ys, label)
        self._attached.append(distinct(label[beside]) + self._labels)
        self._measure(piece, cover, raw, xs, ys, label, count)
        self._labels += count

    def _narrow(
        self, piece: Piece, cover: Bytes
    ) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], npt.NDArray[np.bool_], Labelled] | None:
        """What an opening takes away inside the span: columns, rows, which of it lies beside the rest, and labels.

        Along every curve and corner of solid art the opening leaves shavings one pixel thick: no part of anything.
        None when there is nothing else.
        """
        margin = 2 * self.search.radius + 1  # all that the opening looks at, and one more for what lies beside it
        mask = solid(_rimmed(cover, piece.halo - margin), HALF)
        wide = opened(mask, self.search.radius)
        narrow = without(_rimmed(mask, margin), _rimmed(wide, margin))
        near = _rimmed(dilate(_rimmed(wide, margin - 1), THREE), 1)
        core = without(narrow, near)
        x, y, width, height = cv2.boundingRect(core)
        if not width:
            return None
        # What is kept lies near the core, so the rest of the span need not be looked at.
        reach = _LOCAL.shape[0] // 2
        x0, y0 = max(0, x - reach), max(0, y - reach)
        area = (slice(y0, y + height + reach), slice(x0, x + width + reach))
        kept = both(narrow[area], dilate(core[area], _LOCAL))
        at = np.flatnonzero(kept != 0)
        ys = at.astype(np.int32) // np.int32(kept.shape[1])
        xs = at - ys * np.int32(kept.shape[1])
        beside = near[area].ravel()[at] != 0
        return xs + x0, ys.astype(np.intp) + y0, beside, labelled(kept, at, xs, ys)

    def _join(
        self, piece: Piece, xs: npt.NDArray[np.intp], ys: npt.NDArray[np.intp], label: npt.NDArray[np.int32]
    ) -> None:
        """Remember which parts go on across the seam between two bands."""
        span = piece.span
        top, bottom = (self._seam_row(span.x1 - span.x0, xs[row], label[row]) for row in _seams(span, ys))
        for x0, above in self._rows.get(span.y0, []):
            for shift in (-1, 0, 1):
                left, right = max(x0, span.x0 + shift), min(x0 + len(above), span.x1 + shift)
                if left >= right:
                    continue
                upper = above[left - x0 : right - x0]
                lower = top[left - shift - span.x0 : right - shift - span.x0]
                both = (upper >= 0) & (lower >= 0)
                if both.any():
                    pairs = set(zip(upper[both].tolist(), lower[both].tolist(), strict=True))
                    self._joins.append(np.array(sorted(pairs), np.int64))
        self._rows.setdefault(span.y1, []).append((span.x0, bottom))

    def _seam_row(self, width: int, xs: npt.NDArray[np.intp], label: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
        """Labels along a row, made unique over the sheet; -1 where there is none."""
        row = np.full(width, -1, np.int64)
        row[xs] = label
        row[xs] += self._labels
        return row

    def _measure(
        self,
        piece: Piece,
        cover: Bytes,
        raw: Bytes,
        xs: npt.NDArray[np.intp],
        ys: npt.NDArray[np.intp],
        label: npt.NDArray[np.int32],
        count: int,
    ) -> None:
        """Width at the candidates of parts that are large enough to matter."""
        goes_on = distinct(np.concatenate([label[row] for row in _seams(piece.span, ys)]))
        rows = max(1, len(ys) // (2 * MOST_CANDIDATES))
        if rows > 1:  # of a texture, every n-th row tells enough
            some = ys % rows == 0
            xs, ys, label = xs[some], ys[some], label[some]
        area = np.bincount(label, minlength=count) * rows
        # A part cut by the seam may go on, so only whole small parts are dropped unmeasured.
        small = area < 0.5 * self.search.stroke
        small[goes_on] = False
        keep = ~small[label]
        ys, xs, label = ys[keep], xs[keep], label[keep]
        # An odd step along the row-major list does not fall in with columns of a regular pattern.
        step = 1 if len(ys) <= MOST_CANDIDATES else -(-len(ys) // MOST_CANDIDATES) | 1
        ys, xs, label = ys[::step], xs[::step], label[::step]
        if not len(ys):
            return
        width = widths(cover, ys + piece.halo, xs + piece.halo, self.search.cap)
        if cover is not raw:
            width *= _as_drawn(width, cover[ys + piece.halo, xs + piece.halo], raw[ys + piece.halo, xs + piece.halo])
        place = (xs + piece.span.x0, ys + piece.span.y0)
        self._candidates.append(
            _Candidates(label.astype(np.int64) + self._labels, *place, width, np.full(len(ys), rows * step))
        )

    def parts(self, veil4: Bytes | None = None) -> Parts:
        """All parts narrower than the search width, in no order.

        Parameters
        ----------
        veil4
            Cells of fades and translucent fills, uint8 0/1 (h4, w4): how much of each part lies there is told.
        """
        found = [np.concatenate(column) for column in zip(*self._candidates, strict=True)] or [np.empty(0)] * 5
        label, x, y, width, weight = found
        roots = roots_of(self._labels, self._joins)
        group = roots[label.astype(np.int64)]
        whole = np.bincount(group, weights=weight, minlength=self._labels)
        thin = width < self.search.stroke
        order = np.flatnonzero(thin)
        order = order[np.lexsort((width[order], group[order]))]
        if not len(order):
            return _no_parts()
        attached = np.zeros(self._labels, bool)
        attached[roots[np.concatenate(self._attached)]] = True
        x, y, width, weight, group = x[order], y[order], width[order].astype(np.float64), weight[order], group[order]
        first = np.flatnonzero(np.concatenate(([True], group[1:] != group[:-1])))
        count = np.diff(np.concatenate((first, [len(group)])))
        low, middle, high = (width[first + np.minimum((count * q).astype(np.intp), count - 1)] for q in (0.2, 0.5, 0.8))
        veil = np.zeros(len(x)) if veil4 is None else veil4[y // CELL, x // CELL]
        area = np.add.reduceat(weight, first).astype(np.float64)
        box = (np.minimum.reduceat(x, first), np.minimum.reduceat(y, first))
        far = (np.maximum.reduceat(x, first) + 1, np.maximum.reduceat(y, first) + 1)
        return Parts(
            box=np.stack((*box, *far), axis=1).astype(np.float64),
            stroke=middle,
            low=low,
            high=high,
            # A stroke of width w has about w candidate pixels to each px of its length, and one at least.
            length=np.add.reduceat(weight / np.maximum(width, 0.7), first),
            area=area,
            attached=attached[group[first]],
            veiled=np.add.reduceat(veil.astype(np.float64), first) / count,
            share=area / np.maximum(whole[group[first]], 1.0),
        )


def joined(one: Parts, other: Parts) -> Parts:
    """The parts of both."""
    return Parts(*(np.concatenate((getattr(one, f.name), getattr(other, f.name))) for f in fields(Parts)))


def _as_drawn(width: npt.NDArray[np.float32], cover: Bytes, raw: Bytes) -> npt.NDArray[np.float32]:
    """By how much the lift to full coverage made hairlines wider than they were drawn, float32 (n,).

    A line of less than two pixels that lies between two rows covers neither; lifted, it would be two pixels wide.
    """
    hairline = (width >= _TWO_ROWS[0]) & (width <= _TWO_ROWS[1]) & (raw >= HALF)
    return np.where(hairline, raw / np.maximum(cover, 1).astype(np.float32), np.float32(1.0))


def _no_parts() -> Parts:
    none = np.empty(0)
    return Parts(np.empty((0, 4)), none, none, none, none, none, np.empty(0, bool), none, none)


def _seams(span: Span, ys: npt.NDArray[np.intp]) -> tuple[slice, slice]:
    """Which of the pixels, in order of their rows, lie on a span's first row and which on its last."""
    first, last = np.searchsorted(ys, (1, span.y1 - span.y0 - 1)).tolist()
    return slice(0, first), slice(last, None)


def _rimmed(array: Bytes, rim: int) -> Bytes:
    """The array without so many pixels on every side."""
    return array[rim : array.shape[0] - rim, rim : array.shape[1] - rim]


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
    pale = solid(without(dilate(peak, _AROUND), peak), _PALE)
    return without(both(lifted, solid(peak, floor)), pale)


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
