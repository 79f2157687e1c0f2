"""Transform lists, and the matrix that fits a view box into its place. SVG 1.1, 7.6 to 7.8."""

from __future__ import annotations

import math
import re

from preflight.intake.pdf.matrix import IDENTITY, Matrix, after
from preflight.intake.svg.lengths import numbers

_FUNCTION = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_ALIGN = {"min": 0.0, "mid": 0.5, "max": 1.0}


def parse(text: str | None) -> Matrix:
    """A transform attribute; what cannot be read changes nothing."""
    matrix = IDENTITY
    for name, inside in _FUNCTION.findall(text or ""):
        values = numbers(inside)
        step = _step(name, values) if all(map(math.isfinite, values)) else None
        if step is None or not all(map(math.isfinite, step)):
            return IDENTITY
        matrix = after(step, matrix)
    return matrix


def _step(name: str, values: list[float]) -> Matrix | None:
    match name, values:
        case "matrix", [a, b, c, d, e, f]:
            return (a, b, c, d, e, f)
        case "translate", [x, *rest]:
            return (1.0, 0.0, 0.0, 1.0, x, rest[0] if rest else 0.0)
        case "scale", [x, *rest]:
            return (x, 0.0, 0.0, rest[0] if rest else x, 0.0, 0.0)
        case "rotate", [angle]:
            return _rotation(angle)
        case "rotate", [angle, x, y]:
            moved = after((1.0, 0.0, 0.0, 1.0, -x, -y), _rotation(angle))
            return after(moved, (1.0, 0.0, 0.0, 1.0, x, y))
        case "skewX", [angle]:
            return (1.0, 0.0, math.tan(math.radians(angle)), 1.0, 0.0, 0.0)
        case "skewY", [angle]:
            return (1.0, math.tan(math.radians(angle)), 0.0, 1.0, 0.0, 0.0)
    return None


def _rotation(angle: float) -> Matrix:
    sine, cosine = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    return (cosine, sine, -sine, cosine, 0.0, 0.0)


def view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """x, y, width and height; None where it is missing or has no area."""
    found = numbers(text)
    if len(found) != 4 or not all(map(math.isfinite, found)) or found[2] <= 0 or found[3] <= 0:
        return None
    return (found[0], found[1], found[2], found[3])


def fit(box: tuple[float, float, float, float], width: float, height: float, how: str | None) -> Matrix:
    """From the units of a view box to a place of that width and height, by preserveAspectRatio."""
    x, y, w, h = box
    across, down = width / w, height / h
    words = (how or "").replace("defer", "").split()
    align = words[0] if words else "xMidYMid"
    if align == "none":
        return (across, 0.0, 0.0, down, -x * across, -y * down)
    scale = max(across, down) if "slice" in words else min(across, down)
    left, top = (_ALIGN.get(align[at : at + 3].lower(), 0.5) for at in (1, 5))
    return (scale, 0.0, 0.0, scale, (width - w * scale) * left - x * scale, (height - h * scale) * top - y * scale)
