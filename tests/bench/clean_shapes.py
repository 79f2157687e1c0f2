"""Sound art of plain shapes, lines and letters: nothing here may raise an alarm."""

from __future__ import annotations

import numpy as np

from . import shapes
from .design import DARK, LIGHT, MIDDLE, WORDS, furnish, plan, ppi_of
from .faults_detail import code
from .lettering import text_size, write
from .raster import Colour, Sheet, oriented
from .scene import Drawn, drawn


def mixed_design(rng: np.random.Generator) -> Drawn:
    drawing = plan(rng, ppi_of(rng))
    furnish(drawing, rng)
    return drawn(drawing.sheet, rng)


def discs_and_rings(rng: np.random.Generator) -> Drawn:
    """Discs, and rings from 0.62 mm upwards."""
    drawing = plan(rng, ppi_of(rng))
    for cell in drawing.cells:
        r, colour = cell.reach * float(rng.uniform(0.5, 1)), drawing.colour(rng)
        if rng.random() < 0.3:
            drawing.sheet.fill(shapes.disc(*cell.middle, r), colour)
        else:
            drawing.sheet.fill(shapes.ring(*cell.middle, r, float(rng.uniform(0.62, 2))), colour)
    return drawn(drawing.sheet, rng)


def sharp_stars(rng: np.random.Generator) -> Drawn:
    """Stars with tips of 12 to 45 degrees."""
    drawing = plan(rng, ppi_of(rng), cell_mm=float(rng.uniform(14, 24)))
    for cell in drawing.cells:
        tips, tip = int(rng.integers(4, 9)), float(rng.uniform(12, 45))
        outline = shapes.star(*cell.middle, cell.reach, tips, tip, float(rng.uniform(0, 360)))
        drawing.sheet.fill(outline, drawing.colour(rng))
    return drawn(drawing.sheet, rng)


def polygons(rng: np.random.Generator) -> Drawn:
    """Regular polygons, slim triangles and hearts."""
    drawing = plan(rng, ppi_of(rng))
    for cell in drawing.cells:
        kind, angle, colour = int(rng.integers(3)), float(rng.uniform(0, 360)), drawing.colour(rng)
        if kind == 0:
            outline = shapes.polygon(*cell.middle, cell.reach, int(rng.integers(3, 9)), angle)
        elif kind == 1:
            wide = cell.reach * float(rng.uniform(0.45, 0.8))
            corners = np.array([[-cell.reach, -wide / 2], [cell.reach, 0.0], [-cell.reach, wide / 2]])
            outline = [oriented(shapes.turned(corners, angle) + np.array(cell.middle), True)]
        else:
            outline = shapes.heart(*cell.middle, cell.reach * 0.9)
        drawing.sheet.fill(outline, colour)
    return drawn(drawing.sheet, rng)


def sound_lines(rng: np.random.Generator) -> Drawn:
    """Lines of 0.62 mm and a little more, straight, bent, and growing out of shapes."""
    drawing = plan(rng, ppi_of(rng), cell_mm=float(rng.uniform(13, 20)))
    sheet = drawing.sheet
    for cell in drawing.cells:
        width, angle = float(rng.choice([0.62, 0.62, 0.7, 0.9])), float(rng.uniform(0, 180))
        colour, kind = drawing.colour(rng), int(rng.integers(4))
        if kind == 0:
            sheet.fill(shapes.line(*cell.middle, cell.reach * 1.7, width, angle), colour)
        elif kind == 1:
            sheet.fill(shapes.arc(*cell.middle, cell.reach * 0.8, angle, 250, width), colour)
        elif kind == 2:
            sheet.fill(shapes.wave(*cell.middle, cell.reach * 1.7, 2.5, width, angle), colour)
        else:
            sheet.fill(shapes.line(*cell.middle, cell.reach * 1.8, width, angle), colour)
            sheet.fill(shapes.disc(*cell.middle, cell.reach * 0.4), colour)
    return drawn(sheet, rng)


def sound_slots(rng: np.random.Generator) -> Drawn:
    """Slots and gaps of 0.55 mm and more."""
    drawing = plan(rng, ppi_of(rng), cell_mm=float(rng.uniform(13, 20)))
    for cell in drawing.cells:
        drawing.sheet.fill(shapes.disc(*cell.middle, cell.reach), drawing.colour(rng))
        width, angle = float(rng.uniform(0.55, 0.9)), float(rng.uniform(0, 180))
        if rng.random() < 0.5:
            drawing.sheet.cut(shapes.line(*cell.middle, cell.reach, width, angle))
        else:
            drawing.sheet.cut(shapes.arc(*cell.middle, cell.reach * 0.6, angle, 200, width))
    return drawn(drawing.sheet, rng)


