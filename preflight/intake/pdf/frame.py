"""Where the walk stands: the page as a whole, and the content stream that is being followed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field, replace
from typing import Any, TypeAlias

from preflight.intake.pdf import values
from preflight.intake.pdf.budget import MOST_SAVED, Budget, too_complex
from preflight.intake.pdf.content import Contents
from preflight.intake.pdf.fonts import Font, read_font
from preflight.intake.pdf.found import Found, Ground, area
from preflight.intake.pdf.functions import instructions
from preflight.intake.pdf.inks import Paint, Space, ink_kind, read_space
from preflight.intake.pdf.layers import Layers
from preflight.intake.pdf.matrix import Matrix, Rect
from preflight.intake.pdf.state import Outline, State, TextPlace
from preflight.intake.pdf.values import Key, Value
from preflight.intake.pdf.work import Work
from preflight.records import dataclass

#: Where a thing stands: its own number, or that of the stream whose resources name it, and the name.
Place: TypeAlias = tuple[Key, str]
#: A layer condition that stands in the resources costs as much to weigh as so many instructions, at the worst.
_CONDITION = 500


@dataclass(slots=True)
class Page:
    """What all content streams of a page share.

    ``run`` follows a content stream; ``ground`` is kept only on the second walk over a page that overprints.
    """

    found: Found
    contents: Contents
    budget: Budget
    layers: Layers
    resources: Value  #: of the page itself
    run: Callable[[Frame, Value], None]
    ground: Ground | None = None
    work: Work = field(default_factory=Work)
    overprints: bool = False
    fonts: dict[Place, Font] = field(default_factory=dict)
    spaces: dict[Place, Space] = field(default_factory=dict)
    programs: dict[Key, int] = field(default_factory=dict)
    hidden: dict[Key, str | None] = field(default_factory=dict)
    done: set[tuple[Any, ...]] = field(default_factory=set)  #: patterns and soft masks that were followed before

    def hiding(self, content: Value) -> str | None:
        """The layer that keeps content from printing; each condition that stands apart is weighed once."""
        key = values.key_of(content)
        if key == (0, 0):
            if values.is_dictionary(content):
                self.budget.play(_CONDITION)
            return self.layers.hiding(content)
        if key not in self.hidden:
            self.hidden[key] = self.layers.hiding(content)
        return self.hidden[key]


@dataclass(slots=True)
class Frame:
    """One content stream while it is followed.

    ``base`` is the matrix that it began with (patterns count from there). ``instead``: in a pattern's cell, the
    painted area that stands for whatever the cell holds. ``tint``: the paint that a cell without colours of its own
    is given. ``inside`` are the streams that led here.
    """

    page: Page
    state: State
    resources: Value
    base: Matrix
    depth: int = 0
    in_mask: bool = False
    instead: Rect | None = None
    tint: Paint | None = None
    hidden: str | None = None
    inside: frozenset[Key] = frozenset()
    saved: list[State] = field(default_factory=list)
    marks: list[str | None] = field(default_factory=list)
    hiding: list[str] = field(default_factory=list)  #: those of ``marks`` that hide
    source: Key = (0, 0)  #: the stream whose resources these are; (0, 0) for the page
    outline: Outline = field(default_factory=Outline)
    text: TextPlace = field(default_factory=TextPlace)

    def within(self, stream: Value, state: State, **changes: Any) -> Frame:
        """A frame for a stream that this one calls."""
        resources = values.get(stream, "/Resources")
        inherits = resources is None
        return replace(
            self,
            state=state,
            resources=self.resources if inherits else resources,
            source=self.source if inherits else values.key_of(stream),
            base=state.ctm,
            depth=self.depth + 1,
            hidden=self.hidden_by,
            inside=self.inside | {values.key_of(stream)},
            saved=[],
            marks=[],
            hiding=[],
            outline=Outline(),
            text=TextPlace(),
            **changes,
        )

    def resource(self, kind: str, name: Value) -> Value:
        """A resource by its kind ("/Font") and the name that an instruction gives.

        A kind that a form's own resources lack is looked for in those of the page: so does the library that draws.
        """
        own = values.get(self.resources, kind)
        return values.get(values.get(self.page.resources, kind) if own is None else own, name)

    def font(self, value: Value, name: Value) -> Font:
        """A font that the resources give under a name; each is read once."""
        place, known = self._place(value, name), self.page.fonts
        if place not in known:
            known[place] = read_font(value, self.page.contents)
        return known[place]

    def space(self, value: Value) -> Space:
        """A colour space; each that has a number or a name is read once."""
        place, known = self._place(value, value), self.page.spaces
        if place == ((0, 0), ""):
            return self._read_space(value)
        if place not in known:
            known[place] = self._read_space(value)
        return known[place]

    def _read_space(self, value: Value) -> Space:
        return read_space(value, self._named_space, program=self.instructions)

    def instructions(self, function: Value) -> int:
        """Instructions of a function, see ``functions.instructions``; each that has a number is read once."""
        key, known = values.key_of(function), self.page.programs
        if key == (0, 0):
            return instructions(function, self.page.contents.data)
        if key not in known:
            known[key] = instructions(function, self.page.contents.data)
        return known[key]

    def _place(self, value: Value, name: Value) -> Place:
        key = values.key_of(value)
        return (self.source, values.name(name) or "") if key == (0, 0) else (key, "")

    def _named_space(self, name: Value) -> Value:
        return self.resource("/ColorSpace", name)

    def save(self) -> None:
        """Put the graphics state aside. Raises IntakeError when too many are."""
        if len(self.saved) >= MOST_SAVED:
            raise too_complex(f"it saves its state more than {MOST_SAVED:,} deep")
        self.saved.append(self.state.copy())

    @property
    def hidden_by(self) -> str | None:
        """The layer that keeps what is painted now from printing."""
        return self.hidden or (self.hiding[0] if self.hiding else None)

    def mark(self, box: Rect, *, stroke: bool = False, paint: Paint | None = None, margin: float = 0.0) -> Rect | None:
        """Something is painted: note its inks and what it does to what lies below.

        Parameters
        ----------
        box
            Around it, in millimetres on the page.
        stroke
            Painted with the stroking colour, not the filling one.
        paint
            Colours of its own: of a picture or a blend.
        margin
            By how much it reaches over the box.

        Returns
        -------
        tuple or None
            The part of the box that prints; None when nothing of it does.
        """
        seen = self.visible(box, margin)
        state = self.state
        own = paint
        paint = self.tint or own or (state.stroke if stroke else state.fill)
        alpha = state.stroke_alpha if stroke else state.fill_alpha
        if seen is None or alpha <= 0.0 or paint.nothing:
            return None
        self.page.found.marks += 1
        if not self.in_mask:
            if paint.family != "pattern":
                self.page.found.paint(paint)
            self.page.found.transparency |= alpha < 1.0 or state.translucent
            self._overprint(seen, paint, state.stroke_over if stroke else state.fill_over, own is not None)
        return seen

    def visible(self, box: Rect, margin: float = 0.0) -> Rect | None:
        """The part of a box that clip, page and layers leave."""
        if self.instead is not None:
            seen: Rect | None = self.instead if box[0] <= box[2] and box[1] <= box[3] else None
        else:
            seen = self.page.found.seen(box, self.state.clip, margin)
        layer = self.hidden_by
        if seen is not None and layer is not None:
            self.page.found.hidden.setdefault(layer)
            return None
        return seen

    def _overprint(self, seen: Rect, paint: Paint, wanted: bool, own: bool) -> None:
        """ISO 32000-1, 8.6.7 (from memory): mode 1 is for plain DeviceCMYK, and not for pictures and blends.

        A white plate has to overprint: else it and the artwork would knock each other out.
        """
        ground = self.page.ground
        white = bool(paint.inks) and all(ink_kind(ink) == "white" for ink in paint.inks)
        acts = paint.family == "spot" or (paint.leaves and self.state.over_mode == 1 and not own)
        if wanted and acts and not white:
            self.page.overprints = True
            if ground is not None and (paint.blank or ground.under(seen)):
                self.page.found.overprint.add(area(seen))
        if ground is not None:
            ground.add(seen)
