"""The walk over a drawing's elements as they are shown, through groups, uses, viewports and what they refer to."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from preflight.intake.pdf.matrix import EVERYWHERE, Matrix, Rect, after, box_after, meet, stretches, union
from preflight.intake.svg import style as styles
from preflight.intake.svg import transform
from preflight.intake.svg.cost import add_filter
from preflight.intake.svg.css import Sheet
from preflight.intake.svg.found import Found, area
from preflight.intake.svg.limits import MOST_DEPTH, MOST_NAMED, too_complex
from preflight.intake.svg.painting import Painting
from preflight.intake.svg.place import NOWHERE, Place
from preflight.intake.svg.shapes import SHAPES, shape
from preflight.intake.svg.style import Style
from preflight.intake.svg.tree import Document, Node

_SHOWN = SHAPES | {"g", "a", "svg", "switch", "use", "text", "image"}
_INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
_UNNAMED = "a layer without a name"


class Walk(Painting):
    """One walk over one drawing."""

    def __init__(self, document: Document, sheet: Sheet) -> None:
        super().__init__(document)
        self._sheet = sheet
        self._declared: dict[int, dict[str, str]] = {}

    def go(self, to_px: Matrix, viewport: tuple[float, float], page: Rect | None) -> Found:
        """Walk over everything that is shown.

        Parameters
        ----------
        to_px
            From the root's units to px of the page.
        viewport
            Width and height that percentages are of, in the root's units.
        page
            What is drawn, px; None = whatever is painted.

        Raises
        ------
        IntakeError
            When it is beyond the limits, holds itself, or a picture in it cannot be drawn.
        """
        root = self.document.root
        with self._styled(root, Place(to_px, page or EVERYWHERE, viewport)) as inner:
            if inner is not None:
                self._children(root, inner)
        return self.found

    def enter(self, node: Node, place: Place) -> None:
        """Walk over what another element refers to."""
        if id(node) in place.above:
            raise too_complex("a part of it is made of itself")
        self._children(node, replace(place, above=(*place.above, id(node)), depth=place.depth + 1))

    def _visit(self, node: Node, place: Place) -> None:
        self.count()
        if place.depth > MOST_DEPTH:
            raise too_complex(f"its parts lie more than {MOST_DEPTH} deep in one another")
        if node.tag not in _SHOWN:
            return
        if "transform" in node.attributes:
            place = replace(place, matrix=after(transform.parse(node.attributes["transform"]), place.matrix))
        with self._styled(node, place) as inner:
            if inner is None:
                return
            if node.tag in SHAPES:
                self.shape(node, inner)
            elif node.tag == "text":
                self._text(node, inner, (0.0, 0.0))
            elif node.tag == "use":
                self._use(node, inner)
            elif node.tag == "image":
                self.image(node, inner)
            elif node.tag == "svg":
                self._viewport(node, inner, node)
            else:
                self._children(node, inner)

    def _children(self, node: Node, place: Place) -> None:
        for child in _chosen(node) if node.tag == "switch" else node.children:
            self._visit(child, place)

    def _text(self, node: Node, place: Place, at: tuple[float, float]) -> None:
        """An element's own letters, then those of the elements in it."""
        at = self.text(node, place, at)
        if place.depth > MOST_DEPTH:
            raise too_complex(f"its parts lie more than {MOST_DEPTH} deep in one another")
        for child in node.children:
            if child.tag in ("tspan", "a", "textPath", "tref"):
                self.count()
                with self._styled(child, place) as inner:
                    if inner is not None:
                        self._text(child, inner, at)

    @contextmanager
    def _styled(self, node: Node, place: Place) -> Iterator[Place | None]:
        """The place inside an element with its style; None when it is not shown."""
        style = styles.compute(self._declarations(node), place.style)
        self._layer(node, style)
        if not style.shown:
            yield None
            return
        clip = self._clipped(node, place)
        faint = place.faint or style.opacity == 0
        inner = replace(place, style=style, clip=clip, faint=faint, depth=place.depth + 1)
        if not style.isolated:
            yield inner
            return
        found = self.found
        found.transparency = found.transparency or not faint
        around = found.begin_layer()
        yield inner
        box = found.end_layer(around)
        if box is not None:
            self._effects(style, inner, box)

    def _declarations(self, node: Node) -> dict[str, str]:
        key = id(node)
        if key not in self._declared:
            self._declared[key] = self._sheet.declarations(node)
        return self._declared[key]

    def _layer(self, node: Node, style: Style) -> None:
        """Count layers, and name those that are hidden."""
        layer = node.attributes.get(f"{_INKSCAPE}groupmode") == "layer"
        self.found.layers += layer
        if node.tag != "g" or (style.shown and style.visible):
            return
        name = node.attributes.get(f"{_INKSCAPE}label") or node.attributes.get("id") or _UNNAMED
        if (layer or node.parent is self.document.root) and len(self.found.hidden) < MOST_NAMED:
            self.found.hidden[" ".join(name.split())[:80]] = None

    def _effects(self, style: Style, place: Place, box: Rect) -> None:
        """What the filter and the mask of an element cost."""
        if style.filter is not None:
            node = self.local(styles.reference(style.filter))
            if node is None or node.tag != "filter":
                node = _A_FILTER  # one of CSS's own functions
            add_filter(self.found.cost, node, area(box), area(place.clip), stretches(place.matrix)[1])
        mask = self.local(styles.reference(style.mask))
        if mask is not None and mask.tag == "mask":
            self.found.cost.enter()
            self.enter(mask, replace(place, faint=True, style=Style()))
            self.found.cost.leave(area(box))

    def _use(self, node: Node, place: Place) -> None:
        target = self.local(node.href)
        if target is None or any(target is one for one in _with_ancestors(node)):
            return  # the library that draws leaves out an element that holds its own use
        if id(target) in place.above:
            raise too_complex("a part of it is made of itself")
        x, y = (place.length(node, name, of) for name, of in zip("xy", place.viewport, strict=True))
        moved = replace(place, matrix=place.moved(x, y), above=(*place.above, id(target)))
        if target.tag not in ("symbol", "svg"):
            self._visit(target, moved)
            return
        with self._styled(target, moved) as inner:
            if inner is not None:
                self._viewport(target, inner, node)

    def _viewport(self, node: Node, place: Place, sized_by: Node) -> None:
        """An svg inside the drawing, or a symbol that is used: a viewport of its own."""
        across, down = place.viewport
        width, height = (
            place.length(sized_by if name in sized_by.attributes else node, name, of, of)
            for name, of in (("width", across), ("height", down))
        )
        if width <= 0 or height <= 0:
            return
        x, y = (place.length(node, name, of) for name, of in (("x", across), ("y", down)))
        matrix = place.moved(x, y)
        clip = meet(box_after((0.0, 0.0, width, height), matrix), place.clip)
        box = transform.view_box(node.attributes.get("viewBox"))
        if box is not None:
            matrix = after(transform.fit(box, width, height, node.attributes.get("preserveAspectRatio")), matrix)
            width, height = box[2], box[3]
        if clip is not None:
            self._children(node, replace(place, matrix=matrix, viewport=(width, height), clip=clip))

    def _clipped(self, node: Node, place: Place) -> Rect:
        """What a clipping path leaves, as a box; the place's own where that cannot be told."""
        text = self._declarations(node).get("clip-path")
        path = self.local(styles.reference(text)) if text else None
        if path is None or path.tag != "clipPath" or path.attributes.get("clipPathUnits") == "objectBoundingBox":
            return place.clip
        matrix = after(transform.parse(path.attributes.get("transform")), place.matrix)
        box: Rect | None = None
        for child in path.children:
            self.count()
            drawn = shape(child, *place.viewport, place.style.font) if child.tag in SHAPES else None
            if drawn is None:
                return place.clip
            self.found.cost.corners += drawn.segments
            part = box_after(drawn.box, after(transform.parse(child.attributes.get("transform")), matrix))
            box = part if box is None else union(box, part)
        return (meet(box, place.clip) or NOWHERE) if box is not None else place.clip


_A_FILTER = Node("filter", {}, None, [Node("feGaussianBlur", {}, None)])


def _chosen(switch: Node) -> list[Node]:
    """The child of a switch that is drawn: the first whose conditions can be met."""
    for child in switch.children:
        if not child.attributes.get("requiredExtensions") and not child.tag.startswith("{"):
            return [child]
    return []


def _with_ancestors(node: Node) -> Iterator[Node]:
    one: Node | None = node
    while one is not None:
        yield one
        one = one.parent