_SIZES = (8, 9, 10, 12, 18, 24, 36)
_SAYINGS = ("Quiet mornings by the harbour", "Six boats, fog & a jazz band", "Made for the summer run",
            "Vexed wolf, big quay", "Twelve good reasons 0123456789", "The lantern fair, 3rd July")  # fmt: skip


def _text(rng: np.random.Generator, faces: tuple[str, ...]) -> Drawn:
    ppi = float(rng.choice([300, 600]))
    most = 12 if ppi > 300 else 36
    sizes = [size for size in _SIZES if size <= most]
    points = float(sizes[int(rng.integers(len(sizes)))])
    face = faces[int(rng.integers(len(faces)))]
    lines = [str(line) for line in rng.choice(_SAYINGS, int(rng.integers(2, 5)), replace=False)]
    if points > 18:
        lines = [line.split()[0] for line in lines]
    boxes = [text_size(line, face, points) for line in lines]
    step = points * 1.4 / 72 * 25.4
    sheet = Sheet(max(width for width, _ in boxes) + 6, step * len(lines) + 4, ppi, (0.03, 0.02))
    colour: Colour = (DARK + LIGHT)[int(rng.integers(14))]
    for i, line in enumerate(lines):
        write(sheet, line, face, points, 3, 2 + i * step, colour)
    return drawn(sheet, rng)


def serif_text(rng: np.random.Generator) -> Drawn:
    """Serif text from 8 to 36 pt."""
    return _text(rng, ("serif", "serif bold"))


def sans_text(rng: np.random.Generator) -> Drawn:
    """Sans-serif text from 8 to 36 pt."""
    return _text(rng, ("sans", "sans bold"))


def dotted_border(rng: np.random.Generator) -> Drawn:
    """A frame of dots of at least a millimetre round a design."""
    drawing = plan(rng, ppi_of(rng), margin=5)
    furnish(drawing, rng)
    sheet, colour = drawing.sheet, drawing.colour(rng)
    width, height = sheet.width / sheet.scale - 5, sheet.height / sheet.scale - 5
    size, step = float(rng.uniform(1, 1.8)), float(rng.uniform(2.8, 4))
    nx, ny = round(width / step), round(height / step)
    for i in range(nx + 1):
        for y in (0.0, height):
            sheet.fill(shapes.disc(i * width / nx - 2.5, y - 2.5, size / 2), colour)
    for j in range(1, ny):
        for x in (0.0, width):
            sheet.fill(shapes.disc(x - 2.5, j * height / ny - 2.5, size / 2), colour)
    return drawn(sheet, rng)


def tight_badge(rng: np.random.Generator) -> Drawn:
    """A badge trimmed exactly to the canvas: round, rounded corners, or a shield's straight top."""
    ppi, width = ppi_of(rng), float(rng.uniform(35, 60))
    kind = int(rng.integers(3))
    height = width if kind == 0 else width * float(rng.uniform(0.6, 1.2))
    sheet = Sheet(width, height, ppi)
    width, height = sheet.width / sheet.scale, sheet.height / sheet.scale
    ground, inside = DARK[int(rng.integers(7))], LIGHT[int(rng.integers(7))]
    if kind == 0:
        r = min(width, height) / 2
        sheet.fill(shapes.disc(width / 2, height / 2, r), ground)
        sheet.fill(shapes.ring(width / 2, height / 2, r - 2, 1.2), inside)
    else:
        sheet.fill(shapes.rounded(0, 0, width, height, float(rng.uniform(2, 8))), ground)
    sheet.fill(shapes.star(width / 2, height / 2, min(width, height) * 0.3, 5, 36, 18), inside)
    return drawn(sheet, rng)


def flush_letters(rng: np.random.Generator) -> Drawn:
    """A word whose letters stand on the canvas edges, as an export of the bare lettering gives it."""
    word, points = str(rng.choice(WORDS)), float(rng.uniform(30, 60))
    face = str(rng.choice(["sans bold", "serif bold", "sans"]))
    width, height = text_size(word, face, points)
    big = Sheet(width + 6, height + 6, float(rng.choice([300, 300, 400])))
    write(big, word, face, points, 3, 3, (DARK + MIDDLE)[int(rng.integers(13))])
    alpha = big.ink[..., 3] > 0.5
    rows, columns = np.flatnonzero(alpha.any(axis=1)), np.flatnonzero(alpha.any(axis=0))
    big.ink = np.ascontiguousarray(big.ink[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1])
    big.height, big.width = big.ink.shape[:2]
    return drawn(big, rng)


