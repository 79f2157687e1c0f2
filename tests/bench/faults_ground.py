"""Planted faults of the ground: boxes left behind the art, painted transparency, art cut by the canvas edge."""

from __future__ import annotations

import cv2
import numpy as np

from . import shapes
from .design import DARK, LIGHT, MIDDLE, Cell, Plan, furnish, plan, ppi_of
from .lettering import text_size, write
from .photos import leaves
from .raster import Colour, Floats, Sheet
from .scene import Box, Drawn, drawn

#: What a box behind the art says nothing about: its own colours and edges.
_WITH_BOX = {"low-contrast", "colour-shift", "cropped-at-edge", "edge-fringe"}


def _behind(sheet: Sheet, outlines: shapes.Outlines, colour: Colour) -> None:
    """Lay an outline under what is drawn."""
    above = sheet.ink.copy()
    sheet.ink[...] = 0
    sheet.fill(outlines, colour)
    sheet.ink[...] = above + sheet.ink * (1 - above[..., 3:])


def _box_left(rng: np.random.Generator, colour: Colour, art: tuple[Colour, ...]) -> tuple[Plan, Box]:
    """A design with a plain box behind all of it, behind the whole canvas, or behind one element."""
    drawing = plan(rng, ppi_of(rng, 150), colours=art, margin=float(rng.uniform(5, 9)))
    sheet = drawing.sheet
    where = int(rng.integers(4))
    if where == 3:
        furnish(drawing, rng, 1)
        cell = drawing.take(rng)
        sheet.fill(shapes.blob(*cell.middle, cell.reach * 0.65, rng), drawing.colour(rng))
        outline = shapes.rectangle(cell.x + 0.9, cell.y + 0.9, cell.width - 1.8, cell.height - 1.8)
    else:
        furnish(drawing, rng)
        width, height = sheet.width / sheet.scale, sheet.height / sheet.scale
        edge = sheet.origin[0]
        out = edge + 2 if where == 0 else float(rng.uniform(1.5, 3.5))
        outline = shapes.rectangle(-out, -out, width - 2 * edge + 2 * out, height - 2 * edge + 2 * out)
    _behind(sheet, outline, colour)
    return drawing, sheet.box(outline)


def white_box(rng: np.random.Generator) -> Drawn:
    white = int(rng.choice([255, 255, 255, 252]))
    drawing, box = _box_left(rng, (white, white, white), DARK[:5] + MIDDLE[:3])
    return drawn(drawing.sheet, rng, open=set(_WITH_BOX)).plant("background-left", [box], "stop")


def colour_box(rng: np.random.Generator) -> Drawn:
    """A box in a colour that the art does not have."""
    ground: Colour = (MIDDLE + LIGHT[1:5])[int(rng.integers(10))]
    drawing, box = _box_left(rng, ground, DARK[:5] if rng.random() < 0.7 else (*DARK[:3], (248, 246, 240)))
    return drawn(drawing.sheet, rng, open=set(_WITH_BOX)).plant("background-left", [box], "ask")


def opaque_jpeg(rng: np.random.Generator) -> Drawn:
    """A JPEG, which cannot be transparent: the white ground was never taken away."""
    drawing = plan(rng, ppi_of(rng, 200), colours=DARK[:5] + MIDDLE[:3], margin=float(rng.uniform(3, 9)))
    if rng.random() < 0.35:
        cell = drawing.take(rng)
        patch = drawing.sheet.patch(shapes.blob(*cell.middle, cell.reach, rng))
        if patch is not None:
            tone = leaves(rng, patch.cover.shape[1], patch.cover.shape[0])
            drawing.sheet.paint(patch, tone * np.float32(0.85))
    furnish(drawing, rng)
    sheet = drawing.sheet
    full = (0.0, 0.0, float(sheet.width), float(sheet.height))
    ink = sheet.ink
    ink[..., :3] += 1 - ink[..., 3:]
    ink[..., 3] = 1
    picture = drawn(sheet, rng, open=set(_WITH_BOX), format="JPEG", quality=int(rng.integers(80, 96)), tone="mixed")
    return picture.plant("background-left", [full], "stop")


def checkerboard(rng: np.random.Generator) -> Drawn:
    """The squares that programs show for transparency, painted into the picture."""
    drawing = plan(rng, ppi_of(rng, 150), colours=DARK[:5] + MIDDLE[:3], margin=float(rng.uniform(4, 9)))
    furnish(drawing, rng)
    sheet = drawing.sheet
    board = _board(rng, sheet.width, sheet.height)
    sheet.ink[..., :3] += board[..., None] * (1 - sheet.ink[..., 3:])
    sheet.ink[..., 3] = 1
    also = _WITH_BOX | {"background-left", "enlarged-picture"}
    picture = drawn(sheet, rng, open=also, tone="mixed")
    if rng.random() < 0.4:
        picture.format, picture.quality = "JPEG", int(rng.integers(75, 93))
    return picture.plant("painted-checkerboard", [(0.0, 0.0, float(sheet.width), float(sheet.height))], "stop")


