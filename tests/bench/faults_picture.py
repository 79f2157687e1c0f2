"""Planted faults of the picture as a whole: resolution, detail, ink, colour, contrast."""

from __future__ import annotations

import numpy as np

from . import shapes
from .design import DARK, LIGHT, Plan, furnish, plan, ppi_of
from .photos import bundled, enlarged, leaves
from .raster import Bytes, Colour, Floats, Patch, Sheet
from .scene import Box, Drawn, drawn


def as_sheet(picture: Floats, ppi: float) -> Sheet:
    """A sheet that the picture fills."""
    rows, columns = picture.shape[:2]
    sheet = Sheet(columns * 25.4 / ppi, rows * 25.4 / ppi, ppi)
    sheet.paint(Patch(0, 0, np.ones((rows, columns), np.float32)), picture)
    return sheet


def coarse_design(rng: np.random.Generator) -> Drawn:
    """Line art with too few pixels for its size; the rule itself is planted by the resolution."""
    ppi = float(rng.choice([rng.uniform(72, 144), rng.uniform(156, 290)]))
    drawing = plan(rng, ppi, cell_mm=float(rng.uniform(20, 40)))
    furnish(drawing, rng)
    return drawn(drawing.sheet, rng)


def coarse_photo(rng: np.random.Generator) -> Drawn:
    """A photograph with too few pixels for its size."""
    ppi = float(rng.choice([rng.uniform(60, 144), rng.uniform(155, 194)]))
    if rng.random() < 0.5:
        picture = bundled(rng, 1.6)
    else:
        picture = leaves(rng, int(rng.uniform(400, 800)), int(rng.uniform(400, 700)))
    kind = {"format": "JPEG"} if rng.random() < 0.6 else {}
    return drawn(as_sheet(picture, ppi), rng, tone="photo", **kind)


def enlarged_photo(rng: np.random.Generator) -> Drawn:
    """A photograph made 2 to 4 times larger than its pixels, in full or cut out."""
    ppi = float(rng.choice([220, 250, 300, 300, 360]))
    factor = float(rng.choice([2, 2, 2.5, 3, 4]))
    how = str(rng.choice(["cubic", "cubic", "linear", "lanczos", "nearest"]))
    if ppi / factor > 165:
        factor = 2.5
    width, height = float(rng.uniform(50, 85)), float(rng.uniform(45, 75))
    small = (round(width / 25.4 * ppi / factor), round(height / 25.4 * ppi / factor))
    picture = enlarged(leaves(rng, *small), factor, how)
    if rng.random() < 0.35:
        rows, columns = picture.shape[:2]
        sheet = Sheet(columns * 25.4 / ppi, rows * 25.4 / ppi, ppi)
        patch = sheet.patch(shapes.blob(width / 2, height / 2, min(width, height) / 2 - 1, rng))
        if patch is None:
            raise AssertionError("the cut-out lies off the sheet")
        inside = picture[patch.y : patch.y + patch.cover.shape[0], patch.x : patch.x + patch.cover.shape[1]]
        sheet.paint(patch, inside)
        picked = drawn(sheet, rng, tone="photo")
    else:
        kind = {"format": "JPEG", "quality": int(rng.integers(85, 96))} if rng.random() < 0.5 else {}
        picked = drawn(as_sheet(picture, ppi), rng, tone="photo", **kind)
    return picked.plant("enlarged-picture", (), "ask", ppi / factor)


def enlarged_real_photo(rng: np.random.Generator) -> Drawn:
    """The same with a real photograph, averaged down first so that its own detail is known."""
    ppi, factor = float(rng.choice([200, 240, 300])), float(rng.choice([2, 3, 4]))
    how = str(rng.choice(["cubic", "cubic", "linear", "lanczos", "nearest"]))
    picture = enlarged(bundled(rng, 1.5), factor, how)[:1100, :1100]
    kind = {"format": "JPEG", "quality": int(rng.integers(85, 96))} if rng.random() < 0.5 else {}
    return drawn(as_sheet(picture, ppi), rng, tone="photo", **kind).plant("enlarged-picture", (), "ask", ppi / factor)


