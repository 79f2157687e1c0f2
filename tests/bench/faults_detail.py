"""Planted faults of small parts: lines, gaps, specks, parts without white, codes."""

from __future__ import annotations

import numpy as np
import segno

from . import shapes
from .design import DARK, Cell, Plan, furnish, plan, ppi_of
from .lettering import text_size, write
from .raster import Colour, Sheet
from .scene import Box, Drawn, drawn

#: A line this thin loses its white as well; whether that is told apart is another kind's business.
_BY_THE_WAY = {"no-white-under"}


def _severity(width: float) -> str | None:
    """What the trade's limits 0.35 and 0.50 mm say, where the width is clear of the first."""
    return "stop" if width < 0.33 else "ask" if width > 0.37 else None


def _lines(rng: np.random.Generator, leave: int = 1) -> tuple[Plan, Cell, float]:
    drawing = plan(rng, ppi_of(rng, 240), cell_mm=float(rng.uniform(13, 18)))
    furnish(drawing, rng, leave)
    return drawing, drawing.take(rng), float(rng.uniform(0.12, 0.45))


def _told(drawing: Plan, rng: np.random.Generator, rule: str, boxes: list[Box], width: float,
          severity: str | None) -> Drawn:  # fmt: skip
    picture = drawn(drawing.sheet, rng, open=set(_BY_THE_WAY) if rule == "thin-line" else set())
    return picture.plant(rule, boxes, severity, width)


def straight_line(rng: np.random.Generator) -> Drawn:
    """One to three free lines side by side, at any angle."""
    drawing, cell, width = _lines(rng)
    angle, colour = float(rng.uniform(0, 180)), drawing.colour(rng)
    count = int(rng.integers(1, 4))
    boxes = []
    for i in range(count):
        off = (i - (count - 1) / 2) * 2.2
        shift = shapes.turned(np.array([[0.0, off]]), angle)[0]
        x, y = cell.middle[0] + float(shift[0]), cell.middle[1] + float(shift[1])
        outline = shapes.line(x, y, cell.reach * 1.6, width, angle, bool(rng.random() < 0.5))
        drawing.sheet.fill(outline, colour)
        boxes.append(drawing.sheet.box(outline))
    return _told(drawing, rng, "thin-line", boxes, width, _severity(width))


def curved_line(rng: np.random.Generator) -> Drawn:
    """An arc, a wave, or a whole ring."""
    drawing, cell, width = _lines(rng)
    kind = int(rng.integers(3))
    if kind == 0:
        r = cell.reach * float(rng.uniform(0.5, 0.95))
        outline = shapes.arc(*cell.middle, r, float(rng.uniform(0, 360)), float(rng.uniform(90, 300)), width)
    elif kind == 1:
        outline = shapes.wave(*cell.middle, cell.reach * 1.7, float(rng.uniform(1.5, 4)), width,
                              float(rng.uniform(0, 180)))  # fmt: skip
    else:
        outline = shapes.ring(*cell.middle, cell.reach * float(rng.uniform(0.4, 0.95)), width)
    drawing.sheet.fill(outline, drawing.colour(rng))
    return _told(drawing, rng, "thin-line", [drawing.sheet.box(outline)], width, _severity(width))


def attached_line(rng: np.random.Generator) -> Drawn:
    """A line that grows out of a solid shape, or joins two."""
    drawing, cell, width = _lines(rng)
    colour, angle = drawing.colour(rng), float(rng.uniform(0, 180))
    x, y = cell.middle
    reach = cell.reach
    ends = shapes.turned(np.array([[-reach + 2, 0.0], [reach - 2, 0.0]]), angle) + np.array([x, y])
    drawing.sheet.fill(shapes.disc(float(ends[0, 0]), float(ends[0, 1]), 2), colour)
    if rng.random() < 0.6:
        drawing.sheet.fill(shapes.polygon(float(ends[1, 0]), float(ends[1, 1]), 2, 6, angle), colour)
    drawing.sheet.fill(shapes.line(x, y, 2 * reach - 4, width, angle), colour)
    seen = shapes.line(x, y, 2 * reach - 8.2, width, angle)
    return _told(drawing, rng, "thin-line", [drawing.sheet.box(seen)], width, _severity(width))


