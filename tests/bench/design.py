"""Sound designs to plant faults in: elements on a grid, every part and every gap at least a millimetre wide.

Alpha has no fault of its own anywhere: no line under 1 mm, no gap under 1.4 mm, edges anti-aliased by exact coverage.
Decoration in a second colour lies wholly inside its element.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from . import shapes
from .lettering import text_size, write
from .raster import Colour, Sheet

#: Colours that coated paper holds well.
DARK: tuple[Colour, ...] = (
    (38, 44, 84), (120, 40, 46), (40, 78, 62), (70, 52, 44), (58, 58, 62), (92, 46, 84), (30, 84, 98),
)  # fmt: skip
LIGHT: tuple[Colour, ...] = (
    (236, 222, 190), (214, 176, 110), (196, 208, 184), (226, 196, 188), (188, 206, 218), (238, 236, 230),
    (208, 190, 210),
)  # fmt: skip
MIDDLE: tuple[Colour, ...] = (
    (176, 98, 60), (196, 140, 60), (96, 136, 104), (106, 132, 164), (164, 92, 104), (140, 120, 96),
)  # fmt: skip
WORDS = ("HARBOUR", "Meadow", "Lantern", "TRACK 9", "Willow", "Kites", "NORTH", "Oakway", "Drum&Co", "Ember", "REGATTA")

#: Clear millimetres around every element.
CLEAR = 0.9


@dataclass(frozen=True, slots=True)
class Cell:
    """A place for one element, millimetres."""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> tuple[float, float]:
        return self.x + self.width / 2, self.y + self.height / 2

    @property
    def reach(self) -> float:
        """Radius of the largest disc that keeps clear of the neighbours."""
        return min(self.width, self.height) / 2 - CLEAR


@dataclass(slots=True)
class Plan:
    """A sheet with its cells; those not taken yet are free for planting."""

    sheet: Sheet
    cells: list[Cell]
    colours: Sequence[Colour]

    def take(self, rng: np.random.Generator) -> Cell:
        return self.cells.pop(int(rng.integers(len(self.cells))))

    def colour(self, rng: np.random.Generator) -> Colour:
        return self.colours[int(rng.integers(len(self.colours)))]


def ppi_of(rng: np.random.Generator, lowest: float = 300) -> float:
    """A resolution as customers send them."""
    choice = [p for p in (150, 180, 200, 240, 250, 300, 300, 300, 300, 360, 400, 450, 600) if p >= lowest]
    return float(choice[int(rng.integers(len(choice)))])


def plan(rng: np.random.Generator, ppi: float, *, across: int | None = None, down: int | None = None,
         cell_mm: float | None = None, margin: float | None = None,
         colours: Sequence[Colour] | None = None) -> Plan:  # fmt: skip
    """An empty sheet divided into cells; margins and grid offset by chance."""
    columns = across or int(rng.integers(2, 5))
    rows = down or int(rng.integers(2, 4))
    most = 14 if ppi >= 450 else 26
    size = cell_mm or float(rng.uniform(12, most))
    edge = float(rng.choice([1.5, 4, 9])) if margin is None else margin
    origin = (edge + float(rng.uniform(0, 0.1)), edge + float(rng.uniform(0, 0.1)))
    sheet = Sheet(columns * size + 2 * edge, rows * size + 2 * edge, ppi, origin)
    cells = [Cell(c * size, r * size, size, size) for r in range(rows) for c in range(columns)]
    if colours is None:
        colours = _palette(rng)
    return Plan(sheet, cells, colours)


def _palette(rng: np.random.Generator) -> tuple[Colour, ...]:
    family = (DARK, LIGHT, MIDDLE, DARK + MIDDLE, LIGHT + MIDDLE)[int(rng.integers(5))]
    order = rng.permutation(len(family))[: int(rng.integers(2, 5))]
    return tuple(family[int(i)] for i in order)


def furnish(drawing: Plan, rng: np.random.Generator, leave: int = 0) -> None:
    """Put a sound element into every free cell but ``leave`` of them."""
    kept = [drawing.take(rng) for _ in range(min(leave, len(drawing.cells)))]
    while drawing.cells:
        element(drawing, drawing.take(rng), rng)
    drawing.cells.extend(kept)


def element(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    """One sound element; gives its outer outline."""
    kinds = (_disc, _ring, _corners, _star, _card, _blob, _word)
    return kinds[int(rng.integers(len(kinds)))](drawing, cell, rng)


def _disc(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    outline = shapes.disc(*cell.middle, cell.reach * float(rng.uniform(0.7, 1)))
    drawing.sheet.fill(outline, drawing.colour(rng))
    if rng.random() < 0.5:
        drawing.sheet.fill(shapes.star(*cell.middle, cell.reach * 0.55, 5, 40, float(rng.uniform(0, 72))),
                           drawing.colour(rng))  # fmt: skip
    return outline


def _ring(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    outline = shapes.ring(*cell.middle, cell.reach, float(rng.uniform(1.0, cell.reach * 0.5)))
    drawing.sheet.fill(outline, drawing.colour(rng))
    return outline


def _corners(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    outline = shapes.polygon(*cell.middle, cell.reach, int(rng.integers(3, 9)), float(rng.uniform(0, 360)))
    drawing.sheet.fill(outline, drawing.colour(rng))
    return outline


def _star(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    tips = int(rng.integers(5, 9))
    outline = shapes.star(*cell.middle, cell.reach, tips, float(rng.uniform(40, 70)), float(rng.uniform(0, 360)))
    drawing.sheet.fill(outline, drawing.colour(rng))
    return outline


def _card(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    x, y, side = cell.x + CLEAR, cell.y + CLEAR, 2 * cell.reach
    outline = shapes.rounded(x, y, side, side * 0.8, 1.5)
    drawing.sheet.fill(outline, drawing.colour(rng))
    drawing.sheet.fill(shapes.rounded(x + 2, y + 2, side - 4, side * 0.8 - 4, 1), drawing.colour(rng))
    return outline


def _blob(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    outline = shapes.blob(*cell.middle, cell.reach, rng)
    drawing.sheet.fill(outline, drawing.colour(rng))
    return outline


def _word(drawing: Plan, cell: Cell, rng: np.random.Generator) -> shapes.Outlines:
    """A bold word on a bar: letters in a second colour, so that alpha sees the bar alone."""
    x, y, width = cell.x + CLEAR, cell.y + CLEAR, 2 * cell.reach
    word = str(rng.choice(WORDS))
    points = 20.0
    points *= (width - 2) / text_size(word, "sans bold", points)[0]
    tall = text_size(word, "sans bold", points)[1]
    outline = shapes.rounded(x, y, width, max(tall + 2, 4), 0.9)
    ground = drawing.colour(rng)
    drawing.sheet.fill(outline, ground)
    write(drawing.sheet, word, "sans bold", points, x + 1, y + 1, drawing.colour(rng))
    return outline
