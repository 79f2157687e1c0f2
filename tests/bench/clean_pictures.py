"""Sound photographs and patterns: nothing here may raise an alarm."""

from __future__ import annotations

import numpy as np

from . import shapes
from .design import DARK, LIGHT, MIDDLE, furnish, plan, ppi_of
from .faults_picture import as_sheet, cmyk, inked
from .photos import bundled, leaves
from .raster import Floats, Sheet
from .scene import Drawn, drawn


def full_photo(rng: np.random.Generator) -> Drawn:
    """A rectangular photograph, printed to its edges."""
    ppi = float(rng.choice([210, 240, 300, 360]))
    if rng.random() < 0.5:
        picture = bundled(rng, float(rng.uniform(1.5, 2)))
    else:
        picture = leaves(rng, int(rng.uniform(500, 1100)), int(rng.uniform(500, 900)))
    kind = {"format": "JPEG", "quality": int(rng.integers(82, 96))} if rng.random() < 0.6 else {}
    return drawn(as_sheet(picture, ppi), rng, tone="photo", **kind)


def cut_out_photo(rng: np.random.Generator) -> Drawn:
    """A photograph cut out with a crisp edge."""
    ppi = float(rng.choice([210, 240, 300]))
    picture = bundled(rng, 1.6) if rng.random() < 0.4 else leaves(rng, int(rng.uniform(450, 900)), 600)
    rows, columns = picture.shape[:2]
    sheet = Sheet(columns * 25.4 / ppi, rows * 25.4 / ppi, ppi)
    width, height = sheet.width / sheet.scale, sheet.height / sheet.scale
    r = min(width, height) / 2 - 1.5
    kind = int(rng.integers(3))
    outline = (
        shapes.blob(width / 2, height / 2, r, rng)
        if kind == 0
        else shapes.ellipse(width / 2, height / 2, r, r * 0.7, float(rng.uniform(0, 180)))
        if kind == 1
        else shapes.star(width / 2, height / 2, r, 7, 60, float(rng.uniform(0, 60)))
    )
    patch = sheet.patch(outline)
    if patch is None:
        raise AssertionError("the cut-out lies off the sheet")
    inside = picture[patch.y : patch.y + patch.cover.shape[0], patch.x : patch.x + patch.cover.shape[1]]
    sheet.paint(patch, np.ascontiguousarray(inside))
    return drawn(sheet, rng, tone="photo")


def halftone(rng: np.random.Generator) -> Drawn:
    """A screen of dots from 0.6 mm upwards, gaps of half a millimetre and more, at any angle."""
    ppi = ppi_of(rng)
    size = float(rng.uniform(28, 45))
    sheet = Sheet(size + 4, size + 4, ppi)
    pitch, angle = float(rng.uniform(1.7, 2.4)), float(rng.choice([0, 15, 30, 45, 75]))
    colour = (DARK + MIDDLE)[int(rng.integers(13))]
    middle = size / 2 + 2
    count = int(size / pitch)
    for i in range(-count, count + 1):
        for j in range(-count, count + 1):
            x, y = shapes.turned(np.array([[i * pitch, j * pitch]]), angle)[0]
            if np.hypot(x, y) > size / 2 - 1:
                continue
            grown = 0.6 + (pitch - 1.15) * (0.5 + float(x) / size)
            sheet.fill(shapes.disc(middle + float(x), middle + float(y), max(0.6, grown) / 2), colour)
    return drawn(sheet, rng)


def gingham(rng: np.random.Generator) -> Drawn:
    """Woven checks, stripes, and a chess board of large squares: patterns that are meant."""
    ppi = ppi_of(rng)
    sheet = Sheet(float(rng.uniform(40, 60)), float(rng.uniform(40, 55)), ppi)
    cell = int(rng.uniform(2, 6) / 25.4 * ppi)
    y, x = np.mgrid[0 : sheet.height, 0 : sheet.width]
    kind = int(rng.integers(3))
    colour = np.array((DARK + MIDDLE)[int(rng.integers(13))], np.float32) / 255
    paper = np.array((250, 248, 244), np.float32) / 255
    if kind == 0:
        share = ((x // cell) % 2 + (y // cell) % 2) / 2
    elif kind == 1:
        share = ((x + y * int(rng.integers(0, 2))) // cell) % 2
    else:
        side = min(sheet.width, sheet.height) // 8
        share = (x // side + y // side) % 2
    tone: Floats = (paper + (colour - paper) * share[..., None]).astype(np.float32)
    return drawn(as_sheet(tone, ppi), rng)


def shaded_shapes(rng: np.random.Generator) -> Drawn:
    """Opaque shapes with colour gradients inside and crisp edges."""
    drawing = plan(rng, ppi_of(rng), cell_mm=float(rng.uniform(16, 24)))
    for cell in drawing.cells:
        patch = drawing.sheet.patch(shapes.blob(*cell.middle, cell.reach, rng))
        if patch is None:
            raise AssertionError("the shape lies off the sheet")
        rows, columns = patch.cover.shape
        turn = float(rng.uniform(0, 6.28))
        y, x = np.mgrid[0:rows, 0:columns] / max(rows, columns)
        t = np.clip(0.5 + (x - 0.5) * np.cos(turn) + (y - 0.5) * np.sin(turn), 0, 1)[..., None]
        a = np.array((DARK + MIDDLE)[int(rng.integers(13))], np.float32) / 255
        b = np.array((MIDDLE + LIGHT)[int(rng.integers(13))], np.float32) / 255
        drawing.sheet.paint(patch, (a * (1 - t) + b * t).astype(np.float32))
    return drawn(drawing.sheet, rng, tone="mixed")


def size_from_file(rng: np.random.Generator) -> Drawn:
    """No size ordered, but the file states its resolution."""
    drawing = plan(rng, ppi_of(rng))
    furnish(drawing, rng)
    return drawn(drawing.sheet, rng, ordered="none", density=drawing.sheet.ppi, format=str(rng.choice(["PNG", "TIFF"])))


def sound_cmyk(rng: np.random.Generator) -> Drawn:
    """A CMYK photograph under every ink limit."""
    ppi = float(rng.choice([210, 300]))
    picture = leaves(rng, int(rng.uniform(500, 900)), int(rng.uniform(500, 900)))
    return cmyk(inked(picture), ppi, str(rng.choice(["TIFF", "JPEG"])))


def sound_large(rng: np.random.Generator) -> Drawn:
    """A print of 200 to 300 mm that still fits the film, long side along it."""
    ppi = 300.0
    drawing = plan(rng, ppi, across=6, down=4, cell_mm=float(rng.uniform(34, 48)), margin=1.5)
    furnish(drawing, rng)
    return drawn(drawing.sheet, rng)
