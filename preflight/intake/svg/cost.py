"""What drawing will cost, estimated from the drawing's elements, so that a hostile one never starts.

Every figure below was fitted to measured times of the drawing library (2.6 GHz, one core) on drawings that do one
thing only. Times grow with the number of px drawn, so a drawing that is too dear at the wanted resolution is first
drawn coarser.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from preflight.intake.svg.tree import Node

#: ns for one px of the drawing.
_PLAIN, _SHADED, _LAYER, _FILTER_ROOM = 0.5, 6.0, 12.0, 30.0
#: ns for one px and one primitive.
_PRIMITIVES = {
    "feGaussianBlur": 60.0, "feDropShadow": 90.0, "feTurbulence": 120.0, "feMorphology": 30.0,
    "feConvolveMatrix": 30.0, "feDiffuseLighting": 150.0, "feSpecularLighting": 150.0, "feDisplacementMap": 60.0,
}  # fmt: skip
_PRIMITIVE = 25.0
#: ns for one element, one corner of an outline, one px of an edge's height.
_ELEMENT, _CORNER, _EDGE = 3_000.0, 500.0, 4.0
_DASH, _PIXEL, _LETTER = 500.0, 20.0, 1.0
#: Rows that the library draws in one go: it starts from the first element for each such piece.
ROWS = 2000
#: Bytes of one px in one surface.
_SURFACE = 4
_FILTER_SURFACES = 6


@dataclass(slots=True)
class Cost:
    """Sums over all elements as shown. Areas are in px² of the page at 96 px per inch, lengths in those px."""

    elements: int = 0
    corners: int = 0
    dashes: float = 0.0
    letters: int = 0  #: of embedded pictures
    pixels: int = 0  #: of embedded pictures
    plain: float = 0.0
    shaded: float = 0.0
    edges: float = 0.0
    layers: float = 0.0  #: areas of what is drawn by itself first
    filtered: float = 0.0  #: ns × px² over all primitives
    deepest: int = 0  #: layers in layers
    filters: bool = False
    radii: float = 0.0  #: px² × px: what grows with the cube of the resolution
    _depth: int = field(default=0, repr=False)

    def enter(self) -> None:
        """A layer starts."""
        self._depth += 1
        self.deepest = max(self.deepest, self._depth)

    def leave(self, area: float) -> None:
        """It ends, and is laid over what is there."""
        self.layers += area
        self._depth -= 1

    def seconds(self, scale: float, width: float, height: float) -> float:
        """Seconds of one core for a page of that size in px at 96 px per inch, drawn ``scale`` times as large."""
        page, square = width * height, scale * scale
        again = max(1, math.ceil(height * scale / ROWS))
        per_piece = self.layers * square * _LAYER + self.filtered * square + self.radii * square * scale
        per_piece += self.elements * _ELEMENT + self.corners * _CORNER + self.dashes * _DASH + self.letters * _LETTER
        per_piece += self.pixels * _PIXEL
        once = (self.plain * _PLAIN + self.shaded * _SHADED) * square + self.edges * scale * _EDGE
        return (per_piece * again + once) / 1e9

    def memory(self, scale: float, width: float, height: float) -> float:
        """Bytes that the surfaces of the drawing take at most."""
        page = width * height * scale * scale
        pieces = 2 * width * scale * min(height * scale, ROWS)
        surfaces = self.deepest + (_FILTER_SURFACES if self.filters else 0)
        return _SURFACE * (page * surfaces + pieces) + 8.0 * self.pixels


def add_filter(cost: Cost, node: Node, area: float, stretch: float) -> None:
    """Add what a filter costs.

    Parameters
    ----------
    node
        The filter element.
    area
        px² that it works on.
    stretch
        px of one of its units.
    """
    cost.filters = True
    cost.filtered += area * _FILTER_ROOM
    for primitive in node.children:
        if not primitive.tag.startswith("fe"):
            continue
        get = primitive.attributes.get
        weight = _PRIMITIVES.get(primitive.tag, _PRIMITIVE)
        if primitive.tag == "feTurbulence":
            weight *= max(1.0, _first(get("numOctaves"), 1.0))
        elif primitive.tag == "feConvolveMatrix":
            sides = (get("order") or "3").replace(",", " ").split()
            weight *= max(1.0, _first(sides[0], 3.0) * _first(sides[-1], 3.0))
        elif primitive.tag == "feMorphology":
            cost.radii += area * _PRIMITIVES["feMorphology"] * max(0.0, _first(get("radius"), 0.0)) * stretch
        cost.filtered += area * weight


def _first(text: str | None, otherwise: float) -> float:
    try:
        return min(1e6, float((text or "").replace(",", " ").split()[0]))
    except (ValueError, IndexError):
        return otherwise
