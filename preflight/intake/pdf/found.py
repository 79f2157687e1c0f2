"""What the walk over a page has found so far: the worst of each kind are kept, and nothing grows without end."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import field
from itertools import count
from typing import Generic, TypeVar

from preflight.intake.pdf.inks import Paint, ink_kind
from preflight.intake.pdf.matrix import EVERYWHERE, Rect, meet, union
from preflight.intake.pdf.values import Key, shown
from preflight.model import Area, InkFact, PlacedPicture, StrokeLine, TextRun
from preflight.records import dataclass

#: At most so many objects of a kind are handed on: of more, the worst.
MOST_KEPT = 2_000
_MOST_NAMES = 200
#: Text that goes on within so many of its own heights belongs to the piece before.
_GAP = 1.0
_SAMPLE = 40
Item = TypeVar("Item")


class Worst(Generic[Item]):
    """The items of lowest rank out of many, in the order in which they came.

    Parameters
    ----------
    rank
        The lower, the more certainly an item is kept.
    """

    def __init__(self, rank: Callable[[Item], float]) -> None:
        self._rank = rank
        self._heap: list[tuple[float, int, Item]] = []
        self._order = count()
        self.total = 0

    def add(self, item: Item) -> None:
        """Keep an item, if it is among the lowest so far."""
        self.total += 1
        entry = (-self._rank(item), -next(self._order), item)
        if len(self._heap) < MOST_KEPT:
            heapq.heappush(self._heap, entry)
        elif entry > self._heap[0]:
            heapq.heapreplace(self._heap, entry)

    def items(self) -> tuple[Item, ...]:
        """Those that were kept."""
        return tuple(item for _, _, item in sorted(self._heap, key=lambda entry: -entry[1]))


@dataclass(slots=True)
class Piece:
    """Text of one font and size while it is still growing along its line."""

    box: Rect
    font: str
    size_pt: float
    embedded: bool
    sample: str
    upright: bool

    def goes_on(self, other: Piece) -> bool:
        """Whether another piece is more of the same: same font and size, beside this one on the same line."""
        if (self.font, self.embedded, self.upright) != (other.font, other.embedded, other.upright):
            return False
        if abs(self.size_pt - other.size_pt) > 0.005:
            return False
        (x0, y0, x1, y1), (p0, q0, p1, q1) = self.box, other.box
        if not self.upright:
            x0, y0, x1, y1, p0, q0, p1, q1 = y0, x0, y1, x1, q0, p0, q1, p1
        height = y1 - y0
        return abs(y0 - q0) < 0.1 * height and p0 - x1 < _GAP * height and x0 - p1 < _GAP * height


@dataclass(slots=True)
class Found:
    """Everything found on a page. Boxes are in millimetres of the upright page, cut to what can be seen."""

    page: Rect
    pictures: Worst[PlacedPicture] = field(default_factory=lambda: Worst(lambda picture: picture.ppi))
    texts: Worst[TextRun] = field(default_factory=lambda: Worst(lambda run: run.size_pt if run.embedded else 0.0))
    strokes: Worst[StrokeLine] = field(default_factory=lambda: Worst(lambda stroke: stroke.width_mm))
    overprint: Worst[Area] = field(default_factory=lambda: Worst(lambda area: -area.width_mm * area.height_mm))
    inks: dict[str, str] = field(default_factory=dict)
    families: set[str] = field(default_factory=set)  #: of colour spaces that mark the page
    group_families: set[str] = field(default_factory=set)  #: of those that transparent groups blend in
    hidden: dict[str, None] = field(default_factory=dict)
    linked: dict[str, None] = field(default_factory=dict)
    picture_keys: dict[Key, None] = field(default_factory=dict)  #: of pictures that are shown, and of their masks
    white_pictures: set[Key] = field(default_factory=set)
    transparency: bool = False
    odd_blends: bool = False  #: blend modes whose result over white is not that over film
    marks: int = 0  #: how often something was painted
    slips: int = 0
    _piece: Piece | None = None

    def seen(self, box: Rect, clip: Rect, margin: float = 0.0) -> Rect | None:
        """The part of a box that the clip and the page leave; None when that is nothing."""
        x0, y0, x1, y1 = box
        inside = meet((x0 - margin, y0 - margin, x1 + margin, y1 + margin), clip)
        return meet(inside, self.page) if inside is not None else None

    def paint(self, paint: Paint) -> None:
        """Paint that marks the page."""
        self.families.add(paint.family)
        for ink in paint.inks:
            if len(self.inks) < _MOST_NAMES:
                self.inks.setdefault(ink, ink_kind(ink))

    def text(self, piece: Piece) -> None:
        """Some more text; joined to what came just before where it goes on there."""
        last = self._piece
        if last is not None and last.goes_on(piece):
            last.box = union(last.box, piece.box)
            last.sample = (last.sample + piece.sample)[:_SAMPLE]
            return
        self.end_text()
        piece.sample = piece.sample[:_SAMPLE]
        self._piece = piece

    def end_text(self) -> None:
        """No more text belongs to the last piece."""
        piece, self._piece = self._piece, None
        if piece is not None:
            sample = shown(piece.sample, _SAMPLE)
            self.texts.add(TextRun(area(piece.box), piece.font, piece.size_pt, piece.embedded, sample))

    def ink_facts(self) -> tuple[InkFact, ...]:
        """The inks that mark the page, as people are shown them."""
        return tuple(InkFact(shown(name), kind) for name, kind in self.inks.items())


def area(box: Rect) -> Area:
    """A box as people are shown it."""
    x0, y0, x1, y1 = box
    return Area(x0, y0, x1 - x0, y1 - y0)


class Ground:
    """Which places of a page have been painted, on a grid: is there anything for an overprint to act on?

    Boxes stand for objects, in cells of a 256th of the page: a yes may be a near miss, a no is sure.
    """

    CELLS = 256

    def __init__(self, page: Rect) -> None:
        self._page = page if page != EVERYWHERE else (0.0, 0.0, 1.0, 1.0)
        self._rows = [0] * self.CELLS

    def add(self, box: Rect) -> None:
        """Something was painted here."""
        rows, mask = self._cells(box)
        for row in rows:
            self._rows[row] |= mask

    def under(self, box: Rect) -> bool:
        """Whether anything was painted where a box lies."""
        rows, mask = self._cells(box)
        return any(self._rows[row] & mask for row in rows)

    def _cells(self, box: Rect) -> tuple[range, int]:
        x0, y0, x1, y1 = self._page
        left, right = (self._cell(x, x0, x1) for x in (box[0], box[2]))
        top, bottom = (self._cell(y, y0, y1) for y in (box[1], box[3]))
        return range(top, bottom + 1), ((1 << (right - left + 1)) - 1) << left

    def _cell(self, value: float, low: float, high: float) -> int:
        share = (value - low) / (high - low) if high > low else 0.0
        return min(self.CELLS - 1, max(0, int(share * self.CELLS)))
