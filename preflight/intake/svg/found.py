"""What the walk over a drawing finds. Boxes, widths and sizes are in px of the page at 96 px per inch."""

from __future__ import annotations

import math
from dataclasses import field

from preflight.intake.pdf.matrix import Rect, union
from preflight.intake.svg.cost import Cost
from preflight.intake.svg.limits import MOST_NAMED
from preflight.records import dataclass


def area(box: Rect | None) -> float:
    """Of a box; 0 for none and for one without end."""
    if box is None:
        return 0.0
    size = (box[2] - box[0]) * (box[3] - box[1])
    return size if math.isfinite(size) and size > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line."""

    box: Rect
    width: float


@dataclass(frozen=True, slots=True)
class Text:
    """Letters of one font and size."""

    box: Rect
    family: str
    size: float
    sample: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture from inside the file. ``scale`` is how many px one of its own pixels takes, where it takes most."""

    box: Rect
    pixels: tuple[int, int]
    scale: float


@dataclass(slots=True)
class Found:
    """Everything that was found."""

    strokes: list[Stroke] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    linked: dict[str, None] = field(default_factory=dict)
    hidden: dict[str, None] = field(default_factory=dict)
    layers: int = 0
    transparency: bool = False
    keeps_width: bool = False  #: some line has a width that does not scale
    marks: int = 0  #: how often something was painted
    painted: Rect | None = None  #: box around all that is seen
    touched: Rect | None = None  #: box around all that is drawn in the layer that is being walked over
    cost: Cost = field(default_factory=Cost)

    def begin_layer(self) -> Rect | None:
        """What is drawn from here on is drawn by itself first; gives what ``end_layer`` takes."""
        around, self.touched = self.touched, None
        self.cost.enter()
        return around

    def end_layer(self, around: Rect | None) -> Rect | None:
        """The box around all that was drawn since; None where nothing was."""
        box, self.touched = self.touched, around
        self.cost.leave(area(box))
        if box is not None:
            self.touch(box, seen=False)
        return box

    def touch(self, box: Rect, *, seen: bool) -> None:
        """Something is drawn there."""
        self.touched = box if self.touched is None else union(self.touched, box)
        if seen:
            self.marks += 1
            self.painted = box if self.painted is None else union(self.painted, box)

    def outside(self, address: str) -> None:
        """Something refers to a place outside the file."""
        if len(self.linked) < MOST_NAMED:
            self.linked["".join(letter for letter in address if letter.isprintable())[:200]] = None
