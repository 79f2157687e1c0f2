"""A measured width as it is drawn into a close-up: two arrows that point at its ends, and the figure beside them."""

from __future__ import annotations

import math
from typing import TypeAlias

from preflight.records import dataclass
from preflight.views.model import Picture, Ruler

#: A line from one point to another, mm of the picture from its top left.
Line: TypeAlias = tuple[float, float, float, float]
#: Lengths as a share of the picture's side: of an arrow, of its head, between an arrow's tip and the figure.
_ARROW, _HEAD, _AWAY = 0.11, 0.024, 0.05


#: How many times larger than in print a close-up is shown, and the widest that one of a large place is, mm of paper.
ENLARGED, WIDEST_MM = 8.0, 82.0


def shown_width_mm(picture: Picture) -> float:
    """How wide a close-up is shown, mm of the page."""
    return min(WIDEST_MM, picture.width_mm * ENLARGED)


@dataclass(frozen=True, slots=True)
class Dimension:
    """Lines to draw, and the middle of the figure: mm from the picture's top left."""

    lines: tuple[Line, ...]
    label_x: float
    label_y: float


def dimension(picture: Picture, ruler: Ruler) -> Dimension:
    """How the ruler is drawn into the picture."""
    side = max(picture.width_mm, picture.height_mm)
    x1, y1 = ruler.x1_mm - picture.x_mm, ruler.y1_mm - picture.y_mm
    x2, y2 = ruler.x2_mm - picture.x_mm, ruler.y2_mm - picture.y_mm
    length = max(math.hypot(x2 - x1, y2 - y1), 1e-9)
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    inner = length > 3 * _ARROW * side  # long enough for the arrows to stand between the ends
    reach = -_ARROW * side if inner else _ARROW * side
    lines: list[Line] = [(x1, y1, x2, y2)] if inner else []
    for x, y, sign in ((x1, y1, -1.0), (x2, y2, 1.0)):
        dx, dy = sign * ux, sign * uy
        if not inner:
            lines.append((x, y, x + dx * reach, y + dy * reach))
        lines += _head(x, y, dx, dy, _HEAD * side * (-1 if inner else 1))
    # The ends themselves, across the arrows.
    tick = 1.1 * _HEAD * side
    lines += [(x - uy * tick, y + ux * tick, x + uy * tick, y - ux * tick) for x, y in ((x1, y1), (x2, y2))]
    label_x, label_y = _label(x1, y1, x2, y2, ux, uy, side, inner)
    return Dimension(tuple(lines), label_x, label_y)


def _head(x: float, y: float, dx: float, dy: float, size: float) -> list[Line]:
    """The two strokes of an arrow's head that points at x, y and comes from x + dx."""
    return [(x, y, x + size * (dx - side * 0.6 * dy), y + size * (dy + side * 0.6 * dx)) for side in (1.0, -1.0)]


def _label(
    x1: float, y1: float, x2: float, y2: float, ux: float, uy: float, side: float, inner: bool
) -> tuple[float, float]:
    """Beside the middle of a long ruler; beyond the end of a short one that has more room."""
    if inner:
        away = 0.11 * side
        x, y = (x1 + x2) / 2 - uy * away, (y1 + y2) / 2 + ux * away
    else:
        away = (_ARROW + _AWAY) * side
        first, second = (x1 - ux * away, y1 - uy * away), (x2 + ux * away, y2 + uy * away)
        x, y = max(first, second, key=lambda end: min(end[0], side - end[0]) + min(end[1], side - end[1]))
        x += 0.1 * side if x >= (x1 + x2) / 2 else -0.1 * side  # the figure is wider than high
    return min(max(x, 0.16 * side), 0.84 * side), min(max(y, 0.07 * side), 0.93 * side)
