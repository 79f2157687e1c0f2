"""A rim of another background's colour in the edge pixels, ``fringe-share``.

Art that was cut out of a white page keeps white in its half-transparent edge: on a dark garment it prints as a halo.
Where opacity is a, the edge pixel shows C although the art just inside is F; if C = a·F + (1 − a)·B for one and the
same B all round, B is the old background (the usual compositing equation).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from preflight.measure import rims
from preflight.measure.sheet import CELL, Cells, Sheet
from preflight.model import MOST_PLACES, Bytes, Measurement, Spot, Strip

#: Opacity of the edge pixels that are asked: enough of both sides in them.
_LOW, _HIGH = 45, 205
#: Where on the way inward the art's own colour is looked for: past the edge, before the next detail. A pixel that is
#: opaque, and another two px further in, whose colour is taken.
_EDGE, _NEAR, _FAR = (
    rims.STEPS.index(0),
    slice(rims.STEPS.index(1), rims.STEPS.index(5)),
    slice(rims.STEPS.index(3), None),
)
#: The eight pixels around one, down and right, and what each says of the slope of opacity, down and right.
_AROUND = np.array([(y, x) for y in (-1, 0, 1) for x in (-1, 0, 1) if (y, x) != (0, 0)], np.intp).T
_SLOPE = (_AROUND * (2 - np.abs(_AROUND[::-1]))).T.astype(np.float32)
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
#: Opacity of film. It must be reached at the first step, 4 px outward, or the pixel is a translucent fill's.
_EMPTY = 20


class Fringe:
    """Collects edge pixels with the colours across the edge at each."""

    def __init__(self) -> None:
        self._places: list[npt.NDArray[np.intp]] = []  # x, y
        self._profiles: list[Bytes] = []  # RGBA at the steps of ``rims.STEPS``
        self._inside: list[npt.NDArray[np.intp]] = []  # at which of them the art's own colour is

    def see(self, strip: Strip, cells: Cells) -> None:
        """Ask some of this strip's edge pixels."""
        mixed = (cells.alpha > 8) & (cells.alpha < 250)
        if not mixed.any():
            return
        ys, xs = _edge_pixels(strip.rgba[..., 3], mixed)
        if not len(ys):
            return
        profiles = _across(strip.rgba, ys, xs)
        inside = _inside(profiles[..., 3])
        keep = inside >= 0
        self._places.append(np.stack([xs[keep], ys[keep] + strip.y], axis=1))
        self._profiles.append(profiles[keep])
        self._inside.append(inside[keep])

    def answer(self, sheet: Sheet) -> Measurement:
        """``fringe-share``: percent of the edge pixels asked that show one foreign colour; None when none does."""
        profiles = np.concatenate(self._profiles) if self._profiles else np.empty((0, len(rims.STEPS), 4), np.uint8)
        if len(profiles) < _LEAST:
            return Measurement("fringe-share", None, "%")
        inside = profiles[np.arange(len(profiles)), np.concatenate(self._inside), :3].astype(np.float32)
        found = max((_against(sheet, profiles, inside, ground) for ground in _GROUNDS), key=lambda one: one[0])
        value, marked, ground = found
        spots, total = _spots(np.concatenate(self._places)[marked])
        details = {"colour": ground}
        return Measurement("fringe-share", value, "%", spots=spots, spots_total=total, details=details)


def _against(
    sheet: Sheet, profiles: Bytes, inside: npt.NDArray[np.float32], ground: str
) -> tuple[float, npt.NDArray[np.bool_], str]:
    """Percent of the edge pixels that show a rim of ``ground``, and which do; art of that colour cannot tell."""
    colour = np.float32(_GROUNDS[ground])
    asked = np.abs(inside - colour).max(axis=1) > _DIFFERENT
    if asked.sum() < _LEAST:
        return 0.0, np.zeros(len(profiles), bool), ground
    own = profiles[:, _EDGE].astype(np.float32)
    share, edge = own[:, 3:] / 255.0, own[:, :3]
    behind = (edge - share * inside) / (1.0 - share)
    marked = asked & (np.abs(behind - colour).max(axis=1) <= _AGREE)
    marked &= ((behind > -_SLACK) & (behind < 255 + _SLACK)).all(axis=1)
    # A rough cut-out leaves a rim that is itself of the ground's colour, a pixel or two wide.
    whole = asked & (np.abs(edge - colour).max(axis=1) <= _AGREE)
    if (whole & ~marked).any():
        rim = rims.Rim(profiles[whole], inside[whole], float(whole.sum()) / float(asked.sum()), int(colour))
        if rim.foreign(sheet):
            marked |= whole
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
    margin = rims.STEPS[-1] + 1
    ok = (value >= _LOW) & (value <= _HIGH)
    ok &= (ys >= margin) & (ys < alpha.shape[0] - margin) & (xs >= margin) & (xs < alpha.shape[1] - margin)
    return ys[ok], xs[ok]


def _across(rgba: Bytes, ys: npt.NDArray[np.intp], xs: npt.NDArray[np.intp]) -> Bytes:
    """RGBA at the steps of ``rims.STEPS`` from each edge pixel towards more opacity, uint8 (n, steps, 4)."""
    wide = rgba.shape[1]
    words = np.ascontiguousarray(rgba).view(np.uint32).ravel()
    at = (ys * wide + xs)[:, None]
    around = _bytes(words[at + (_AROUND[0] * wide + _AROUND[1])])[..., 3].astype(np.float32)
    towards = around @ _SLOPE
    towards /= np.maximum(np.hypot(towards[:, :1], towards[:, 1:]), 1e-3)
    steps = np.array(rims.STEPS, np.float32)
    y, x = (np.rint(place[:, None] + steps * towards[:, i : i + 1]) for i, place in enumerate((ys, xs)))
    return _bytes(words[(y * wide + x).astype(np.intp)])


def _bytes(words: npt.NDArray[np.uint32]) -> Bytes:
    """Pixels as four bytes each, uint8 (…, 4)."""
    return words.view(np.uint8).reshape(*words.shape, 4)


def _inside(opacity: Bytes) -> npt.NDArray[np.intp]:
    """At which step of each profile the art's own colour is: opaque, a little inside; −1 where none is near."""
    solid = opacity >= rims.OPAQUE
    hit = solid[:, _NEAR] & solid[:, _FAR] & (opacity[:, :1] <= _EMPTY)
    first = hit.argmax(axis=1)
    return np.where(hit[np.arange(len(hit)), first], first + _FAR.start, -1)


def _spots(places: npt.NDArray[np.intp]) -> tuple[tuple[Spot, ...], int]:
    """Fringed pixels gathered into squares of 64 px, fullest first."""
    if not len(places):
        return (), 0
    side = 64
    column, row = places[:, 0] // side, places[:, 1] // side
    wide = int(column.max()) + 1
    counts = np.bincount(row * wide + column)
    squares = np.flatnonzero(counts)
    order = squares[np.argsort(-counts[squares], kind="stable")][:MOST_PLACES]
    spots = tuple(Spot(at % wide * side, at // wide * side, side, side) for at in order.tolist())
    return spots, len(squares)
