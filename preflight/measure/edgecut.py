"""Art cut straight by the canvas edge, ``cut-edge``.

Art that merely touches the edge is no fault: files are trimmed tight, letters stand flush. A cut shows itself where
an outline meets the edge at a slant: the run of ink on the edge ends in a side that leans, evenly, further and
further. A round shape that was trimmed to its box leans steeply first and then less; an upright side does not lean.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from preflight.measure.places import Scale
from preflight.measure.sheet import OPAQUE, Sheet
from preflight.model import MOST_PLACES, Bytes, Measurement, Spot

#: Rows inward at which the outline is looked at, px.
_DEPTHS = (0, 4, 8)
#: How far a cut side leans over these rows, px: neither upright nor along the edge.
_LEAST_LEAN, _MOST_LEAN = 3, 60
#: A run shorter than this is not asked, mm.
_LEAST_MM = 1.5


def measure(sheet: Sheet, scale: Scale) -> Measurement:
    """Length of the cut in mm, all edges together; None when nothing is cut."""
    if sheet.alpha is None:
        return Measurement("cut-edge", None, "mm")
    spots: list[Spot] = []
    height, width = sheet.alpha.shape
    for name, rows in _edges(sheet.alpha).items():
        for start, end in cut_runs(rows, scale.px(_LEAST_MM)):
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


def _edges(alpha: Bytes) -> dict[str, Bytes]:
    """The rows next to each edge, outermost first, shape (9, length) each; edges of a tiny canvas are left out."""
    depth = _DEPTHS[-1] + 1
    height, width = alpha.shape
    edges: dict[str, Bytes] = {}
    if height > 4 * depth:
        edges.update(top=alpha[:depth], bottom=alpha[: -depth - 1 : -1])
    if width > 4 * depth:
        edges.update(left=alpha[:, :depth].T, right=alpha[:, : -depth - 1 : -1].T)
    return edges


def cut_runs(rows: Bytes, least: float) -> list[tuple[int, int]]:
    """Runs of ink on the outermost row that end in a slant at one side at least; start and end in px."""
    solid = rows > 127
    # A trimmed shape ends in a half-transparent row; a cut one is as opaque there as further in.
    full = rows[0] >= OPAQUE
    found = []
    for start, end in _runs(solid[0]):
        if end - start < least or full[start:end].mean() < 0.8 or (start == 0 and end == solid.shape[1]):
            continue
        if _slants(solid, start, -1) or _slants(solid, end - 1, 1):
            found.append((start, end))
    return found


def _runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    steps = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(steps[::2], steps[1::2], strict=True)]


def _slants(solid: npt.NDArray[np.bool_], end: int, outward: int) -> bool:
    """Whether the side that leaves the edge at column ``end`` leans evenly over the depths looked at."""
    if end in (0, solid.shape[1] - 1):
        return False
    reach = _MOST_LEAN + 8
    ends = [_end(solid[depth], end, outward, reach) for depth in _DEPTHS]
    if any(position is None for position in ends):
        return False
    first, middle, last = (position or 0 for position in ends)
    lean, lean_first, lean_second = last - first, middle - first, last - middle
    even = abs(lean_first - lean_second) <= max(1.5, 0.15 * abs(lean))
    return even and _LEAST_LEAN <= abs(lean) <= _MOST_LEAN


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
