"""What drawing a page will cost, estimated from its objects, so that a hostile page never starts.

Every figure was fitted to measured times of the drawing library (PDFium, 2.6 GHz, one core) on pages that do one thing
only. An honest page costs a tenth of a second, a map of a hundred thousand outlines one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field
from typing import Any

from preflight.intake.pdf.budget import too_complex
from preflight.intake.pdf.matrix import Matrix, Rect, box_after, meet
from preflight.records import dataclass

#: ns for one px along an outline that is filled, or stroked.
_EDGE, _STROKE = 60.0, 90.0
#: ns for one px of an area: plain, translucent, blended or masked.
_PLAIN, _CLEAR, _BLENDED = 1.4, 9.5, 15.0
#: ns for one px of a blend, by its kind: a function of the place, along a line, between circles, meshes.
_BLENDS = {1: 45.0, 2: 2.0, 3: 25.0}
_MESH = 10.0
#: ns for one instruction of a calculator function, and times that a blend of kind 2 or 3 asks for a colour.
_STEP, _COLOURS = 5.0, 256
#: Seconds that one drawing may take. A child has 20 for all that it does, and a little more for large artwork.
_MOST_SECONDS = 10.0
#: Outlines of a page before they are weighed: so many cost no more than a few seconds, whatever they are.
_FREE = 300
#: Beyond, one in so many is weighed and stands for the others, and of a long one so many parts.
_ONE_IN, _PARTS = 8, 256
#: Parts of an outline that is always weighed.
_LONG = 1_000


@dataclass(slots=True)
class Work:
    """Sums over everything that a page paints, at the page's own size."""

    edges: float = 0.0  #: ns × mm
    areas: float = 0.0  #: ns × mm²
    steps: float = 0.0  #: instructions of functions, whatever the size of the drawing
    again: float = 0.0  #: the same for each piece in which the page is drawn
    _outlines: int = field(default=0, repr=False)

    def stands_for(self, parts: int) -> int:
        """For how many outlines the next one stands, which has so many parts; 0: it is not weighed.

        Which ones are weighed follows no period that a file could have, and is the same each time.
        """
        self._outlines += 1
        number = self._outlines
        if parts > _LONG:
            return 1
        return _ONE_IN if number > _FREE and _mixed(number) % _ONE_IN == 0 else 0

    def outline(
        self, parts: Sequence[Any], matrix: Matrix, sheet: Rect, ns: float, *, stroked: bool, times: int
    ) -> None:
        """An outline is painted.

        Parameters
        ----------
        parts
            Its instructions.
        matrix
            To millimetres.
        sheet
            What can be seen of the page there, millimetres.
        ns
            For one px of its area; 0 when it is stroked only.
        times
            For how many it stands.
        """
        length, within, box = _measured(parts[:_PARTS])
        box = box_after(box, matrix)
        seen = meet(box, sheet)
        if seen is None:
            return
        square = abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])
        more = max(1.0, len(parts) / _PARTS)
        length *= math.sqrt(square) * _share(box[0::2], seen[0::2]) * _share(box[1::2], seen[1::2])
        self.edges += times * more * length * (_STROKE if stroked else _EDGE)
        self.areas += times * min(more * min(within * square, _area(seen)), _area(sheet)) * ns

    def blend(self, seen: Rect, kind: int, program: int) -> None:
        """An area is filled with a blend.

        Parameters
        ----------
        seen
            In millimetres.
        kind
            ShadingType.
        program
            Instructions of its functions.
        """
        self.areas += _area(seen) * (_BLENDS.get(kind, _MESH) + (_STEP * program if kind == 1 else 0.0))
        self.steps += program * _COLOURS

    def seconds(self, per_mm: float, pieces: int = 1) -> float:
        """Seconds of one core for a drawing with so many px per mm, in so many pieces."""
        steps = (self.steps + self.again * pieces) * _STEP
        return (self.edges * per_mm + self.areas * per_mm * per_mm + steps) / 1e9

    def check(self, *drawings: tuple[float, int]) -> None:
        """Refuse a page that takes too long to draw.

        Parameters
        ----------
        drawings
            px per mm of each one that is made, and its pieces.

        Raises
        ------
        IntakeError
            With what to send instead.
        """
        if sum(self.seconds(per_mm, pieces) for per_mm, pieces in drawings) > _MOST_SECONDS:
            raise too_complex("drawing it would take too long")


def paint_cost(alpha: float, *, odd: bool) -> float:
    """Of one px of an area that is filled, ns; ``odd``: blended or masked."""
    return _BLENDED if odd else _PLAIN if alpha >= 1.0 else _CLEAR


def _mixed(number: int) -> int:
    """A number with its bits stirred, so that what follows from it has no period."""
    mixed = number * 0x9E3779B1 & 0xFFFFFFFF
    mixed = (mixed ^ mixed >> 15) * 0x85EBCA77 & 0xFFFFFFFF
    return mixed >> 18


def _area(box: Rect) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def _share(whole: Sequence[float], seen: Sequence[float]) -> float:
    """The part of a stretch that can be seen."""
    return (seen[1] - seen[0]) / (whole[1] - whole[0]) if whole[1] > whole[0] else 1.0


def _measured(parts: Sequence[Any]) -> tuple[float, float, Rect]:
    """Length of an outline, the area within and the box around, in its own units; of curves their points joined.

    The area is that of the triangles from the first point to each line: never less than what is filled.
    """
    length = within = 0.0
    first = here = (0.0, 0.0)
    left, low, right, high = math.inf, math.inf, -math.inf, -math.inf
    for part in parts:
        read, operator = [float(one) for one in part.operands], str(part.operator)
        if operator == "re":
            across, down = abs(read[2]), abs(read[3])
            length += 2.0 * (across + down)
            within += across * down
            read = [read[0], read[1], read[0] + read[2], read[1] + read[3]]
        elif operator == "m":
            first = here = (read[0], read[1])
        for x, y in zip(read[0::2], read[1::2], strict=False) if operator in "lcvy" else ():
            length += math.hypot(x - here[0], y - here[1])
            within += abs((here[0] - first[0]) * (y - first[1]) - (x - first[0]) * (here[1] - first[1])) / 2.0
            here = (x, y)
        left, right = min([left, *read[0::2]]), max([right, *read[0::2]])
        low, high = min([low, *read[1::2]]), max([high, *read[1::2]])
    return length, within, (left, low, right, high)