def slot(rng: np.random.Generator) -> Drawn:
    """A straight slot in a solid shape: closed, open at one end, or right through."""
    drawing, cell, _ = _lines(rng)
    width, angle = float(rng.uniform(0.12, 0.36)), float(rng.uniform(0, 180))
    x, y, reach = *cell.middle, cell.reach
    drawing.sheet.fill(shapes.disc(x, y, reach), drawing.colour(rng))
    # From the middle of the slot to that of the disc, and its length, in parts of the disc's radius.
    off, length = ((0.0, 1.1), (0.42, 1.3), (0.0, 2.14))[int(rng.integers(3))]
    shift = shapes.turned(np.array([[off * reach, 0.0]]), angle)[0]
    drawing.sheet.cut(shapes.line(x + float(shift[0]), y + float(shift[1]), length * reach, width, angle))
    seen = shapes.line(x + float(shift[0]) / 2, y + float(shift[1]) / 2, 0.9 * reach, width, angle)
    return _told(drawing, rng, "thin-gap", [drawing.sheet.box(seen)], width, "ask")


def gap_between(rng: np.random.Generator) -> Drawn:
    """A gap between two shapes: cards side by side, or a disc in a ring; or a bent slot."""
    drawing, cell, _ = _lines(rng)
    width, colour = float(rng.uniform(0.12, 0.36)), drawing.colour(rng)
    x, y, reach = *cell.middle, cell.reach
    kind = int(rng.integers(3))
    if kind == 0:
        angle, side = float(rng.uniform(0, 180)), reach * 0.62
        for sign in (-1, 1):
            off = shapes.turned(np.array([[sign * (side + width) / 2, 0.0]]), angle)[0] + np.array([x, y])
            drawing.sheet.fill(shapes.rectangle(float(off[0]) - side / 2, float(off[1]) - side, side, 2 * side, angle),
                               colour)  # fmt: skip
        seen = shapes.rectangle(x - width / 2, y - side, width, 2 * side, angle)
    elif kind == 1:
        inner = reach * float(rng.uniform(0.4, 0.7))
        drawing.sheet.fill(shapes.ring(x, y, reach, reach - inner - width), colour)
        drawing.sheet.fill(shapes.disc(x, y, inner), colour)
        seen = shapes.disc(x, y, inner + width)
    else:
        drawing.sheet.fill(shapes.rounded(x - reach, y - reach, 2 * reach, 2 * reach, 1.5), colour)
        seen = shapes.arc(x, y, reach * 0.6, float(rng.uniform(0, 360)), float(rng.uniform(90, 250)), width)
        drawing.sheet.cut(seen)
    return _told(drawing, rng, "thin-gap", [drawing.sheet.box(seen)], width, "ask")


def specks(rng: np.random.Generator) -> Drawn:
    """Dust around the art: round or square, 0.1 to 0.4 mm, well away from everything."""
    drawing = plan(rng, ppi_of(rng, 200), margin=float(rng.uniform(7, 12)))
    furnish(drawing, rng)
    sheet = drawing.sheet
    wanted = int(rng.integers(1, 5)) if rng.random() < 0.25 else int(rng.integers(6, 40))
    spots = _scattered(sheet, rng, wanted)
    boxes = []
    for x, y in spots:
        size = float(rng.uniform(0.1, 0.4))
        outline = shapes.disc(x, y, size / 2) if rng.random() < 0.5 else shapes.rectangle(x, y, size, size)
        sheet.fill(outline, drawing.colour(rng))
        boxes.append(sheet.box(outline))
    return drawn(sheet, rng, size_of="canvas", open={"faint-residue"}).plant(
        "stray-specks", boxes, "ask" if len(spots) > 4 else "note", len(spots)
    )


def _scattered(sheet: Sheet, rng: np.random.Generator, wanted: int) -> list[tuple[float, float]]:
    """Places in the margin, 1.5 mm from the canvas edge and 1.6 mm from each other."""
    edge = sheet.origin[0]
    width, height = sheet.width / sheet.scale, sheet.height / sheet.scale
    found: list[tuple[float, float]] = []
    for _ in range(4000):
        if len(found) == wanted:
            break
        x, y = float(rng.uniform(1.5, width - 2)), float(rng.uniform(1.5, height - 2))
        if edge - 1.5 < x < width - edge + 1.5 and edge - 1.5 < y < height - edge + 1.5:
            continue
        if all(abs(x - a) + abs(y - b) > 1.6 for a, b in found):
            found.append((x, y))
    return [(x - edge, y - edge) for x, y in found]


