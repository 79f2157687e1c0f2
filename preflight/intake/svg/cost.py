"""What drawing will cost, estimated from the drawing's elements, so that a hostile one never starts.

Every figure below was fitted to measured times of the drawing library (2.6 GHz, one core) on drawings that do one
thing only. Times grow with the number of px drawn, so a drawing that is too dear at the wanted resolution is first
drawn coarser.
"""

from __future__ import annotations

import math
from dataclasses import field

from preflight.intake.svg.tree import Node
from preflight.records import dataclass

#: ns for one px: plain colour, a gradient or picture, a layer's own px, a layer's share of the whole page.
_PLAIN, _SHADED, _LAYER, _LAYER_PAGE = 0.4, 10.0, 10.0, 0.5
#: ns for one px and one primitive.
_PRIMITIVES = {
    "feGaussianBlur": 300.0, "feDropShadow": 350.0, "feTurbulence": 100.0, "feMorphology": 300.0,
    "feConvolveMatrix": 25.0, "feDiffuseLighting": 200.0, "feSpecularLighting": 250.0, "feDisplacementMap": 800.0,
}  # fmt: skip
_PRIMITIVE, _FILTER = 100.0, 20.0
#: ns for one element, one corner of an outline, one px along an outline, one place where an outline crosses itself.
_ELEMENT, _CORNER, _EDGE, _CROSSING = 7_000.0, 300.0, 90.0, 4_000.0
#: ns for one dash, one px of an embedded picture, one letter of its text.
_DASH, _PIXEL, _LETTER = 900.0, 20.0, 1.0
#: ns for one piece of text, and for one font and size.
_TEXT, _FACE = 40_000.0, 2_000_000.0
#: A gradient of so many colours costs twice what a plain one does.
STOPS = 200.0
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
    texts: int = 0
    faces: int = 0  #: fonts and sizes
    letters: int = 0  #: of embedded pictures
    pixels: int = 0  #: of embedded pictures
    plain: float = 0.0
    shaded: float = 0.0
    edges: float = 0.0
    crossings: float = 0.0
    layers: int = 0  #: elements that are drawn by themselves first
    layered: float = 0.0  #: their areas
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
        self.layers += 1
        self.layered += area
        self._depth -= 1

    def seconds(self, scale: float, width: float, height: float) -> float:
        """Seconds of one core for a page of that size in px at 96 px per inch, drawn ``scale`` times as large."""
        page, square = width * height, scale * scale
        again = max(1, math.ceil(height * scale / ROWS))
        per_piece = (self.layers * page * _LAYER_PAGE + self.layered * _LAYER) * square
        per_piece += self.filtered * square + self.radii * square * scale
        per_piece += self.elements * _ELEMENT + self.corners * _CORNER + self.dashes * _DASH + self.letters * _LETTER
        per_piece += self.pixels * _PIXEL + self.crossings * _CROSSING
        per_piece += self.texts * _TEXT + self.faces * _FACE
        once = (self.plain * _PLAIN + self.shaded * _SHADED) * square + self.edges * scale * _EDGE
        return (per_piece * again + once) / 1e9

    def memory(self, scale: float, width: float, height: float) -> float:
        """Bytes that the surfaces of the drawing take at most."""
        page = width * height * scale * scale
        pieces = 2 * width * scale * min(height * scale, ROWS)
        surfaces = self.deepest + (_FILTER_SURFACES if self.filters else 0)
        return _SURFACE * (page * surfaces + pieces) + 8.0 * self.pixels


def add_filter(cost: Cost, node: Node, drawn: float, page: float, stretch: float) -> None:
    """Add what a filter costs.

    Parameters
    ----------
    node
        The filter element.
    drawn
        px² of what it is applied to: it reaches a tenth beyond on each side where it says nothing else.
    page
        px² that can be seen.
    stretch
        px of one of its units.
    """
    usual = not {"filterUnits", "x", "y", "width", "height"} & node.attributes.keys()
    area = min(drawn * 1.44, page) if usual and page else max(drawn, page)
    cost.filters = True
    cost.filtered += area * _FILTER
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
