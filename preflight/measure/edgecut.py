"""Art cut straight by the canvas edge, ``cut-edge``.

Art that merely touches the edge is no fault: files are trimmed tight, letters stand flush. A cut shows itself where
an outline meets the edge at a slant, its side leaning evenly further and further, or where both sides leave it upright
and bend inward at once, as a disc cut at its middle. A round shape that was trimmed to its box leans steeply first and
then less; an upright side does not lean; the foot of a slanting stroke leans to the same hand on both sides.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from preflight.measure.places import Scale
from preflight.measure.sheet import OPAQUE, Sheet
from preflight.model import MOST_PLACES, Bytes, Measurement, Spot

#: Rows inward at which the outline is looked at, px; and the depth, mm, at which a round side has visibly bent.
_NEAR = (0, 4, 8)
_DEEP_MM = 3.0
#: A round side bends inward by this share of that depth: of a disc of 20 mm radius it does at its middle (arithmetic).
_BEND = 0.07
#: How far a cut side leans over these rows, px: neither upright nor along the edge.
_LEAST_LEAN, _MOST_LEAN = 3, 60
#: Art that lies on one edge and this far from the opposite one, mm, was pushed over it; a tight trim fills the canvas.
_MARGIN_MM = 1.0
_OPPOSITE = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}
#: A run shorter than this is not asked, mm.
_LEAST_MM = 1.5


def measure(sheet: Sheet, scale: Scale) -> Measurement:
    """Length of the cut in mm, all edges together; None when nothing is cut."""
    if sheet.alpha is None:
        return Measurement("cut-edge", None, "mm")
    spots: list[Spot] = []
    height, width = sheet.alpha.shape
    for name, rows in _edges(sheet.alpha, max(2 * _NEAR[-1], round(scale.px(_DEEP_MM)))).items():
        pushed = _margin(sheet, _OPPOSITE[name]) >= scale.px(_MARGIN_MM)
        for start, end in cut_runs(rows, scale.px(_LEAST_MM), pushed=pushed):
            length = end - start
            x, y = {"top": (start, 0), "bottom": (start, height - 1), "left": (0, start), "right": (width - 1, start)}[
                name
            ]
            along = name in ("top", "bottom")
            spots.append(Spot(x, y, length if along else 1, 1 if along else length, scale.mm(length)))
    if not spots:
        return Measurement("cut-edge", None, "mm")
    spots.sort(key=lambda spot: -(spot.value or 0.0))
    total = sum(spot.value or 0.0 for spot in spots)
    return Measurement("cut-edge", total, "mm", spots=tuple(spots[:MOST_PLACES]), spots_total=len(spots))


def _margin(sheet: Sheet, edge: str) -> float:
    """Empty film between the art and an edge of the canvas, px."""
    box = sheet.box
    if box is None:
        return 0.0
    right, bottom = sheet.width - box.x - box.width, sheet.height - box.y - box.height
    return float({"left": box.x, "top": box.y, "right": right, "bottom": bottom}[edge])


def _edges(alpha: Bytes, depth: int) -> dict[str, Bytes]:
    """The rows next to each edge, outermost first, shape (depth + 1, length); edges of a tiny canvas are left out."""
    height, width = alpha.shape
    edges: dict[str, Bytes] = {}
    # On a shallow canvas a quarter of it must do, and on one of a few rows nothing can be told.
    if (rows := min(depth, height // 4)) > _NEAR[-1]:
        edges.update(top=alpha[: rows + 1], bottom=alpha[: -rows - 2 : -1])
    if (columns := min(depth, width // 4)) > _NEAR[-1]:
        edges.update(left=alpha[:, : columns + 1].T, right=alpha[:, : -columns - 2 : -1].T)
    return edges


def cut_runs(rows: Bytes, least: float, *, pushed: bool = False) -> list[tuple[int, int]]:
    """Runs of ink on the outermost row that go on beyond it, as start and end in px.

    Parameters
    ----------
    rows
        uint8 opacity, shape (depth + 1, length), the outermost row first.
    least
        Shortest run that is asked, px.
    pushed
        Whether the art stands away from the opposite edge: then all that lies on this one was cut.
    """
    solid = rows > 127
    # A trimmed shape ends in a half-transparent row; a cut one is as opaque there as further in.
    full = rows[0] >= OPAQUE
    found = []
    for start, end in _runs(solid[0]):
        if end - start < least or full[start:end].mean() < 0.8 or start == 0 or end == solid.shape[1]:
            continue
        sides = (_side(solid, start, -1), _side(solid, end - 1, 1))
        if pushed or _goes_on(*sides, deep=len(rows) - 1):
            found.append((start, end))
    return found


def _runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    steps = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(steps[::2], steps[1::2], strict=True)]


class _Side(NamedTuple):
    """How a side of a run leans outward, px: over the first rows in two halves, and over the whole depth in two."""

    near: tuple[int, int]
    deep: tuple[int, int] | None  #: None where it ends or runs off before that

    @property
    def slants(self) -> bool:
        """Whether it leaves the edge at a slant, evenly: neither upright nor tangent."""
        first, second = self.near
        lean = first + second
        return abs(first - second) <= max(2.5, 0.15 * abs(lean)) and _LEAST_LEAN <= abs(lean) <= _MOST_LEAN

    def bends_in(self, least: float) -> bool:
        """Whether it leaves the edge upright and curves inward from there on, as a round shape cut at its middle."""
        if self.deep is None or abs(sum(self.near)) >= _LEAST_LEAN:
            return False
        first, second = self.deep
        return first <= 0 and second < 0 and -(first + second) >= least and second <= 1.5 * first


def _goes_on(left: _Side | None, right: _Side | None, *, deep: int) -> bool:
    """Whether the two sides of a run show a shape that was cut there."""
    if left is None or right is None:
        return False
    if left.slants or right.slants:
        # The foot of a slanting stroke, as in an A, leans to the same hand on both sides.
        one, other = sum(left.near), sum(right.near)
        return not (one * other < 0 and abs(one + other) <= 0.35 * max(abs(one), abs(other)) + 1.5)
    least = max(2.0, _BEND * deep)
    return left.bends_in(least) and right.bends_in(least)


def _side(solid: npt.NDArray[np.bool_], end: int, outward: int) -> _Side | None:
    """The side of a run that ends at column ``end``; None where it cannot be followed over the first rows."""
    deepest = len(solid) - 1
    rows = (*_NEAR, deepest // 2, deepest)
    ends: list[int] = []
    position = end
    for row in rows:
        found = _end(solid[row], position, outward, _MOST_LEAN + 8)
        if found is None:
            break
        ends.append(found)
        position = min(max(found * outward, 0), solid.shape[1] - 1)
    if len(ends) < len(_NEAR):
        return None
    near = (ends[1] - ends[0], ends[2] - ends[1])
    deep = (ends[3] - ends[0], ends[4] - ends[3]) if len(ends) == len(rows) else None
    return _Side(near, deep)


def _end(row: npt.NDArray[np.bool_], near: int, outward: int, reach: int) -> int | None:
    """Where the run through or beside ``near`` ends in the outward direction, within ``reach``; None if nowhere."""
    position = near
    if row[position]:
        while row[position]:
            position += outward
            if abs(position - near) > reach or not 0 <= position < len(row):
                return None
        return (position - outward) * outward
    while not row[position]:
        position -= outward
        if abs(position - near) > reach or not 0 <= position < len(row):
            return None
    return position * outward
