"""Large sheets for the speed benchmark, drawn in code and kept in a folder: artwork, photograph, and worst cases."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pyvips

from . import shapes
from .design import DARK, LIGHT, MIDDLE, Cell, Plan, element
from .lettering import write
from .photos import leaves
from .raster import Bytes, Sheet

A3 = (3508, 4961)
LARGE = (6600, 18000)
PPI = 300.0


def artwork(width: int, height: int, seed: int = 1) -> Bytes:
    """A sheet of designs as a shop gets it: a framed photograph, large figures with gradients, some hundred small
    shapes, dotted borders, and lines of text; the ground is clear.
    """
    rng = np.random.default_rng(seed)
    sheet = Sheet(width * 25.4 / PPI, height * 25.4 / PPI, PPI, (4.03, 4.02))
    wide, high = width * 25.4 / PPI - 8, height * 25.4 / PPI - 8
    drawing = Plan(sheet, [], DARK + MIDDLE + LIGHT[:3])
    top, middle = high * 0.28, high * 0.56
    _photo(sheet, wide * 0.6, top - 4, rng)
    _badge(drawing, Cell(wide * 0.6 + 2, 0, wide * 0.4 - 2, top), rng)
    for i in range(3):
        _figure(drawing, Cell(i * wide / 3, top, wide / 3, middle - top), rng)
    _small_parts(drawing, Cell(0, middle, wide, high * 0.3), rng)
    _lines(drawing, Cell(0, middle + high * 0.3 + 2, wide, high * 0.14 - 4), rng)
    return sheet.rgba()


def _badge(drawing: Plan, cell: Cell, rng: np.random.Generator) -> None:
    """A round badge with a rim of dots."""
    x, y = cell.middle
    sheet, r = drawing.sheet, cell.reach
    sheet.fill(shapes.disc(x, y, r), DARK[0])
    _shaded(sheet, shapes.disc(x, y, r - 6), rng)
    for at in np.linspace(0, 2 * np.pi, 60, endpoint=False):
        sheet.fill(shapes.disc(x + (r - 3) * float(np.cos(at)), y + (r - 3) * float(np.sin(at)), 0.9), LIGHT[0])
    sheet.fill(shapes.star(x, y, r * 0.6, 5, 36, -18), LIGHT[5])
    write(sheet, "HARBOUR RUN", "sans bold", 26, x - 32, y - 4, DARK[1])


def _figure(drawing: Plan, cell: Cell, rng: np.random.Generator) -> None:
    """A large shaded figure with smaller ones on it and a word under it."""
    x, y = cell.middle
    sheet, r = drawing.sheet, min(cell.reach, cell.height / 2 - 12)
    _shaded(sheet, shapes.blob(x, y - 8, r, rng), rng)
    for at in np.linspace(0, 2 * np.pi, 14, endpoint=False):
        tips = shapes.star(x + r * 0.62 * float(np.cos(at)), y - 8 + r * 0.62 * float(np.sin(at)), 5, 5, 40, float(at))
        sheet.fill(tips, drawing.colour(rng))
    for at in range(6):
        sheet.fill(shapes.ring(x, y - 8, r * 0.5 - 3 * at, 1.2), drawing.colour(rng))
    write(sheet, ("Lantern fair", "Six boats", "Willow")[int(rng.integers(3))], "serif bold", 40,
          cell.x + 6, cell.y + cell.height - 18, drawing.colour(rng))  # fmt: skip


def _small_parts(drawing: Plan, cell: Cell, rng: np.random.Generator) -> None:
    size = 16.0
    for row in range(int(cell.height // size)):
        for column in range(int(cell.width // size)):
            place = Cell(cell.x + column * size, cell.y + row * size, size, size)
            if rng.random() < 0.25:
                _shaded(drawing.sheet, shapes.blob(*place.middle, place.reach, rng), rng)
            else:
                element(drawing, place, rng)


def _lines(drawing: Plan, cell: Cell, rng: np.random.Generator) -> None:
    colour = drawing.colour(rng)
    text = "Quiet mornings by the harbour, six boats and a lantern"
    for i in range(int(cell.height // 7)):
        for x in (cell.x, cell.x + cell.width / 2):
            write(drawing.sheet, text, ("serif", "sans bold")[i % 2], 13, x, cell.y + 7 * i, colour)


def _shaded(sheet: Sheet, outline: shapes.Outlines, rng: np.random.Generator) -> None:
    """A figure filled with a slanting gradient that has the faint grain exports have."""
    patch = sheet.patch(outline)
    if patch is None:
        return
    rows, columns = patch.cover.shape
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    run = ((x / columns + y / rows) / 2)[..., None]
    a, b = np.array(DARK[int(rng.integers(7))]) / 255, np.array(LIGHT[int(rng.integers(7))]) / 255
    tone = a * (1 - run) + b * run + rng.normal(0, 0.004, (rows, columns, 1))
    sheet.paint(patch, np.clip(tone, 0, 1).astype(np.float32))


def _photo(sheet: Sheet, width: float, height: float, rng: np.random.Generator) -> None:
    patch = sheet.patch(shapes.rounded(0, 0, width, height, 4))
    if patch is not None:
        sheet.paint(patch, leaves(rng, patch.cover.shape[1], patch.cover.shape[0]))


def photograph(width: int, height: int) -> Bytes:
    """Full of picture, opaque: a piece of 2000 px repeated, mirrored each time."""
    piece = (leaves(np.random.default_rng(2), 2000, 2000) * 255).astype(np.uint8)
    return _opaque(_repeated(piece, width, height))


def halftone(width: int, height: int) -> Bytes:
    """Dots of 0.7 mm on a screen of 1.3 mm over the whole sheet."""
    return _inked(_repeated_dots(width, height))


def _repeated_dots(width: int, height: int) -> Bytes:
    sheet = Sheet(52 * 25.4 / PPI, 52 * 25.4 / PPI, PPI)
    pitch = 26 * 25.4 / PPI
    for i in range(3):
        for j in range(3):
            sheet.fill(shapes.disc(i * pitch, j * pitch, 0.35), (0, 0, 0))
            sheet.fill(shapes.disc((i + 0.5) * pitch, (j + 0.5) * pitch, 0.35), (0, 0, 0))
    tile = np.rint(sheet.ink[..., 3] * 255).astype(np.uint8)
    return np.tile(tile, (height // 52 + 1, width // 52 + 1))[:height, :width]


def hatch(width: int, height: int) -> Bytes:
    """Slanting lines of 0.3 mm, 0.7 mm apart, over the whole sheet."""
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    across = (x * np.float32(np.cos(0.5)) + y * np.float32(np.sin(0.5))) % np.float32(8.3)
    cover = np.clip(np.minimum(across, 3.54 - across) + 0.5, 0, 1)
    return _inked((cover * 255).astype(np.uint8))


def noise(width: int, height: int) -> Bytes:
    """Specks everywhere: a spray of single pixels, half of them partly clear."""
    rng = np.random.default_rng(4)
    grain = rng.integers(0, 256, (height, width), dtype=np.uint8)
    return _inked(np.where(grain > 150, grain, 0).astype(np.uint8))


def _inked(alpha: Bytes) -> Bytes:
    out = np.empty((*alpha.shape, 4), np.uint8)
    out[..., :3] = (40, 60, 110)
    out[..., 3] = alpha
    return out


def _opaque(rgb: Bytes) -> Bytes:
    return np.concatenate([rgb, np.full((*rgb.shape[:2], 1), 255, np.uint8)], axis=2)


def _repeated(piece: Bytes, width: int, height: int) -> Bytes:
    double = np.concatenate([piece, piece[:, ::-1]], axis=1)
    double = np.concatenate([double, double[::-1]], axis=0)
    times = (height // double.shape[0] + 1, width // double.shape[1] + 1, 1)
    return np.ascontiguousarray(np.tile(double, times)[:height, :width])


def tall_artwork(width: int, height: int) -> Bytes:
    """The A3 artwork laid side by side and one below the other, as a gang sheet is."""
    piece = artwork(width // 2, 4500)
    turned = cv2.flip(piece, 1)
    row = np.concatenate([piece, turned], axis=1)
    return np.ascontiguousarray(np.tile(row, (height // 4500 + 1, 1, 1))[:height, :width])


#: Name, what it is, how it is drawn, size, interlaced, group of targets.
SHEETS: tuple[tuple[str, str, Callable[[int, int], Bytes], tuple[int, int], bool, str], ...] = (
    ("a3-artwork", "A3 artwork", artwork, A3, False, "a3"),
    ("a3-photograph", "A3 photograph", photograph, A3, False, "a3"),
    ("large-artwork", "6600 × 18000 artwork", tall_artwork, LARGE, False, "large"),
    ("large-photograph", "6600 × 18000 photograph", photograph, LARGE, False, "large"),
    ("large-halftone", "6600 × 18000 halftone", halftone, LARGE, False, "worst"),
    ("large-hatch", "6600 × 18000 hatch", hatch, LARGE, False, "worst"),
    ("large-noise", "6600 × 18000 noise", noise, LARGE, False, "worst"),
    ("large-interlaced", "6600 × 18000 artwork, interlaced", tall_artwork, LARGE, True, "worst"),
)


def make(folder: Path, name: str) -> Path:
    """The file of a sheet; drawn once, then taken from the folder."""
    _, _, draw, (width, height), interlaced, _ = next(sheet for sheet in SHEETS if sheet[0] == name)
    path = folder / f"{name}.png"
    if not path.exists():
        rgba = np.ascontiguousarray(draw(width, height))
        picture = pyvips.Image.new_from_memory(rgba.data, width, height, 4, "uchar").copy(interpretation="srgb")
        part = path.with_suffix(".part.png")
        picture.pngsave(str(part), compression=6, interlace=interlaced)
        part.replace(path)
    return path
