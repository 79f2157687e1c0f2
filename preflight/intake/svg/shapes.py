"""Boxes around shapes, in their own units. Curves by their control points: the box may be larger, never smaller."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import islice, pairwise

from preflight.intake.pdf.matrix import Rect
from preflight.intake.svg.lengths import diagonal, each_number, length
from preflight.intake.svg.limits import MOST_CORNERS
from preflight.intake.svg.tree import Node
from preflight.records import dataclass

SHAPES = frozenset(("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"))
_COMMAND = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)")
#: Flags of an arc may stand without anything between them.
_ARC = re.compile(
    r"\s*,?\s*([+-]?[\d.]+(?:[eE][+-]?\d+)?)\s*,?\s*([+-]?[\d.]+(?:[eE][+-]?\d+)?)\s*,?\s*([+-]?[\d.]+(?:[eE][+-]?\d+)?)"
    r"\s*,?\s*([01])\s*,?\s*([01])\s*,?\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
    r"\s*,?\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
)
#: Points of each path command.
_PAIRS = {"M": 1, "L": 1, "T": 1, "S": 2, "Q": 2, "C": 3}
#: An outline of so many pieces may cross itself too often to be drawn in time.
_MANY = 60
_MOST_PAIRS = 2_000
_STRIDES = (7_919, 104_729)  #: primes: neighbouring steps look at distant pieces


@dataclass(frozen=True, slots=True)
class Shape:
    """The box around a shape, how many pieces its outline has, and how long that is at most; in the shape's units."""

    box: Rect
    segments: int
    length: float
    area: float  #: about what its outline encloses
    crossings: float = 0.0  #: about how often its outline crosses itself

    @property
    def thickness(self) -> float:
        """Mean width of what is enclosed; 0 for a mere line."""
        return 2.0 * self.area / self.length if self.length else 0.0


def shape(node: Node, width: float, height: float, font: float) -> Shape | None:
    """The shape that an element draws; None when it draws nothing.

    Parameters
    ----------
    width, height
        Of the viewport, px: what percentages are of.
    font
        Size of the letters, px.
    """
    if node.tag == "path":
        return _path(node.attributes.get("d", ""))
    if node.tag in ("polyline", "polygon"):
        pairs = _groups("L", node.attributes.get("points", ""))
        return _around([(x, y) for x, y in islice(pairs, MOST_CORNERS + 1)])

    def get(name: str, of: float, otherwise: float = 0.0) -> float:
        return length(node.attributes.get(name), of=of, font=font, otherwise=otherwise)

    if node.tag == "line":
        return _around([(get("x1", width), get("y1", height)), (get("x2", width), get("y2", height))])
    if node.tag == "rect":
        x, y, w, h = get("x", width), get("y", height), get("width", width), get("height", height)
    else:
        radius = get("r", diagonal(width, height))
        rx, ry = (radius, radius) if node.tag == "circle" else (get("rx", width), get("ry", height))
        x, y, w, h = get("cx", width) - rx, get("cy", height) - ry, 2 * rx, 2 * ry
    return Shape((x, y, x + w, y + h), 4, 2 * (w + h), w * h) if w > 0 and h > 0 else None


def _around(points: list[tuple[float, float]]) -> Shape | None:
    """The box around points, in the order in which the outline goes."""
    if len(points) < 2:
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    box = (min(xs), min(ys), max(xs), max(ys))
    if not all(map(math.isfinite, box)):
        return None
    around = sum(math.dist(one, other) for one, other in pairwise(points))
    return Shape(box, len(points), around, _enclosed(points), _crossings(points))


def _enclosed(points: list[tuple[float, float]]) -> float:
    """Area inside the polygon of these corners; parts that go round the other way count against it."""
    closed = pairwise([*points, points[0]])
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in closed)) / 2.0


def _crossings(points: list[tuple[float, float]]) -> float:
    """About how many pairs of an outline's pieces cross, from a sample of pairs; 0 for a short outline."""
    count = len(points) - 1
    if count < _MANY:
        return 0.0
    crossing, pairs = 0, min(_MOST_PAIRS, 2 * count)
    for step in range(pairs):
        one, other = step * _STRIDES[0] % count, step * _STRIDES[1] % count
        crossing += _cross(points[one], points[one + 1], points[other], points[other + 1])
    return crossing / pairs * count * count / 2


def _cross(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]) -> bool:
    """Whether the line from a to b properly crosses the one from c to d."""
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0


def _side(a: tuple[float, float], b: tuple[float, float], p: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _path(data: str) -> Shape | None:
    return _around(list(islice(_points(data), MOST_CORNERS + 1)))


def _points(data: str) -> Iterator[tuple[float, float]]:
    """Points and control points of a path, in the order in which it goes."""
    here = start = control = (0.0, 0.0)
    for found in _COMMAND.finditer(data):
        command, inside = found.groups()
        kind = command.upper()
        if kind == "Z":
            here = control = start
            yield here
            continue
        for group in _groups(kind, inside):
            base = here if command.islower() else (0.0, 0.0)
            points = _absolute(kind, group, base, here)
            if kind in "ST":  # the first control point is the last one, mirrored
                points.insert(0, (2 * here[0] - control[0], 2 * here[1] - control[1]))
            if kind == "A":
                points[:0] = _arc(here, points[-1], group[0], group[1])
            yield from points
            here, control = points[-1], points[-2] if kind in "CSQT" else points[-1]
            if kind == "M":
                start, kind = here, "L"


def _absolute(
    kind: str, group: tuple[float, ...], base: tuple[float, float], here: tuple[float, float]
) -> list[tuple[float, float]]:
    """The points that the numbers of a command name."""
    if kind == "H":
        return [(base[0] + group[0], here[1])]
    if kind == "V":
        return [(here[0], base[1] + group[0])]
    pairs = group[2:] if kind == "A" else group
    return [(base[0] + x, base[1] + y) for x, y in zip(pairs[::2], pairs[1::2], strict=True)]


def _groups(kind: str, inside: str) -> Iterator[tuple[float, ...]]:
    """The numbers of a command, one repetition after another; a broken end is left out."""
    if kind == "A":
        for arc in _ARC.finditer(inside):
            rx, ry, _turn, _large, _sweep, x, y = arc.groups()
            try:
                yield abs(float(rx)), abs(float(ry)), float(x), float(y)
            except ValueError:
                return
        return
    size = 2 * _PAIRS.get(kind, 0) or 1
    values = each_number(inside)
    while len(group := tuple(islice(values, size))) == size:
        yield group


def _arc(start: tuple[float, float], end: tuple[float, float], rx: float, ry: float) -> list[tuple[float, float]]:
    """Two corners of a box that holds an arc whatever its flags and its turn.

    The middle of the chord lies at most √(r² − chord²/4) from the centre of a circle of radius r, and the arc within
    r of that centre; an ellipse lies inside the circle of its larger radius. Radii too small for the chord grow
    (SVG 1.1, F.6.6).
    """
    half = math.dist(start, end) / 2
    radius = max(rx, ry)
    if not (rx and ry) or not math.isfinite(half + radius):
        return []
    reach = radius + math.sqrt(radius * radius - half * half) if radius > half else half
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    return [(x - reach, y - reach), (x + reach, y + reach)]
