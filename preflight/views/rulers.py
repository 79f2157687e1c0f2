"""Where in a place its measured width lies, and the two ends to draw it between."""

from __future__ import annotations

import math
from typing import TypeAlias

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import THREE, solid, u8
from preflight.measure.sheet import FAINT, OPAQUE
from preflight.model import Bytes

Floats32: TypeAlias = npt.NDArray[np.float32]
#: Rectangle in px of a plane: x0, y0, x1, y1.
Window: TypeAlias = tuple[int, int, int, int]
#: Two points, x and y each, px.
Ends: TypeAlias = tuple[float, float, float, float]

_MOST_CANDIDATES = 300
_DIRECTIONS = 36
#: Directions on each side that are averaged.
_ALIKE = 4
#: Distance of the samples along a direction, px.
_STEP = 0.25
#: A stroke of another width than the measured one, by more than this share, is another stroke.
_OFF = 0.5


def ends(alpha: Bytes, window: Window, what: str, width: float) -> Ends | None:
    """The ends of the narrowest way across a stroke, a gap or a fade, where it is nearest to the measured width.

    Parameters
    ----------
    alpha
        Opacity, uint8 (h, w), with some px around the window.
    window
        Where the stroke lies.
    what
        "line", "gap" or "fade".
    width
        As it was measured, px.

    Returns
    -------
    Ends or None
        In px of ``alpha``, counted from the corner of its first pixel; None when there is no such stroke.
    """
    cover = _cover(alpha, window, what)
    x, y = _ridge(cover, window)
    if not len(x):
        return None
    ahead, behind, angle = _across(cover, x, y, reach=1.5 * width + 3.0)
    total = ahead + behind
    centre = ((window[0] + window[2]) / 2, (window[1] + window[3]) / 2)
    # Of many that fit equally well, the one in the middle shows the most around it.
    away = np.hypot(x - centre[0], y - centre[1]) / max(1.0, window[2] - window[0], window[3] - window[1])
    best = int(np.argmin(np.abs(total - width) / width + 0.1 * away))
    if abs(total[best] - width) > max(1.0, _OFF * width):
        return None
    dx, dy = math.cos(angle[best]), math.sin(angle[best])
    px, py = float(x[best]) + 0.5, float(y[best]) + 0.5
    return (
        px - dx * float(behind[best]),
        py - dy * float(behind[best]),
        px + dx * float(ahead[best]),
        py + dy * float(ahead[best]),
    )


def _cover(alpha: Bytes, window: Window, what: str) -> Bytes:
    """What the width is measured through, uint8: half and more counts as inside."""
    if what == "fade":
        return u8(cv2.inRange(alpha, FAINT + 1, OPAQUE - 1))
    x0, y0, x1, y1 = window
    if what == "gap":
        return u8(255 - alpha)
    # Faint strokes are measured at their own full strength.
    peak = int(alpha[y0:y1, x0:x1].max(initial=1))
    return u8(cv2.convertScaleAbs(alpha, alpha=255.0 / max(1, peak)))


def _ridge(cover: Bytes, window: Window) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Columns and rows of the px along the middle of what is inside, in the window."""
    inside = solid(cover, 128)
    framed = cv2.copyMakeBorder(inside, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    depth = np.asarray(cv2.distanceTransform(framed, cv2.DIST_L2, 3))[1:-1, 1:-1]
    crest = (inside > 0) & (depth >= np.asarray(cv2.dilate(depth, THREE)) - 1e-3)
    x0, y0, x1, y1 = window
    rows, columns = np.nonzero(crest[y0:y1, x0:x1])
    step = -(-len(rows) // _MOST_CANDIDATES) | 1
    return columns[::step] + x0, rows[::step] + y0


def _across(
    cover: Bytes, x: npt.NDArray[np.intp], y: npt.NDArray[np.intp], reach: float
) -> tuple[Floats32, Floats32, Floats32]:
    """For each pixel the shortest way across: length ahead, length behind, and direction."""
    angles = np.arange(_DIRECTIONS, dtype=np.float32) * np.float32(math.pi / _DIRECTIONS)
    steps = np.arange(0, reach, _STEP, dtype=np.float32)
    ahead = _lengths(cover, x, y, angles, steps)
    behind = _lengths(cover, x, y, angles + np.float32(math.pi), steps)
    # Pixels make steps: neighbouring directions are alike by turns, and the middle of the shortest ones is the way.
    total = ahead + behind
    best = np.argmin(sum(np.roll(total, turn, axis=1) for turn in range(-_ALIKE, _ALIKE + 1)), axis=1)
    each = np.arange(len(x))
    return ahead[each, best], behind[each, best], angles[best]


def _lengths(
    cover: Bytes, x: npt.NDArray[np.intp], y: npt.NDArray[np.intp], angles: Floats32, steps: Floats32
) -> Floats32:
    """How far it is inside from each pixel in each direction, px; shape (pixels, angles)."""
    along_x = np.cos(angles)[:, None] * steps
    along_y = np.sin(angles)[:, None] * steps
    at_x = (x[:, None, None] + along_x).astype(np.float32).reshape(len(x), -1)
    at_y = (y[:, None, None] + along_y).astype(np.float32).reshape(len(y), -1)
    seen = cv2.remap(cover, at_x, at_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0)
    inside = np.asarray(seen).reshape(len(x), len(angles), len(steps)) >= 128
    run = np.where(inside.all(axis=2), len(steps), np.argmin(inside, axis=2))
    return (run * np.float32(_STEP)).astype(np.float32)
