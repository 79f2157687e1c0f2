"""A rim of another background's colour in the edge pixels, ``fringe-share``.

Art that was cut out of a white page keeps white in its half-transparent edge: on a dark garment it prints as a halo.
Where opacity is a, the edge pixel shows C although the art just inside is F; if C = a·F + (1 − a)·B for one and the
same B all round, B is the old background (the usual compositing equation).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from preflight.measure.sheet import CELL, Cells
from preflight.model import MOST_PLACES, Bytes, Measurement, Spot, Strip

#: Opacity of the edge pixels that are asked: enough of both sides in them.
_LOW, _HIGH = 45, 205
#: How far inward the art's own colour is looked for, px: past the edge, before the next detail.
_STEPS = (1, 2, 3, 4)
_BEYOND = 2
#: Edge pixels asked per strip, and the fewest that allow an answer.
_PER_STRIP = 500
_LEAST = 40
#: The grounds that art is cut out of. Rims of other colours are far more often drawn or shaded.
_GROUNDS = {"white": 255.0, "black": 0.0}
#: Levels of 255 by which the art must differ from the ground to tell, and by which the old ground may be missed.
_DIFFERENT = 80.0
_AGREE = 50.0
#: How far outside 0…255 an old ground may come out, by rounding.
_SLACK = 15.0
#: Film must be reached within so many px outward, or the pixel is no edge but a translucent fill's.
_OUTWARD, _EMPTY = 4, 20


class Fringe:
    """Collects edge pixels and the art's colour just inside them."""

    def __init__(self) -> None:
        self._rows: list[npt.NDArray[np.float32]] = []  # x, y, opacity, edge RGB, inside RGB

    def see(self, strip: Strip, cells: Cells) -> None:
        """Ask some of this strip's edge pixels."""
        mixed = (cells.alpha > 8) & (cells.alpha < 250)
        if not mixed.any():
            return
        alpha = strip.rgba[..., 3]
        ys, xs = _edge_pixels(alpha, mixed)
        if not len(ys):
            return
        inward_y, inward_x = _inward(alpha, ys, xs)
        found = _inside(alpha, ys, xs, inward_y, inward_x)
        keep = found[0] >= 0
        ys, xs, fy, fx = ys[keep], xs[keep], found[0][keep], found[1][keep]
        if not len(ys):
            return
        edge, inside = strip.rgba[ys, xs], strip.rgba[fy, fx]
        columns = (xs[:, None], ys[:, None] + strip.y, edge[:, 3:], edge[:, :3], inside[:, :3])
        self._rows.append(np.concatenate([column.astype(np.float32) for column in columns], axis=1))

    def answer(self) -> Measurement:
        """``fringe-share``: percent of the edge pixels asked that show one foreign colour; None when none does."""
        rows = np.concatenate(self._rows) if self._rows else np.empty((0, 9), np.float32)
        if len(rows) < _LEAST:
            return Measurement("fringe-share", None, "%")
        found = max((_against(rows, ground) for ground in _GROUNDS), key=lambda one: one[0])
        value, marked, ground = found
        spots, total = _spots(rows[marked])
        details = {"colour": ground}
        return Measurement("fringe-share", value, "%", spots=spots, spots_total=total, details=details)


def _against(rows: npt.NDArray[np.float32], ground: str) -> tuple[float, npt.NDArray[np.bool_], str]:
    """Percent of the edge pixels that show a rim of ``ground``, and which do; art of that colour cannot tell."""
    colour = np.float32(_GROUNDS[ground])
    share = rows[:, 2:3] / 255.0
    edge, inside = rows[:, 3:6], rows[:, 6:9]
    asked = np.abs(inside - colour).max(axis=1) > _DIFFERENT
    if asked.sum() < _LEAST:
        return 0.0, np.zeros(len(rows), bool), ground
    behind = (edge - share * inside) / (1.0 - share)
    mixed = (np.abs(behind - colour).max(axis=1) <= _AGREE) & ((behind > -_SLACK) & (behind < 255 + _SLACK)).all(axis=1)
    # A rough cut-out leaves a rim that is itself white, a pixel or two wide. A black one may be that too, but is far
    # more often an outline and meant: on real clip art it was in 16 of 119 (looked at), so it is let pass.
    solid = (np.abs(edge - colour).max(axis=1) <= _AGREE) if ground == "white" else np.zeros(len(rows), bool)
    marked = asked & (mixed | solid)
    return 100.0 * float(marked.sum()) / float(asked.sum()), marked, ground