def inked(picture: Floats) -> Bytes:
    """A photograph as process inks by plain grey replacement; never above about 265 % in all."""
    cmy = 1 - picture
    black = np.clip(cmy.min(axis=2) * 1.3 - 0.3, 0, 1) * 0.85
    cmy = np.clip(cmy - 0.75 * black[..., None], 0, 1)
    over = np.maximum(cmy.sum(axis=2) + black, 1e-6)
    inks = np.concatenate([cmy, black[..., None]], axis=2) * np.minimum(1, 2.65 / over)[..., None]
    return np.asarray(np.rint(inks * 255), np.uint8)


def heavy_ink(rng: np.random.Generator) -> Drawn:
    """A CMYK picture with a patch of more ink than the film holds."""
    ppi = float(rng.choice([200, 240, 300]))
    width, height = int(rng.uniform(40, 80) / 25.4 * ppi), int(rng.uniform(40, 70) / 25.4 * ppi)
    inks = inked(leaves(rng, width, height))
    stop = bool(rng.random() < 0.7)
    total = float(rng.uniform(352, 396)) if stop else float(rng.uniform(308, 334))
    mix = np.array([1.0, 1.0, 1.0, 1.0]) * total / 4 - np.array([1, -0.4, -0.4, -0.2]) * rng.uniform(0, 4)
    mix = np.minimum(mix, 100)
    side = int(rng.uniform(7, 14) / 25.4 * ppi)
    x, y = int(rng.integers(0, width - side)), int(rng.integers(0, height - side))
    inks[y : y + side, x : x + side] = np.rint(mix * 2.55)
    form = str(rng.choice(["TIFF", "TIFF", "JPEG"]))
    box: Box = (x, y, x + side, y + side)
    return cmyk(inks, ppi, form).plant("heavy-ink", [box], "stop" if stop else "ask", float(mix.sum()))


def cmyk(inks: Bytes, ppi: float, form: str) -> Drawn:
    opaque = np.full(inks.shape, 255, np.uint8)
    return Drawn(opaque, ppi, inks=inks, format=form, tone="photo", quality=95, truth_of_colour=False,
                 open={"low-contrast", "colour-shift"})  # fmt: skip


def lost_on_garment(rng: np.random.Generator) -> Drawn:
    """Art in nearly the garment's own colour; planted by the contrast that is worked out from the pixels."""
    dark = bool(rng.random() < 0.6)
    garments: tuple[str, ...] = ("black", "#1d1d1f", "navy") if dark else ("white", "#f2efe6", "#fffdf5")
    near: tuple[Colour, ...] = (
        ((18, 18, 22), (30, 26, 30), (20, 24, 44)) if dark else ((252, 250, 244), (244, 240, 232), (250, 246, 236))
    )
    drawing = plan(rng, ppi_of(rng, 200), colours=near)
    if rng.random() < 0.5:
        cell = drawing.take(rng)
        drawing.sheet.fill(shapes.disc(*cell.middle, cell.reach), (LIGHT if dark else DARK)[0])
    furnish(drawing, rng)
    garment = garments[int(rng.integers(len(garments)))]
    return drawn(drawing.sheet, rng, garments=(garment,))


def out_of_reach(rng: np.random.Generator) -> Drawn:
    """Neon colours that no process ink reaches; planted by the shift that is worked out from the pixels."""
    neon: tuple[Colour, ...] = ((0, 255, 0), (57, 255, 20), (0, 0, 255), (255, 0, 255), (0, 255, 255))
    order = rng.permutation(len(neon))[: int(rng.integers(2, 4))]
    drawing: Plan = plan(rng, ppi_of(rng, 200), colours=tuple(neon[int(i)] for i in order))
    furnish(drawing, rng)
    return drawn(drawing.sheet, rng)
