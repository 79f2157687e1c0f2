"""Isolated specks: dust and strokes of an eraser that missed a bit, ``speck-count``."""

from __future__ import annotations

from itertools import combinations

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.labels import Ints, connected
from preflight.measure.places import Scale
from preflight.measure.sheet import CELL, Sheet
from preflight.model import MOST_PLACES, Measurement, Spot
from preflight.units import show_number

#: Larger marks are meant; dust is smaller (judgement, tried on real artwork).
SPECK_MM = 0.8
#: A speck this near to the art belongs to it: the dot of an i, a full stop, spray.
AWAY_MM = 2.0
#: More neighbours than these within ``AWAY_MM`` make a pattern: stipple, a dotted line, a halftone.
MOST_NEIGHBOURS = 2
#: More specks than this are a pattern.
MANY = 24
#: So many specks, of which this share stand midway between two others, make a dotted line or a screen that thins out.
#: Of dust strewn by chance at most a quarter do (measured, 300 draws).
LEAST_ROW, ROW_SHARE = 8, 0.5
#: Components that are looked at; a sheet with more is a screen or a texture, not a clean one with dust.
_MOST_COMPONENTS = 20_000
#: Rows of cells that are looked up at a time.
_ROWS = 64


def specks(sheet: Sheet, scale: Scale) -> Measurement:
    """How many specks lie by themselves on the film, with their places; values are their size in mm."""
    if sheet.alpha is None:
        return Measurement("speck-count", 0.0, "count")
    stats = sheet.areas
    count = len(stats)
    if count - 1 > _MOST_COMPONENTS:
        return Measurement("speck-count", 0.0, "count")
    size = np.maximum(stats[1:, cv2.CC_STAT_WIDTH], stats[1:, cv2.CC_STAT_HEIGHT])
    # A speck of d px touches up to d / 4 + 1 cells.
    small = np.flatnonzero(size <= scale.px(SPECK_MM) / CELL + 1) + 1
    if not len(small) or len(small) == count - 1:
        return Measurement("speck-count", 0.0, "count")
    found = _alone(connected(sheet.visible()), stats, small, scale)
    spots = sorted((_spot(stats[index], scale) for index in found), key=lambda spot: -(spot.value or 0.0))
    details = {"largest": f"{show_number(spots[0].value or 0.0, 2)} mm"} if spots else {}
    return Measurement(
        "speck-count",
        float(len(spots)),
        "count",
        spots=tuple(spots[:MOST_PLACES]),
        spots_total=len(spots),
        details=details,
    )


def _alone(labels: Ints, stats: Ints, small: npt.NDArray[np.intp], scale: Scale) -> list[int]:
    """Labels of the small components that have neither art nor a pattern around them."""
    is_small = np.zeros(len(stats), bool)
    is_small[small] = True
    is_small[0] = True
    wanted, large = (~is_small).astype(np.uint8), np.empty(labels.shape, np.uint8)
    for row in range(0, len(labels), _ROWS):  # looked up all at once, the labels would be copied as twice as wide
        np.take(wanted, labels[row : row + _ROWS], mode="clip", out=large[row : row + _ROWS])
    reach = max(1, round(scale.px(AWAY_MM) / CELL))
    near_art = cv2.dilate(large, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))
    x = stats[small, cv2.CC_STAT_LEFT] + stats[small, cv2.CC_STAT_WIDTH] / 2
    y = stats[small, cv2.CC_STAT_TOP] + stats[small, cv2.CC_STAT_HEIGHT] / 2
    away = near_art[np.minimum(y.astype(int), len(labels) - 1), np.minimum(x.astype(int), labels.shape[1] - 1)] == 0
    # Where there are many, they are a pattern: then only what stands far from all others is dust.
    many = len(small) > MANY
    reach, most = (2 * reach, 0) if many else (reach, MOST_NEIGHBOURS)
    found = []
    for index in np.flatnonzero(away).tolist():
        distance = np.maximum(np.abs(x - x[index]), np.abs(y - y[index]))
        if int((distance <= reach).sum()) - 1 <= most:
            found.append(index)
    return [int(small[index]) for index in _strewn(x, y, found)]


def _strewn(x: npt.NDArray[np.float64], y: npt.NDArray[np.float64], found: list[int]) -> list[int]:
    """Those of ``found`` that are no part of an even row; ``x`` and ``y`` in cells."""
    if len(found) < LEAST_ROW:
        return found
    x, y = x[found], y[found]
    midway = np.zeros(len(found), bool)
    in_row = midway.copy()
    for index in range(len(found)):
        away = np.hypot(x - x[index], y - y[index])
        away[index] = np.inf
        for one, other in combinations(np.argsort(away)[:4].tolist(), 2):
            off = np.hypot(x[one] + x[other] - 2 * x[index], y[one] + y[other] - 2 * y[index])
            if off <= max(1.0, 0.2 * float(away[one])):
                midway[index] = True
                in_row[[index, one, other]] = True
    if midway.mean() < ROW_SHARE:
        return found
    return [one for one, row in zip(found, in_row.tolist(), strict=True) if not row]


def _spot(row: Ints, scale: Scale) -> Spot:
    x, y, width, height = (int(row[column]) for column in range(4))
    # The cells around a speck are wider than the speck by up to two of them; its size is told by its area.
    across = max(1.0, float(row[cv2.CC_STAT_AREA]) ** 0.5 - 0.5) * CELL
    return Spot(x * CELL, y * CELL, width * CELL, height * CELL, scale.mm(across))
