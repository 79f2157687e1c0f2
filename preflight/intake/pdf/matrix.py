"""Matrices of the plane as PDF writes them, and the boxes they carry along.

A matrix is (a, b, c, d, e, f): x' = a·x + c·y + e, y' = b·x + d·y + f (ISO 32000-1, 8.3.3, from memory).
"""

from __future__ import annotations

import math
from typing import TypeAlias

Matrix: TypeAlias = tuple[float, float, float, float, float, float]
#: Left, top, right, bottom.
Rect: TypeAlias = tuple[float, float, float, float]

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
EVERYWHERE: Rect = (-math.inf, -math.inf, math.inf, math.inf)


def after(first: Matrix, second: Matrix) -> Matrix:
    """The matrix that does ``first`` and then ``second``."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = second
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def box_after(box: Rect, matrix: Matrix) -> Rect:
    """The upright box around a box that a matrix has moved."""
    a, b, c, d, e, f = matrix
    x0, y0, x1, y1 = box
    xs = (a * x0 + c * y0, a * x1 + c * y0, a * x0 + c * y1, a * x1 + c * y1)
    ys = (b * x0 + d * y0, b * x1 + d * y0, b * x0 + d * y1, b * x1 + d * y1)
    return (min(xs) + e, min(ys) + f, max(xs) + e, max(ys) + f)


def inverse(matrix: Matrix) -> Matrix:
    """The matrix that undoes one. Raises ZeroDivisionError where there is none."""
    a, b, c, d, e, f = matrix
    det = a * d - b * c
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def meet(one: Rect, other: Rect) -> Rect | None:
    """What two boxes share; a line or a point where they touch, None where they do not."""
    x0, y0, x1, y1 = max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])
    return (x0, y0, x1, y1) if x0 <= x1 and y0 <= y1 else None


def union(one: Rect, other: Rect) -> Rect:
    """The box around two."""
    return (min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3]))


def grown(box: Rect, by: float) -> Rect:
    """A box made larger on every side."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def sides(matrix: Matrix) -> tuple[float, float]:
    """Lengths of the unit square's two sides after a matrix."""
    return math.hypot(matrix[0], matrix[1]), math.hypot(matrix[2], matrix[3])


def stretches(matrix: Matrix) -> tuple[float, float]:
    """The least and the greatest factor by which a matrix changes a length (its singular values)."""
    a, b, c, d = matrix[:4]
    half_sum = math.hypot(a + d, b - c) / 2.0
    half_difference = math.hypot(a - d, b + c) / 2.0
    return abs(half_sum - half_difference), half_sum + half_difference


def height_across(matrix: Matrix) -> float:
    """Height of the unit square's image across its lower side: the height of a letter, however it leans."""
    base = math.hypot(matrix[0], matrix[1])
    return abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]) / base if base else 0.0
