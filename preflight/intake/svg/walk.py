"""The walk over a drawing's elements as they are shown: what is in it, where, how wide, and what drawing it costs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from preflight.intake.pdf.matrix import EVERYWHERE, IDENTITY, Matrix, Rect, after, box_after, grown, meet, stretches, union
from preflight.intake.svg import style as styles
from preflight.intake.svg import transform
from preflight.intake.svg.cost import Cost, add_filter
from preflight.intake.svg.css import Sheet
from preflight.intake.svg.lengths import diagonal, length, split
from preflight.intake.svg.limits import MOST_DEPTH, MOST_NAMED, MOST_SHOWN, too_complex
from preflight.intake.svg.pictures import Inside, is_data, read_inside
from preflight.intake.svg.shapes import SHAPES, Shape, shape
from preflight.intake.svg.style import Style
from preflight.intake.svg.tree import Document, Node

_GROUPS = frozenset(("g", "a", "svg", "symbol", "switch"))
_INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
_CONDITIONS = ("requiredExtensions", "requiredFeatures", "systemLanguage")
_MOST_DASHES = 1_000_000
_MOST_CORNERS = 3_000_000
_SAMPLE = 40
#: Mean width of a letter as a share of its height; judgement, for showing where a text lies.
_LETTER = 0.5


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line; box and width in px of the page at 96 px per inch."""

    box: Rect
    width: float