def _board(rng: np.random.Generator, width: int, height: int) -> Floats:
    """Cells of 6 to 30 px in two greys, half of the boards scaled by an odd factor."""
    cell = int(rng.integers(6, 31))
    light, dark = ((255, 204), (255, 191), (254, 239), (153, 102), (230, 190), (255, 225))[int(rng.integers(6))]
    factor = float(rng.uniform(0.7, 1.6)) if rng.random() < 0.5 else 1.0
    if cell * factor < 6:
        factor = 1.0
    y, x = np.mgrid[0 : int(height / factor) + 2, 0 : int(width / factor) + 2]
    squares = np.where((y // cell + x // cell) % 2 == 0, light, dark)
    board = np.asarray(squares, np.float32) / np.float32(255)
    if factor != 1.0:
        board = np.asarray(cv2.resize(board, None, fx=factor, fy=factor, interpolation=cv2.INTER_LINEAR), np.float32)
    return np.ascontiguousarray(board[:height, :width], np.float32)


def cropped(rng: np.random.Generator) -> Drawn:
    """A figure that runs out of the canvas and is cut straight there."""
    ppi = ppi_of(rng, 200)
    drawing = plan(rng, ppi, cell_mm=float(rng.uniform(16, 24)), across=3, down=2, margin=6)
    sheet = drawing.sheet
    width = sheet.width / sheet.scale - 12
    height = sheet.height / sheet.scale - 12
    r = float(rng.uniform(5.5, 8))
    side = int(rng.integers(4))
    deep = float(rng.uniform(-0.25, 0.55)) * r
    along = float(rng.uniform(r + 1, (width if side < 2 else height) - r - 1))
    x, y = {0: (along, -6 - deep), 1: (along, height + 6 + deep), 2: (-6 - deep, along), 3: (width + 6 + deep, along)}[
        side
    ]
    drawing.cells = [cell for cell in drawing.cells if _apart(cell, x, y, r + 1)]
    furnish(drawing, rng)
    outline, tone = _figure(rng, x, y, r)
    _lay(sheet, outline, tone, rng, drawing)
    picture = drawn(sheet, rng, tone="mixed" if tone else "flat", open={"no-white-under"})
    box, cut = _cut_edge(picture, sheet, side, sheet.box(outline))
    if cut < 5:
        return cropped(rng)
    return picture.plant("cropped-at-edge", [box], "ask", cut)


def _apart(cell: Cell, x: float, y: float, r: float) -> bool:
    """Whether a disc keeps out of a cell."""
    nearest = (min(max(x, cell.x), cell.x + cell.width), min(max(y, cell.y), cell.y + cell.height))
    return (nearest[0] - x) ** 2 + (nearest[1] - y) ** 2 > r * r


def _figure(rng: np.random.Generator, x: float, y: float, r: float) -> tuple[shapes.Outlines, bool]:
    kind = int(rng.integers(4))
    if kind == 0:
        return shapes.disc(x, y, r), False
    if kind == 1:
        return shapes.blob(x, y, r, rng, 0.1), bool(rng.random() < 0.5)
    if kind == 2:
        return shapes.ring(x, y, r, r * 0.55), False
    return shapes.polygon(x, y, r, 5, float(rng.uniform(0, 72))), False


def _lay(sheet: Sheet, outline: shapes.Outlines, photo: bool, rng: np.random.Generator, drawing: Plan) -> None:
    patch = sheet.patch(outline)
    if patch is None:
        raise AssertionError("the figure lies off the sheet")
    if photo:
        sheet.paint(patch, leaves(rng, patch.cover.shape[1], patch.cover.shape[0]))
    else:
        sheet.paint(patch, drawing.colour(rng))


def _cut_edge(picture: Drawn, sheet: Sheet, side: int, box: Box) -> tuple[Box, float]:
    """Where the figure meets the canvas edge, and over how many millimetres it is opaque there."""
    alpha = picture.rgba[..., 3]
    row = (alpha[0], alpha[-1], alpha[:, 0], alpha[:, -1])[side]
    found = np.flatnonzero(row > 127)
    if not len(found):
        return box, 0.0
    a, b = float(found[0]), float(found[-1])
    w, h = float(sheet.width), float(sheet.height)
    where: Box = ((a, 0, b, 1), (a, h - 1, b, h), (0, a, 1, b), (w - 1, a, w, b))[side]
    return where, len(found) / sheet.scale


def cropped_word(rng: np.random.Generator) -> Drawn:
    """Large letters cut through by the bottom or top of the canvas."""
    ppi = ppi_of(rng, 300)
    word = str(rng.choice(["HARBOUR", "MILLHOUSE", "REGATTA", "KENNEL"]))
    points = float(rng.uniform(40, 60))
    width, height = text_size(word, "sans bold", points)
    shown = float(rng.uniform(0.4, 0.65)) * height
    sheet = Sheet(width + 8, shown + 4, ppi)
    top = bool(rng.random() < 0.5)
    y = shown - height if top else 4.0
    write(sheet, word, "sans bold", points, 4, y, DARK[int(rng.integers(len(DARK)))])
    picture = drawn(sheet, rng, open={"no-white-under", "thin-gap", "thin-line"})
    box, cut = _cut_edge(picture, sheet, 0 if top else 1, (0, 0, 1, 1))
    if cut < 5:
        return cropped_word(rng)
    return picture.plant("cropped-at-edge", [box], "ask", cut)