def good_code(rng: np.random.Generator) -> Drawn:
    """A code with modules of 0.8 mm: dark on a light garment, or on a light panel of its own on a dark one."""
    ppi, module = ppi_of(rng), 0.8
    on_panel = bool(rng.random() < 0.5)
    sheet = Sheet(33 * module + 8 * module + 8, 33 * module + 8 * module + 8, ppi, (0.02, 0.05))
    side = 29 * module
    if on_panel:
        sheet.fill(shapes.rounded(3, 3, side + 8 * module, side + 8 * module, 2), (244, 240, 230))
    text = f"https://band.example/{int(rng.integers(10**6))}"
    code(sheet, text, module, 3 + 4 * module, 3 + 4 * module, (22, 22, 28))
    garment = "black" if on_panel else ("white", "#f2efe6")[int(rng.integers(2))]
    return drawn(sheet, rng, garments=(garment,), open={"background-left", "low-contrast"} if on_panel else set())


def dark_on_white(rng: np.random.Generator) -> Drawn:
    """Dark art for a white shirt, and light art for a black one."""
    dark = bool(rng.random() < 0.5)
    drawing = plan(rng, ppi_of(rng), colours=DARK if dark else LIGHT)
    furnish(drawing, rng)
    return drawn(drawing.sheet, rng, garments=("white" if dark else "black",))


def outlined_sticker(rng: np.random.Generator) -> Drawn:
    """Figures with a meant outline, white or dark, of 1.2 mm and more: no rim of another background."""
    light = bool(rng.random() < 0.5)
    drawing = plan(rng, ppi_of(rng), colours=MIDDLE, cell_mm=float(rng.uniform(16, 24)))
    rim: Colour = (255, 255, 255) if light else (24, 24, 28)
    for cell in drawing.cells:
        width = float(rng.uniform(1.2, 2))
        if rng.random() < 0.5:
            drawing.sheet.fill(shapes.disc(*cell.middle, cell.reach), rim)
            drawing.sheet.fill(shapes.disc(*cell.middle, cell.reach - width), drawing.colour(rng))
        else:
            x, y, side = cell.x + 1, cell.y + 1, cell.width - 2
            drawing.sheet.fill(shapes.rounded(x, y, side, side, 3), rim)
            inner = shapes.rounded(x + width, y + width, side - 2 * width, side - 2 * width, 2)
            drawing.sheet.fill(inner, drawing.colour(rng))
    return drawn(drawing.sheet, rng, garments=("black" if light else "white",))


def outlined_drawing(rng: np.random.Generator) -> Drawn:
    """Figures drawn with a thin outline, as comics and clip art are: from 0.2 mm and 2.6 px upwards, dark or light.

    The outline lies against its figure, so neither a thin line nor a rim of another background is there.
    """
    ppi = ppi_of(rng)
    dark = bool(rng.random() < 0.75)
    drawing = plan(rng, ppi, colours=MIDDLE + LIGHT if dark else DARK, cell_mm=float(rng.uniform(14, 22)))
    pen: Colour = (20, 20, 24) if dark else (250, 248, 244)
    least = max(0.2, 2.6 * 25.4 / ppi)
    for cell in drawing.cells:
        width, colour = float(rng.uniform(least, 0.7)), drawing.colour(rng)
        kind, x, y, r = int(rng.integers(3)), *cell.middle, cell.reach
        if kind == 0:
            inner, outer = shapes.disc(x, y, r - width), shapes.disc(x, y, r)
        elif kind == 1:
            inner = shapes.rounded(x - r + width, y - r + width, 2 * (r - width), 2 * (r - width), 2)
            outer = shapes.rounded(x - r, y - r, 2 * r, 2 * r, 2 + width)
        else:
            turn = float(rng.uniform(0, 90))
            apothem = r * float(np.cos(np.pi / 6))
            inner = shapes.polygon(x, y, r * (apothem - width) / apothem, 6, turn)
            outer = shapes.polygon(x, y, r, 6, turn)
        drawing.sheet.fill(outer, pen)
        drawing.sheet.fill(inner, colour)
    return drawn(drawing.sheet, rng)