@dataclass(frozen=True, slots=True)
class Text:
    """Letters of one font and size; px as above."""

    box: Rect
    family: str
    size: float
    sample: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture from inside the file; px as above. ``scale`` is how many of them one of its own pixels takes."""

    box: Rect
    pixels: tuple[int, int]
    scale: float


@dataclass(slots=True)
class Found:
    """What the walk found."""

    strokes: list[Stroke] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    linked: dict[str, None] = field(default_factory=dict)
    hidden: dict[str, None] = field(default_factory=dict)
    layers: int = 0
    transparency: bool = False
    keeps_width: bool = False  #: some line has a width that does not scale
    painted: Rect | None = None  #: box around all that is painted
    touched: Rect | None = None  #: the same within the layer that is being walked over, whether it is seen or not
    cost: Cost = field(default_factory=Cost)

    def touch(self, box: Rect) -> None:
        """Something is drawn there."""
        self.touched = box if self.touched is None else union(self.touched, box)


@dataclass(frozen=True, slots=True)
class Place:
    """Where an element lies: the way from its units to the page's px, what can be seen, and the viewport's size."""

    matrix: Matrix
    clip: Rect
    viewport: tuple[float, float]
    style: Style
    faint: bool = False  #: fully transparent, or drawn only to cut or to weaken something else
    above: tuple[int, ...] = ()  #: what has been entered, to notice a drawing that holds itself
    depth: int = 0

    @property
    def mean(self) -> float:
        return diagonal(*self.viewport)


class Walk:
    """One walk over one drawing."""

    def __init__(self, document: Document, sheet: Sheet) -> None:
        self.found = Found()
        self._document, self._sheet = document, sheet
        self._shown = 0
        self._declared: dict[int, dict[str, str]] = {}
        self._insides: dict[int, Inside] = {}

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
        place = Place(to_px, page or EVERYWHERE, viewport, Style())
        root = self._document.root
        with self._styled(root, place) as inner:
            if inner is not None:
                self._children(root, inner)
        return self.found

    # Elements

    def _visit(self, node: Node, place: Place) -> None:
        self._shown += 1
        if self._shown > MOST_SHOWN:
            raise too_complex(f"it shows more than {MOST_SHOWN:,} elements")
        if place.depth > MOST_DEPTH:
            raise too_complex(f"its parts lie more than {MOST_DEPTH} deep in one another")
        self.found.cost.elements += 1
        tag = node.tag
        if not (tag in SHAPES or tag in _GROUPS or tag in ("use", "text", "image")) or tag == "symbol":
            return
        if "transform" in node.attributes:
            place = replace(place, matrix=after(transform.parse(node.attributes["transform"]), place.matrix))
        with self._styled(node, place) as inner:
            if inner is None:
                return
            if tag in SHAPES:
                self._shape(node, inner)
            elif tag == "text":
                self._text(node, inner, (0.0, 0.0))
            elif tag == "use":
                self._use(node, inner)
            elif tag == "image":
                self._image(node, inner)
            elif tag == "svg":
                self._viewport(node, inner, node)
            else:
                self._children(node, inner)

    def _children(self, node: Node, place: Place) -> None:
        for child in _chosen(node) if node.tag == "switch" else node.children:
            self._visit(child, place)

    @contextmanager
    def _styled(self, node: Node, place: Place) -> Iterator[Place | None]:
        """The place inside an element with its style; None when it is not shown. Layers are left at the end."""
        style = styles.compute(self._declarations(node), place.style)
        self._layer(node, style)
        if not style.shown:
            yield None
            return
        found = self.found
        clip = self._clipped(node, place)
        faint = place.faint or style.opacity == 0
        inner = replace(place, style=style, clip=clip, faint=faint, depth=place.depth + 1)
        if not style.isolated:
            yield inner
            return
        found.transparency = found.transparency or not faint
        around, found.touched = found.touched, None
        found.cost.enter()
        yield inner
        box, found.touched = found.touched, around
        found.cost.leave(_area(box) if box is not None else 0.0)
        if box is not None:
            found.touch(box)
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
        name = node.attributes.get(f"{_INKSCAPE}label") or node.attributes.get("id")
        if (layer or node.parent is self._document.root) and len(self.found.hidden) < MOST_NAMED:
            self.found.hidden[" ".join((name or "a layer without a name").split())[:80]] = None

    def _effects(self, style: Style, place: Place, box: Rect) -> None:
        """What the filter and the mask of an element cost, and the room that a filter takes."""
        page = _area(place.clip)
        node = self._local(styles.reference(style.filter))
        if style.filter is not None:
            if node is not None and node.tag == "filter":
                add_filter(self.found.cost, node, page, stretches(place.matrix)[1])
            else:
                add_filter(self.found.cost, _UNKNOWN_FILTER, page, 1.0)
        mask = self._local(styles.reference(style.mask))
        if mask is not None and mask.tag == "mask":
            self.found.cost.enter()
            self._aside(mask, place)
            self.found.cost.leave(_area(box))

    def _aside(self, node: Node, place: Place) -> None:
        """Walk over what is drawn only to weaken or to fill something else."""
        self._enter(node, replace(place, faint=True, style=Style()))

    def _enter(self, node: Node, place: Place) -> None:
        """Walk over what another element refers to."""
        if id(node) in place.above:
            raise too_complex("a part of it is made of itself")
        self._children(node, replace(place, above=(*place.above, id(node)), depth=place.depth + 1))

    def _local(self, address: str | None) -> Node | None:
        """The element of this document that an address names; addresses outside are noted."""
        if not address:
            return None
        if address.startswith("#"):
            return self._document.by_id.get(address[1:])
        if not is_data(address):
            self._outside(address)
        return None

    def _outside(self, address: str) -> None:
        if len(self.found.linked) < MOST_NAMED:
            self.found.linked["".join(letter for letter in address if letter.isprintable())[:200]] = None

    # References

    def _use(self, node: Node, place: Place) -> None:
        target = self._local(node.href)
        if target is None or any(target is one for one in _with_ancestors(node)):
            return  # the library that draws leaves out an element that holds its own use
        if id(target) in place.above:
            raise too_complex("a part of it is made of itself")
        x, y = (self._length(node, name, of, place) for name, of in zip("xy", place.viewport, strict=True))
        moved = replace(
            place,
            matrix=after((1.0, 0.0, 0.0, 1.0, x, y), place.matrix),
            above=(*place.above, id(target)),
            style=place.style.heir,
        )
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
            self._length(sized_by if name in sized_by.attributes else node, name, of, place, of)
            for name, of in (("width", across), ("height", down))
        )
        if width <= 0 or height <= 0:
            return
        x, y = (self._length(node, name, of, place) for name, of in (("x", across), ("y", down)))
        matrix = after((1.0, 0.0, 0.0, 1.0, x, y), place.matrix)
        clip = meet(box_after((0.0, 0.0, width, height), matrix), place.clip)
        box = transform.view_box(node.attributes.get("viewBox"))
        if box is not None:
            matrix = after(transform.fit(box, width, height, node.attributes.get("preserveAspectRatio")), matrix)
            width, height = box[2], box[3]
        if clip is not None:
            self._children(node, replace(place, matrix=matrix, viewport=(width, height), clip=clip))

    def _image(self, node: Node, place: Place) -> None:
        address = node.href
        if not address or address.startswith("#"):
            return
        if not is_data(address):
            if not place.faint and place.style.visible:
                self._outside(address)
            return
        key = id(node)
        if key not in self._insides:
            self._insides[key] = read_inside(address)
            self.found.cost.pixels += math.prod(self._insides[key].pixels)
            self.found.cost.letters += self._insides[key].letters
        self._placed(node, place, self._insides[key])

    def _placed(self, node: Node, place: Place, inside: Inside) -> None:
        wide, high = inside.pixels
        across, down = place.viewport
        width = self._length(node, "width", across, place, math.nan)
        height = self._length(node, "height", down, place, math.nan)
        if math.isnan(width):
            width = wide * height / high if high and not math.isnan(height) else float(wide)
        if math.isnan(height):
            height = high * width / wide if wide else float(high)
        if min(wide, high, width, height) <= 0:
            return
        x, y = self._length(node, "x", across, place), self._length(node, "y", down, place)
        fitted = transform.fit((0.0, 0.0, wide, high), width, height, node.attributes.get("preserveAspectRatio"))
        matrix = after(after(fitted, (1.0, 0.0, 0.0, 1.0, x, y)), place.matrix)
        frame = box_after((x, y, x + width, y + height), place.matrix)
        whole = meet(box_after((0.0, 0.0, wide, high), matrix), frame)
        box = self._painted(whole, place) if whole is not None else None
        if box is not None:
            self.found.cost.shaded += _area(box)
            self.found.pictures.append(Picture(box, inside.pixels, stretches(matrix)[1]))

    # Shapes

    def _shape(self, node: Node, place: Place) -> None:
        style = place.style
        filled, stroked = style.filled, style.stroked
        if not style.visible or not (filled or stroked):
            return
        drawn = shape(node, *place.viewport, style.font)
        if drawn is None:
            return
        cost = self.found.cost
        cost.corners += drawn.segments
        if cost.corners > _MOST_CORNERS:
            raise too_complex(f"its outlines have more than {_MOST_CORNERS:,} corners")
        self._markers(node, drawn, place)
        box = self._painted(box_after(drawn.box, place.matrix), place, self._reach(place) if stroked else 0.0)
        if box is None:
            return
        self.found.transparency = self.found.transparency or (style.translucent and not place.faint)
        cost.edges += drawn.segments * min(box[3] - box[1], 2 * drawn.length * stretches(place.matrix)[1])
        for paint in (style.fill if filled else styles.NONE, style.stroke if stroked else styles.NONE):
            self._fill(paint, box, place)
        if stroked:
            self._stroke(drawn, place)

    def _fill(self, paint: styles.Paint, box: Rect, place: Place) -> None:
        cost = self.found.cost
        if paint.reference is None:
            cost.plain += _area(box) if paint.colour is not None else 0.0
            return
        cost.shaded += _area(box)
        pattern = self._local(paint.reference)
        if pattern is not None and pattern.tag == "pattern":
            matrix = after(transform.parse(pattern.attributes.get("patternTransform")), place.matrix)
            cost.enter()
            self._enter(pattern, replace(place, matrix=matrix, style=Style(), clip=EVERYWHERE, faint=True))
            cost.leave(_area(box))

    def _reach(self, place: Place) -> float:
        """How far a line reaches beyond its path, px."""
        if place.style.keeps_width:
            return styles.stroke_width(place.style, place.mean) / 2
        return styles.stroke_width(place.style, place.mean) * stretches(place.matrix)[1] / 2

    def _stroke(self, drawn: Shape, place: Place) -> None:
        style = place.style
        width = styles.stroke_width(style, place.mean)
        step = styles.dash_step(style, place.mean)
        if step is not None:
            self.found.cost.dashes += drawn.length / step
            if self.found.cost.dashes > _MOST_DASHES:
                raise too_complex(f"its lines are broken into more than {_MOST_DASHES:,} dashes")
        if width == 0 or style.seamless or place.faint:
            return
        box = self._painted(box_after(drawn.box, place.matrix), place, self._reach(place))
        if box is None:
            return
        if style.keeps_width:
            self.found.keeps_width = True
            self.found.strokes.append(Stroke(box, width))
        else:
            self.found.strokes.append(Stroke(box, width * _across(drawn.box, place.matrix)))

    def _markers(self, node: Node, drawn: Shape, place: Place) -> None:
        """Markers repeat at every corner; only their cost is counted."""
        if node.tag in ("rect", "circle", "ellipse"):
            return
        for at, text in enumerate(place.style.markers):
            marker = self._local(styles.reference(text))
            if marker is None or marker.tag != "marker":
                continue
            before = self._shown
            self._aside(marker, place)
            times = drawn.segments if at == 1 else 1
            self._shown += (self._shown - before) * (times - 1)
            self.found.cost.elements += (self._shown - before) * (times - 1)
            if self._shown > MOST_SHOWN:
                raise too_complex(f"it shows more than {MOST_SHOWN:,} elements")

    # Text

    def _text(self, node: Node, place: Place, at: tuple[float, float]) -> None:
        """An element's own letters, then those of the elements in it."""
        at = self._text_start(node, place, at)
        style, words = place.style, " ".join(node.text.split())
        self.found.cost.corners += 40 * len(words)
        if words and style.visible and not place.faint and (style.filled or style.stroked):
            self._letters(words, place, at)
        for child in node.children:
            if child.tag in ("tspan", "a", "textPath", "tref"):
                self._shown += 1
                if self._shown > MOST_SHOWN or place.depth > MOST_DEPTH:
                    raise too_complex("it has too many pieces of text")
                with self._styled(child, place) as inner:
                    if inner is not None:
                        self._text(child, inner, at)

    def _text_start(self, node: Node, place: Place, at: tuple[float, float]) -> tuple[float, float]:
        places = []
        for name, before, of in (("x", at[0], place.viewport[0]), ("y", at[1], place.viewport[1])):
            first = node.attributes.get(name, "").replace(",", " ").split()
            shift = node.attributes.get(f"d{name}", "").replace(",", " ").split()
            start = length(first[0], of=of, font=place.style.font, otherwise=before) if first else before
            places.append(start + (length(shift[0], of=of, font=place.style.font) if shift else 0.0))
        return places[0], places[1]

    def _letters(self, words: str, place: Place, at: tuple[float, float]) -> None:
        style = place.style
        width = len(words) * _LETTER * style.font
        box = self._painted(box_after((at[0], at[1] - style.font, at[0] + width, at[1]), place.matrix), place)
        size = style.font * _height(place.matrix)
        self.found.transparency = self.found.transparency or style.translucent
        if box is not None and size > 0:
            self.found.texts.append(Text(box, style.family, size, words[:_SAMPLE]))

    # Measures

    def _length(self, node: Node, name: str, of: float, place: Place, otherwise: float = 0.0) -> float:
        text = node.attributes.get(name)
        if text is None or split(text) is None:
            return otherwise
        return length(text, of=of, font=place.style.font, otherwise=otherwise)

    def _painted(self, box: Rect, place: Place, reach: float = 0.0) -> Rect | None:
        """The part of a painted box that can be seen; None for none of it."""
        if not all(map(math.isfinite, box)):
            return None
        seen = meet(grown(box, reach), place.clip)
        if seen is not None:
            self.found.touch(seen)
        if seen is not None and not place.faint:
            painted = self.found.painted
            self.found.painted = seen if painted is None else union(painted, seen)
        return seen

    def _clipped(self, node: Node, place: Place) -> Rect:
        """What a clipping path leaves, as a box; the place's own where that cannot be told."""
        text = self._declarations(node).get("clip-path")
        path = self._local(styles.reference(text)) if text else None
        if path is None or path.tag != "clipPath" or path.attributes.get("clipPathUnits") == "objectBoundingBox":
            return place.clip
        matrix = after(transform.parse(path.attributes.get("transform")), place.matrix)
        box: Rect | None = None
        for child in path.children:
            self.found.cost.elements += 1
            drawn = shape(child, *place.viewport, place.style.font) if child.tag in SHAPES else None
            if drawn is None:
                return place.clip
            self.found.cost.corners += drawn.segments
            moved = after(transform.parse(child.attributes.get("transform")), matrix)
            part = box_after(drawn.box, moved)
            box = part if box is None else union(box, part)
        return (meet(box, place.clip) or _NOWHERE) if box is not None else place.clip


_NOWHERE: Rect = (math.inf, math.inf, -math.inf, -math.inf)
_UNKNOWN_FILTER = Node("filter", {}, None, [Node("feGaussianBlur", {}, None)])


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


def _area(box: Rect) -> float:
    area = (box[2] - box[0]) * (box[3] - box[1])
    return area if math.isfinite(area) and area > 0 else 0.0


def _across(box: Rect, matrix: Matrix) -> float:
    """Factor on the width of a line: for one that runs level or upright exactly, else the least."""
    determinant = abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])
    across, down = math.hypot(matrix[0], matrix[1]), math.hypot(matrix[2], matrix[3])
    if box[1] == box[3] and across:
        return determinant / across
    if box[0] == box[2] and down:
        return determinant / down
    return stretches(matrix)[0]


def _height(matrix: Matrix) -> float:
    """Factor on the height of letters."""
    base = math.hypot(matrix[0], matrix[1])
    return abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]) / base if base else 0.0