def _edge_pixels(alpha: Bytes, mixed: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Up to ``_PER_STRIP`` half-transparent pixels, spread evenly over the mixed cells."""
    cells = np.flatnonzero(mixed)
    # On small art every pixel of a cell is asked, on large art one of each or of each n-th; a different one each
    # time, so that no direction of edge is preferred.
    each = max(1, min(16, 2 * _PER_STRIP // max(1, len(cells))))
    step = max(1, len(cells) // (2 * _PER_STRIP))
    cy, cx = np.divmod(np.repeat(cells[::step], each), mixed.shape[1])
    phase = np.arange(len(cy)) * 7 % 16
    ys = np.minimum(cy * CELL + phase // CELL, alpha.shape[0] - 1)
    xs = np.minimum(cx * CELL + phase % CELL, alpha.shape[1] - 1)
    value = alpha[ys, xs]
    margin = _STEPS[-1] + _BEYOND + 1
    ok = (value >= _LOW) & (value <= _HIGH)
    ok &= (ys >= margin) & (ys < alpha.shape[0] - margin) & (xs >= margin) & (xs < alpha.shape[1] - margin)
    return ys[ok], xs[ok]


def _inward(
    alpha: Bytes, ys: npt.NDArray[np.intp], xs: npt.NDArray[np.intp]
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """Unit vector towards more opacity at each pixel."""
    dx = np.zeros(len(ys), np.float32)
    dy = np.zeros(len(ys), np.float32)
    for shift, weight in ((-1, 1), (0, 2), (1, 1)):
        dx += weight * alpha[ys + shift, xs + 1].astype(np.float32)
        dx -= weight * alpha[ys + shift, xs - 1].astype(np.float32)
        dy += weight * alpha[ys + 1, xs + shift].astype(np.float32)
        dy -= weight * alpha[ys - 1, xs + shift].astype(np.float32)
    length = np.maximum(np.hypot(dx, dy), 1e-3)
    return (dy / length).astype(np.float32), (dx / length).astype(np.float32)


def _inside(
    alpha: Bytes,
    ys: npt.NDArray[np.intp],
    xs: npt.NDArray[np.intp],
    inward_y: npt.NDArray[np.float32],
    inward_x: npt.NDArray[np.float32],
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Opaque pixel a little inside each edge pixel; −1 where none is near."""
    out_y = np.rint(ys - _OUTWARD * inward_y).astype(np.intp)
    out_x = np.rint(xs - _OUTWARD * inward_x).astype(np.intp)
    steps = np.array(_STEPS, np.float32)[:, None]
    near_y, near_x = np.rint(ys + steps * inward_y).astype(np.intp), np.rint(xs + steps * inward_x).astype(np.intp)
    steps = steps + np.float32(_BEYOND)
    far_y, far_x = np.rint(ys + steps * inward_y).astype(np.intp), np.rint(xs + steps * inward_x).astype(np.intp)
    hit = (alpha[near_y, near_x] >= 250) & (alpha[far_y, far_x] >= 250) & (alpha[out_y, out_x] <= _EMPTY)
    first = (hit.argmax(axis=0), np.arange(len(ys)))
    found_y, found_x = (np.where(hit[first], far[first], -1) for far in (far_y, far_x))
    return found_y, found_x


def _spots(rows: npt.NDArray[np.float32]) -> tuple[tuple[Spot, ...], int]:
    """Fringed pixels gathered into squares of 64 px, fullest first."""
    if not len(rows):
        return (), 0
    side = 64
    column, row = ((rows[:, axis] // side).astype(np.intp) for axis in (0, 1))
    wide = int(column.max()) + 1
    counts = np.bincount(row * wide + column)
    squares = np.flatnonzero(counts)
    order = squares[np.argsort(-counts[squares], kind="stable")][:MOST_PLACES]
    spots = tuple(Spot(at % wide * side, at // wide * side, side, side) for at in order.tolist())
    return spots, len(squares)
