"""Outlines in millimetres: each function gives a list of closed outlines, holes running the other way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from .raster import Points, oriented

Outlines: TypeAlias = list[Points]

_TAU = 2 * math.pi


def _arc(cx: float, cy: float, r: float, start: float, stop: float, chord: float = 0.05) -> Points:
    """Points along an arc, the chord error far below a thousandth of a millimetre."""
    count = max(24, math.ceil(abs(stop - start) * r / chord))
    angle = np.linspace(start, stop, count)
    return np.stack([cx + r * np.cos(angle), cy + r * np.sin(angle)], axis=1)


def _at(points: Points, x: float, y: float) -> Points:
    return np.asarray(points + np.array([x, y]), np.float64)


def disc(cx: float, cy: float, r: float) -> Outlines:
    return [oriented(_arc(cx, cy, r, 0, _TAU)[:-1], True)]


def ring(cx: float, cy: float, r: float, width: float) -> Outlines:
    """A ring of outer radius r."""
    return [*disc(cx, cy, r), oriented(_arc(cx, cy, r - width, 0, _TAU)[:-1], False)]


def ellipse(cx: float, cy: float, rx: float, ry: float, angle: float = 0.0) -> Outlines:
    points = _arc(0, 0, 1, 0, _TAU, 0.01)[:-1] * [rx, ry]
    return [oriented(_at(turned(points, angle), cx, cy), True)]


def turned(points: Points, angle: float) -> Points:
    """Turn about the origin by degrees."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return np.asarray(points @ np.array([[c, s], [-s, c]]), np.float64)


def polygon(cx: float, cy: float, r: float, corners: int, angle: float = 0.0) -> Outlines:
    at = np.radians(angle) + np.arange(corners) * _TAU / corners
    return [oriented(np.stack([cx + r * np.cos(at), cy + r * np.sin(at)], axis=1), True)]


def star(cx: float, cy: float, r: float, tips: int, tip_angle: float, angle: float = 0.0) -> Outlines:
    """A star whose tips have the stated angle in degrees."""
    half, step = math.radians(tip_angle) / 2, math.pi / tips
    inner = r * math.sin(half) / math.sin(half + step)
    at = np.radians(angle) + np.arange(2 * tips) * step
    radius = np.where(np.arange(2 * tips) % 2 == 0, r, inner)
    return [oriented(np.stack([cx + radius * np.cos(at), cy + radius * np.sin(at)], axis=1), True)]


def rectangle(x: float, y: float, width: float, height: float, angle: float = 0.0) -> Outlines:
    """A rectangle with its top left at (x, y), turned about its middle."""
    half = np.array([[-width, -height], [width, -height], [width, height], [-width, height]]) / 2
    return [oriented(_at(turned(half, angle), x + width / 2, y + height / 2), True)]


def rounded(x: float, y: float, width: float, height: float, r: float) -> Outlines:
    corners = [
        _arc(x + width - r, y + r, r, -math.pi / 2, 0),
        _arc(x + width - r, y + height - r, r, 0, math.pi / 2),
        _arc(x + r, y + height - r, r, math.pi / 2, math.pi),
        _arc(x + r, y + r, r, math.pi, 1.5 * math.pi),
    ]
    return [oriented(np.concatenate(corners), True)]


def blob(cx: float, cy: float, r: float, rng: np.random.Generator, rough: float = 0.12) -> Outlines:
    """A smooth closed outline, like the outline of a cut-out figure; no bend is tighter than about r / 6."""
    at = np.linspace(0, _TAU, 720, endpoint=False)
    radius = np.ones_like(at)
    for wave in range(2, 6):
        radius += rough / wave * rng.uniform(0.3, 1) * np.cos(wave * at + rng.uniform(0, _TAU))
    radius *= r / radius.max()
    return [oriented(np.stack([cx + radius * np.cos(at), cy + radius * np.sin(at)], axis=1), True)]


def line(cx: float, cy: float, length: float, width: float, angle: float, round_ends: bool = False) -> Outlines:
    """A straight bar about its middle; round ends lie outside the length."""
    if not round_ends:
        return rectangle(cx - length / 2, cy - width / 2, length, width, angle)
    half = length / 2
    right = _arc(half, 0, width / 2, -math.pi / 2, math.pi / 2, width / 40)
    left = _arc(-half, 0, width / 2, math.pi / 2, 1.5 * math.pi, width / 40)
    return [oriented(_at(turned(np.concatenate([right, left]), angle), cx, cy), True)]


def arc(cx: float, cy: float, r: float, start: float, sweep: float, width: float) -> Outlines:
    """A bar bent to radius r (of its middle), from ``start`` over ``sweep`` degrees."""
    a, b = math.radians(start), math.radians(start + sweep)
    outer, inner = _arc(cx, cy, r + width / 2, a, b), _arc(cx, cy, r - width / 2, b, a)
    return [oriented(np.concatenate([outer, inner]), True)]


def wave(cx: float, cy: float, length: float, height: float, width: float, angle: float) -> Outlines:
    """One and a half periods of a sine, ``height`` from crest to trough, of constant width across its run."""
    t = np.linspace(-0.5, 0.5, 900)
    middle = np.stack([t * length, height / 2 * np.sin(3 * math.pi * t)], axis=1)
    return [oriented(_at(turned(thickened(middle, width), angle), cx, cy), True)]


def thickened(middle: Points, width: float) -> Points:
    """Offset an open curve to both sides by half a width; its bends must be wider than that."""
    along = np.gradient(middle, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1) * (width / 2)
    return np.concatenate([middle + normal, (middle - normal)[::-1]])


def heart(cx: float, cy: float, r: float) -> Outlines:
    t = np.linspace(0, _TAU, 720, endpoint=False)
    x = 16 * np.sin(t) ** 3
    y = -(13 * np.cos(t) - 5 * np.cos(2 * t) - 2 * np.cos(3 * t) - np.cos(4 * t))
    return [oriented(np.stack([cx + x * r / 17, cy + y * r / 17], axis=1), True)]


def holes(outlines: Sequence[Points]) -> Outlines:
    """The same outlines turned into holes."""
    return [outline[::-1] for outline in outlines]


def moved(outlines: Sequence[Points], dx: float, dy: float) -> Outlines:
    return [_at(outline, dx, dy) for outline in outlines]
