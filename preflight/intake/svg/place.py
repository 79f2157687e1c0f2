"""Where an element lies and how it is seen."""

from __future__ import annotations

import math

from preflight.intake.pdf.matrix import EVERYWHERE, IDENTITY, Matrix, Rect, after, stretches
from preflight.intake.svg.lengths import diagonal, length, split
from preflight.intake.svg.style import Style, stroke_width
from preflight.intake.svg.tree import Node
from preflight.records import dataclass

NOWHERE: Rect = (math.inf, math.inf, -math.inf, -math.inf)


@dataclass(frozen=True, slots=True)
class Place:
    """The way from an element's units to px of the page, what can be seen there, and the viewport's size."""

    matrix: Matrix = IDENTITY
    clip: Rect = EVERYWHERE
    viewport: tuple[float, float] = (100.0, 100.0)
    style: Style = Style()
    faint: bool = False  #: fully transparent, or drawn only to weaken something else
    stand_in: Rect | None = None  #: where what is drawn shows in truth: a pattern in what it fills
    above: tuple[int, ...] = ()  #: what has been entered, to notice a drawing that holds itself
    depth: int = 0

    @property
    def mean(self) -> float:
        """What a percentage is of where it is neither across nor down."""
        return diagonal(*self.viewport)

    @property
    def stroke_width(self) -> float:
        """Width of the outline in the element's units; in px where it does not scale."""
        return stroke_width(self.style, self.mean)

    @property
    def reach(self) -> float:
        """How far an outline reaches beyond its path, px."""
        return self.stroke_width / 2 * (1.0 if self.style.keeps_width else stretches(self.matrix)[1])

    def length(self, node: Node, name: str, of: float, otherwise: float = 0.0) -> float:
        """An attribute as a length in the element's units."""
        text = node.attributes.get(name)
        if split(text) is None:
            return otherwise
        return length(text, of=of, font=self.style.font, otherwise=otherwise)

    def moved(self, x: float, y: float) -> Matrix:
        """The matrix of what is shifted inside."""
        return after((1.0, 0.0, 0.0, 1.0, x, y), self.matrix)


def line_factor(box: Rect, matrix: Matrix) -> float:
    """Factor on the width of a line: exact for one that runs level or upright, for all others the least there is."""
    determinant = abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])
    across, down = math.hypot(matrix[0], matrix[1]), math.hypot(matrix[2], matrix[3])
    if box[1] == box[3] and across:
        return determinant / across
    if box[0] == box[2] and down:
        return determinant / down
    return stretches(matrix)[0]
