"""Planted faults of opacity: glows, shadows, flat translucency, leftovers, rims of another background."""

from __future__ import annotations

import cv2
import numpy as np

from . import shapes
from .design import DARK, LIGHT, Plan, furnish, plan, ppi_of
from .photos import leaves
from .raster import Floats, Patch, Sheet, blurred
from .scene import Box, Drawn, drawn

#: What a wide fade is besides: some of it lies under 5 % and its colour is not the art's.
_FADES = {"faint-residue", "edge-fringe", "low-contrast", "colour-shift", "no-white-under"}


def _grown(sheet: Sheet, outlines: shapes.Outlines, sigma_px: float, more: float, shift: tuple[float, float]) -> Patch:
    """A blurred, enlarged copy of an outline, as a patch of the whole sheet."""
    moved = shapes.moved(outlines, *shift)
    cover: Floats = np.zeros((sheet.height, sheet.width), np.float32)
    patch = sheet.patch(moved)
    if patch is not None:
        rows, columns = patch.cover.shape
        cover[patch.y : patch.y + rows, patch.x : patch.x + columns] = patch.cover
    if more > 0:
        size = 2 * round(more) + 1
        cover = np.asarray(cv2.dilate(cover, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))), np.float32)
    return Patch(0, 0, blurred(cover, sigma_px))


def _fade(rng: np.random.Generator, ppi: float) -> float:
    """Standard deviation of a blur in pixels: a band of 0.8 to 4 mm, and at least 14 px."""
    return max(float(rng.uniform(0.4, 1.6)) * ppi / 25.4, 7.0)


def glow(rng: np.random.Generator) -> Drawn:
    """A soft glow round one element, fading to clear film."""
    ppi = ppi_of(rng, 150)
    drawing = plan(rng, ppi, cell_mm=float(rng.uniform(18, 24)), margin=4)
    furnish(drawing, rng, 1)
    cell, sheet = drawing.take(rng), drawing.sheet
    sigma = _fade(rng, ppi)
    outline = shapes.blob(*cell.middle, cell.reach * 0.5, rng)
    soft = _grown(sheet, outline, sigma, sigma * 0.8, (0, 0))
    tint = LIGHT[int(rng.integers(len(LIGHT)))]
    sheet.paint(soft, tint, float(rng.uniform(0.6, 1)))
    sheet.fill(outline, drawing.colour(rng))
    box = _around(sheet.box(outline), 2 * sigma)
    return drawn(sheet, rng, tone="mixed", size_of="canvas", open=set(_FADES)).plant("soft-edge", [box], "stop")


def shadow(rng: np.random.Generator) -> Drawn:
    """A dropped shadow under an element; its middle may be flat."""
    ppi = ppi_of(rng, 150)
    drawing = plan(rng, ppi, cell_mm=float(rng.uniform(18, 24)), margin=4)
    furnish(drawing, rng, 1)
    cell, sheet = drawing.take(rng), drawing.sheet
    sigma = _fade(rng, ppi)
    outline = shapes.rounded(cell.x + 4, cell.y + 4, cell.width - 9, cell.height - 9, 2)
    shift = (float(rng.uniform(1, 2.5)), float(rng.uniform(1, 2.5)))
    sheet.paint(_grown(sheet, outline, sigma, 0, shift), (10, 10, 10), float(rng.uniform(0.4, 0.8)))
    sheet.fill(outline, drawing.colour(rng))
    box = _around(sheet.box(shapes.moved(outline, *shift)), 2 * sigma)
    return drawn(sheet, rng, tone="mixed", size_of="canvas", open=_FADES | {"translucent-area"}).plant(
        "soft-edge", [box], "stop"
    )


def feathered(rng: np.random.Generator) -> Drawn:
    """A photograph whose edge fades out."""
    ppi = ppi_of(rng, 200)
    sheet = Sheet(float(rng.uniform(40, 70)), float(rng.uniform(40, 60)), ppi)
    width, height = sheet.width / sheet.scale, sheet.height / sheet.scale
    outline = shapes.ellipse(width / 2, height / 2, width / 2 - 6, height / 2 - 6)
    soft = _grown(sheet, outline, _fade(rng, ppi), 0, (0, 0))
    sheet.paint(soft, leaves(rng, sheet.width, sheet.height))
    return drawn(sheet, rng, tone="photo", size_of="canvas", open=_FADES | {"cropped-at-edge"}).plant(
        "soft-edge", [(0, 0, sheet.width, sheet.height)], "stop"
    )


