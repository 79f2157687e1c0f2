"""What the elements that mark the page put on record: shapes, lines, text, pictures, and what drawing them costs."""

from __future__ import annotations

import math
from dataclasses import replace

from preflight.intake.pdf.matrix import (
    EVERYWHERE,
    Matrix,
    Rect,
    after,
    box_after,
    grown,
    height_across,
    meet,
    stretches,
)
from preflight.intake.svg import style as styles
from preflight.intake.svg import transform
from preflight.intake.svg.cost import STOPS
from preflight.intake.svg.found import Found, Picture, Stroke, Text, area
from preflight.intake.svg.lengths import length, split
from preflight.intake.svg.limits import MOST_CORNERS, MOST_SHOWN, MOST_TEXTS, too_complex
from preflight.intake.svg.pictures import Inside, is_data, read_inside
from preflight.intake.svg.place import Place, line_factor
from preflight.intake.svg.shapes import Shape, shape
from preflight.intake.svg.tree import Document, Node

_MOST_DASHES = 1_000_000
_SAMPLE = 40
#: Gradients that refer to one another.
_MOST_STEPS = 16
#: Mean width of a letter as a share of its height, for showing where a text lies; and the corners of its outline.
_LETTER, _CORNERS = 0.5, 40


class Painting:
    """The part of the walk that knows what is painted."""

    def __init__(self, document: Document) -> None:
        self.found = Found()
        self.shown = 0
        self.document = document
        self._insides: dict[int, Inside] = {}
        self._faces: set[tuple[str, float]] = set()

    def enter(self, node: Node, place: Place) -> None:
        """Walk over what another element refers to."""
        raise NotImplementedError

    def count(self, elements: int = 1) -> None:
        """So many more elements are shown. Raises IntakeError when they are too many."""
        self.shown += elements
        self.found.cost.elements += elements
        if self.shown > MOST_SHOWN:
            raise too_complex(f"it shows more than {MOST_SHOWN:,} elements")

    def local(self, address: str | None) -> Node | None:
        """The element of this document that an address names; addresses outside are noted."""
        if not address:
            return None
        if address.startswith("#"):
            return self.document.by_id.get(address[1:])
        if not is_data(address):
            self.found.outside(address)
        return None

    def shape(self, node: Node, place: Place) -> None:
        """A shape with its area, its outline and its markers."""
        style = place.style
        if not style.visible or not (style.filled or style.stroked):
            return
        drawn = shape(node, *place.viewport, style.font)
        if drawn is None:
            return
        cost = self.found.cost
        cost.corners += drawn.segments
        if cost.corners > MOST_CORNERS:
            raise too_complex(f"its outlines have more than {MOST_CORNERS:,} corners")
        if node.tag not in ("rect", "circle", "ellipse"):
            self._markers(drawn, place)
        box = self._painted(box_after(drawn.box, place.matrix), place, place.reach if style.stroked else 0.0)
        if box is None:
            return
        self.found.transparency = self.found.transparency or (style.translucent and not place.faint)
        cost.edges += drawn.length * stretches(place.matrix)[1]
        cost.crossings += drawn.crossings
        for paint, used in ((style.fill, style.filled), (style.stroke, style.stroked)):
            if used:
                self._fill(paint, drawn, box, place)
        if style.stroked:
            self._stroke(drawn, box, place)

    def _fill(self, paint: styles.Paint, drawn: Shape, box: Rect, place: Place) -> None:
        cost = self.found.cost
        if paint.reference is None:
            cost.plain += area(box)
            return
        pattern = self.local(paint.reference)
        cost.shaded += area(box) * (1.0 + self._stops(pattern) / STOPS)
        if pattern is None or pattern.tag != "pattern":
            return
        cost.enter()
        self.enter(
            pattern,
            replace(
                place,
                matrix=after(_tile(pattern, drawn.box, place), place.matrix),
                style=styles.Style(),
                clip=EVERYWHERE,
                stand_in=box,
            ),
        )
        cost.leave(area(box))

    def _stops(self, gradient: Node | None) -> int:
        """How many colours a gradient has: its own, or those of the one that it refers to."""
        for _ in range(_MOST_STEPS):
            if gradient is None or gradient.tag not in ("linearGradient", "radialGradient"):
                break
            if gradient.children:
                return len(gradient.children)
            gradient = self.local(gradient.href)
        return 0

    def _stroke(self, drawn: Shape, box: Rect, place: Place) -> None:
        style, width, cost = place.style, place.stroke_width, self.found.cost
        step = styles.dash_step(style, place.mean)
        if step is not None:
            cost.dashes += drawn.length / step
            if cost.dashes > _MOST_DASHES:
                raise too_complex(f"its lines are broken into more than {_MOST_DASHES:,} dashes")
        hidden = style.seamless and drawn.thickness > width
        if width == 0 or hidden or place.faint:
            return
        if style.keeps_width:
            self.found.keeps_width = True
        else:
            width *= line_factor(drawn.box, place.matrix)
        self.found.strokes.append(Stroke(box, width))

    def _markers(self, drawn: Shape, place: Place) -> None:
        """Markers repeat at every corner; only their cost is counted."""
        for at, text in enumerate(place.style.markers):
            marker = self.local(styles.reference(text))
            if marker is None or marker.tag != "marker":
                continue
            before = self.shown
            self.enter(marker, replace(place, faint=True, style=styles.Style()))
            if at == 1:
                self.count((self.shown - before) * max(0, drawn.segments - 1))

    def text(self, node: Node, place: Place, at: tuple[float, float]) -> tuple[float, float]:
        """The letters of an element itself; gives where they start."""
        at = _text_start(node, place, at)
        style, words = place.style, " ".join(node.text.split())
        cost = self.found.cost
        cost.corners += _CORNERS * len(words)
        if words:
            cost.texts += 1
            self._faces.add((style.family, style.font))
            cost.faces = len(self._faces)
        if cost.texts > MOST_TEXTS:
            raise too_complex(f"it has more than {MOST_TEXTS:,} pieces of text")
        if not words or not style.visible or not (style.filled or style.stroked):
            return at
        width = len(words) * _LETTER * style.font
        box = self._painted(box_after((at[0], at[1] - style.font, at[0] + width, at[1]), place.matrix), place)
        size = style.font * height_across(place.matrix)
        if box is not None and size > 0 and not place.faint:
            self.found.transparency = self.found.transparency or style.translucent
            self.found.texts.append(Text(box, style.family, size, words[:_SAMPLE]))
        return at

    def image(self, node: Node, place: Place) -> None:
        """A picture: inside the drawing, or outside and then only named."""
        address = node.href
        if not address or address.startswith("#"):
            return
        if not is_data(address):
            if not place.faint and place.style.visible:
                self.found.outside(address)
            return
        key = id(node)
        if key not in self._insides:
            self._insides[key] = inside = read_inside(address)
            self.found.cost.pixels += math.prod(inside.pixels)
            self.found.cost.letters += inside.letters
        self._placed(node, place, self._insides[key].pixels)

    def _placed(self, node: Node, place: Place, pixels: tuple[int, int]) -> None:
        wide, high = pixels
        across, down = place.viewport
        width = place.length(node, "width", across, math.nan)
        height = place.length(node, "height", down, math.nan)
        if math.isnan(width):
            width = wide * height / high if high and not math.isnan(height) else float(wide)
        if math.isnan(height):
            height = high * width / wide if wide else float(high)
        if min(wide, high, width, height) <= 0:
            return
        x, y = place.length(node, "x", across), place.length(node, "y", down)
        fitted = transform.fit((0.0, 0.0, wide, high), width, height, node.attributes.get("preserveAspectRatio"))
        matrix = after(fitted, place.moved(x, y))
        whole = meet(box_after((0.0, 0.0, wide, high), matrix), box_after((x, y, x + width, y + height), place.matrix))
        box = self._painted(whole, place) if whole is not None else None
        if box is None:
            return
        self.found.cost.shaded += area(box)
        if not place.faint and place.style.visible:
            self.found.pictures.append(Picture(box, pixels, stretches(matrix)[1]))

    def _painted(self, box: Rect, place: Place, reach: float = 0.0) -> Rect | None:
        """The part of a painted box that can be seen; None for none of it."""
        if not all(map(math.isfinite, box)):
            return None
        seen = place.stand_in or meet(grown(box, reach), place.clip)
        if seen is not None:
            self.found.touch(seen, seen=not place.faint)
        return seen