def no_white(rng: np.random.Generator) -> Drawn:
    """Many small parts narrower than twice the choke: confetti, grass, or tiny letters."""
    drawing = plan(rng, ppi_of(rng, 300), cell_mm=float(rng.uniform(13, 18)))
    furnish(drawing, rng, 1)
    cell, sheet, colour = drawing.take(rng), drawing.sheet, drawing.colour(rng)
    also = {"thin-line", "stray-specks"}
    x, y, side = cell.x + 1, cell.y + 1, cell.width - 2
    kind = int(rng.integers(3))
    if kind == 0:
        width, length = float(rng.uniform(0.18, 0.28)), float(rng.uniform(0.6, 1.1))
        for i in range(int(side / 1.7)):
            for j in range(int(side / 1.7)):
                sheet.fill(shapes.line(x + 0.8 + 1.7 * i, y + 0.8 + 1.7 * j, length, width,
                                       float(rng.uniform(0, 180))), colour)  # fmt: skip
    elif kind == 1:
        sheet.fill(shapes.rectangle(x, y + side - 2, side, 2), colour)
        for i in range(int(side / 1.2)):
            height = float(rng.uniform(2, 5))
            sheet.fill(shapes.rectangle(x + 0.4 + 1.2 * i, y + side - 2 - height, 0.24, height + 0.5), colour)
    else:
        also.add("thin-gap")
        points = float(rng.uniform(3.5, 4.5))
        for i in range(7):
            write(sheet, "mind the rows", "sans", points, x, y + 1.7 * i, colour)
        side = max(side, text_size("mind the rows", "sans", points)[0])
    box = sheet.box(shapes.rectangle(x, y, side, side))
    return drawn(sheet, rng, open=also).plant("no-white-under", [box])


def code(sheet: Sheet, text: str, module: float, x: float, y: float, colour: Colour) -> Box:
    """A QR code whose first module stands at (x, y) mm; drawn as one shape, so modules meet without seams."""
    matrix = [list(row) for row in segno.make(text, error="m", micro=False).matrix]
    outlines: shapes.Outlines = []
    for j, row in enumerate(matrix):
        for i, dark in enumerate(row):
            if dark:
                outlines += shapes.rectangle(x + i * module, y + j * module, module, module)
    sheet.fill(outlines, colour)
    return sheet.box(outlines)


def _with_code(rng: np.random.Generator, module: float, colour: Colour) -> tuple[Sheet, Box]:
    """A design with a code in clear space of its own."""
    drawing = plan(rng, ppi_of(rng, 300), across=2, down=2, colours=DARK,
                   cell_mm=max(13.0, 33 * module + 8 * module + 1))  # fmt: skip
    furnish(drawing, rng, 1)
    cell = drawing.take(rng)
    text = f"https://band.example/{int(rng.integers(10**6))}"
    return drawing.sheet, code(drawing.sheet, text, module, cell.x + 4 * module, cell.y + 4 * module, colour)


def small_code(rng: np.random.Generator) -> Drawn:
    """A code whose modules are too small, dark on a light garment."""
    module = float(rng.uniform(0.2, 0.47))
    sheet, box = _with_code(rng, module, (20, 20, 24))
    severity = "stop" if module < 0.38 else "ask" if module > 0.42 else None
    also = {"thin-line", "thin-gap", "no-white-under", "stray-specks"}
    garment = ("white", "#f2efe6")[int(rng.integers(2))]
    return drawn(sheet, rng, open=also, garments=(garment,)).plant("unreadable-code", [box], severity, module)


def lost_code(rng: np.random.Generator) -> Drawn:
    """A large code in dark ink on clear film, ordered for a dark garment."""
    sheet, box = _with_code(rng, float(rng.uniform(0.7, 1.0)), (18, 18, 22))
    garment = ("black", "#1d1d1f", "#101820")[int(rng.integers(3))]
    return drawn(sheet, rng, garments=(garment,)).plant("unreadable-code", [box], "stop")