def _around(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def translucent(rng: np.random.Generator) -> Drawn:
    """One or two elements at partial, even opacity with a crisp edge."""
    ppi = ppi_of(rng, 150)
    drawing = plan(rng, ppi, cell_mm=float(rng.uniform(13, 22)))
    small = rng.random() < 0.25
    furnish(drawing, rng, 1 if small else int(rng.integers(1, 3)))
    sheet, boxes, area = drawing.sheet, [], 0.0
    for cell in drawing.cells:
        r = float(rng.uniform(0.65, 1.0)) if small else cell.reach * float(rng.uniform(0.5, 1))
        outline = shapes.blob(*cell.middle, r, rng) if rng.random() < 0.5 else shapes.disc(*cell.middle, r)
        found = sheet.patch(outline)
        area += float(found.cover.sum()) / sheet.scale**2 if found else 0.0
        sheet.fill(outline, drawing.colour(rng), float(rng.uniform(0.15, 0.85)))
        boxes.append(sheet.box(outline))
    severity = "stop" if area > 6 else "ask" if area < 3.2 else None
    return drawn(sheet, rng, open={"low-contrast", "no-white-under", "stray-specks"} if small else {"low-contrast"}
                 ).plant("translucent-area", boxes, severity, area)  # fmt: skip


def ghosted(rng: np.random.Generator) -> Drawn:
    """The whole design at partial opacity, or a clear panel laid over a corner of it."""
    drawing = plan(rng, ppi_of(rng, 150))
    furnish(drawing, rng)
    sheet = drawing.sheet
    full = (0.0, 0.0, float(sheet.width), float(sheet.height))
    if rng.random() < 0.5:
        sheet.ink *= np.float32(rng.uniform(0.25, 0.8))
        return drawn(sheet, rng, open={"low-contrast", "no-white-under"}).plant("translucent-area", [full], "stop")
    width, height = sheet.width / sheet.scale, sheet.height / sheet.scale
    edge = sheet.origin[0]
    panel = shapes.rounded(0.8, 0.8, (width - 2 * edge) * 0.7, (height - 2 * edge) * 0.7, 2)
    sheet.fill(panel, (236, 236, 236), float(rng.uniform(0.2, 0.7)))
    # Its edge may pass close to an element, and where it lies over an element's edge it tints that edge.
    also = {"low-contrast", "thin-gap", "thin-line", "no-white-under", "edge-fringe"}
    return drawn(sheet, rng, open=also).plant("translucent-area", [sheet.box(panel)], "stop")


def residue(rng: np.random.Generator) -> Drawn:
    """Nearly invisible leftovers at 1 to 4.5 % opacity: brush marks, a haze, or noise where a ground was erased."""
    drawing = plan(rng, ppi_of(rng, 150), cell_mm=float(rng.uniform(14, 22)))
    furnish(drawing, rng, 1)
    cell, sheet = drawing.take(rng), drawing.sheet
    kind = int(rng.integers(3))
    box = sheet.box(shapes.disc(*cell.middle, cell.reach))
    picture = drawn(sheet, rng, size_of="canvas")
    empty = picture.rgba[..., 3] == 0
    if kind == 0:
        mark = sheet.patch(shapes.blob(*cell.middle, cell.reach, rng))
        if mark is None:
            raise AssertionError("the mark lies off the sheet")
        faint = np.zeros(empty.shape, np.float32)
        rows, columns = mark.cover.shape
        faint[mark.y : mark.y + rows, mark.x : mark.x + columns] = mark.cover * float(rng.uniform(3, 11.4))
    elif kind == 1:
        faint = np.full(empty.shape, float(rng.integers(1, 8)), np.float32)
        box = (0.0, 0.0, float(sheet.width), float(sheet.height))
    else:
        faint = np.zeros(empty.shape, np.float32)
        x0, y0, x1, y1 = (round(v) for v in box)
        faint[y0:y1, x0:x1] = rng.integers(0, 12, (y1 - y0, x1 - x0))
    marked = empty & (faint >= 0.5)
    picture.rgba[marked, 3] = np.rint(faint[marked]).astype(np.uint8)
    picture.rgba[marked, :3] = (250, 250, 250)
    picture.open |= {"low-contrast", "colour-shift"}
    return picture.plant("faint-residue", [box], "ask", float(marked.sum()) / sheet.scale**2)


def fringe(rng: np.random.Generator) -> Drawn:
    """Art cut out of a white or black ground with the ground's colour left in the edge pixels."""
    light = bool(rng.random() < 0.6)
    drawing = plan(rng, ppi_of(rng, 240), colours=DARK[:4] if light else LIGHT[:4], cell_mm=float(rng.uniform(14, 22)))
    furnish(drawing, rng)
    return _matted(drawing, rng, light, "flat")


def fringe_on_photo(rng: np.random.Generator) -> Drawn:
    """The same on a cut-out photograph."""
    light = bool(rng.random() < 0.6)
    drawing = plan(rng, ppi_of(rng, 200), across=1, down=1, cell_mm=float(rng.uniform(35, 55)))
    cell, sheet = drawing.take(rng), drawing.sheet
    patch = sheet.patch(shapes.blob(*cell.middle, cell.reach, rng))
    if patch is None:
        raise AssertionError("the cut-out lies off the sheet")
    tone = leaves(rng, patch.cover.shape[1], patch.cover.shape[0])
    sheet.paint(patch, tone * np.float32(0.55) if light else 0.45 + tone * np.float32(0.5))
    return _matted(drawing, rng, light, "photo")


def _matted(drawing: Plan, rng: np.random.Generator, light: bool, tone: str) -> Drawn:
    """Blend the art with the ground as if opaque, then cut 0 to 1.6 px outside its edge."""
    sheet = drawing.sheet
    ground = np.float32(rng.uniform(0.96, 1)) if light else np.float32(rng.uniform(0, 0.04))
    cover = sheet.ink[..., 3].copy()
    seen = sheet.ink[..., :3] + ground * (1 - cover[..., None])
    grow = float(rng.choice([0.0, 0.0, 0.6, 1.0, 1.6]))
    mask = _wider(cover, grow)
    sheet.ink[..., :3] = seen * mask[..., None]
    sheet.ink[..., 3] = mask
    box = (0.0, 0.0, float(sheet.width), float(sheet.height))
    return drawn(sheet, rng, tone=tone, open={"low-contrast"}).plant("edge-fringe", [box], "ask")


def _wider(cover: Floats, by: float) -> Floats:
    """The coverage of the same art with its edge moved outwards by a part of a pixel or a little more."""
    if by == 0:
        return cover
    whole, part = int(by), by - int(by)
    for _ in range(whole):
        cover = np.asarray(cv2.dilate(cover, np.ones((3, 3), np.uint8)), np.float32)
    if part:
        more = np.asarray(cv2.dilate(cover, np.ones((3, 3), np.uint8)), np.float32)
        cover = cover + np.float32(part) * (more - cover)
    return cover