def _tile(pattern: Node, box: Rect, place: Place) -> Matrix:
    """From the units of a pattern's content to those of the shape that it fills, for its first tile."""
    matrix = transform.parse(pattern.attributes.get("patternTransform"))
    wide, high = box[2] - box[0], box[3] - box[1]
    view = transform.view_box(pattern.attributes.get("viewBox"))
    if view is not None:
        own = pattern.attributes.get("patternUnits") == "userSpaceOnUse"
        across, down = (1.0, 1.0) if own else (wide, high)
        width = place.length(pattern, "width", place.viewport[0] if own else 1.0) * across
        height = place.length(pattern, "height", place.viewport[1] if own else 1.0) * down
        if width > 0 and height > 0:
            how = pattern.attributes.get("preserveAspectRatio")
            return after(transform.fit(view, width, height, how), matrix)
    elif pattern.attributes.get("patternContentUnits") == "objectBoundingBox":
        return after((wide, 0.0, 0.0, high, box[0], box[1]), matrix)
    return matrix


def _text_start(node: Node, place: Place, at: tuple[float, float]) -> tuple[float, float]:
    places = []
    for name, before, of in (("x", at[0], place.viewport[0]), ("y", at[1], place.viewport[1])):
        first = node.attributes.get(name, "").replace(",", " ").split()
        shift = node.attributes.get(f"d{name}", "").replace(",", " ").split()
        start = length(first[0], of=of, font=place.style.font, otherwise=before) if first else before
        known = bool(shift) and split(shift[0]) is not None
        places.append(start + (length(shift[0], of=of, font=place.style.font) if known else 0.0))
    return places[0], places[1]
