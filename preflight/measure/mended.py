"""The same copy once a fault is mended: its ink is measured again, not guessed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from preflight.measure import colours as colour_tables
from preflight.measure.background import reached_from_rim
from preflight.measure.bins import areas
from preflight.measure.choke import white_pixels
from preflight.measure.colours import Colours
from preflight.measure.edges import Edges
from preflight.measure.opacity import residue_cells
from preflight.measure.places import Scale
from preflight.measure.sheet import CELL, Sheet, shrink
from preflight.model import Bytes, Coverage, Measurement
from preflight.shop import Shop

#: Total ink that a shop without a limit of its own brings colours down to (trade.md, from memory).
_INK_LIMIT = 300.0


@contextmanager
def changed(sheet: Sheet, cells: Bytes, value: int | None) -> Iterator[Sheet]:
    """The sheet with ``value`` as opacity in the cells; None makes them hard: opaque from one half on.

    The plane is changed in place and put back at the end: a copy of a large sheet's would cost as much as the check.
    """
    plane = np.full((sheet.height, sheet.width), 255, np.uint8) if sheet.alpha is None else sheet.alpha
    alpha4, opacity = sheet.alpha4.copy(), sheet.sample4[..., 3].copy()
    kept: list[tuple[int, Bytes]] = []
    for row in np.flatnonzero(cells.any(axis=1)).tolist():
        rows = plane[row * CELL : (row + 1) * CELL]
        kept.append((row, rows.copy()))
        mask = np.repeat(cells[row] > 0, CELL)[: sheet.width]
        rows[:, mask] = np.where(rows[:, mask] > 127, 255, 0) if value is None else value
        alpha4[row] = np.where(cells[row] > 0, shrink(rows)[0], alpha4[row])
    hard = np.where(opacity > 127, 255, 0) if value is None else value
    sheet.sample4[..., 3] = np.where(cells > 0, hard, opacity)
    try:
        yield replace(sheet, alpha=plane, alpha4=alpha4)
    finally:
        for row, before in kept:
            plane[row * CELL : (row + 1) * CELL] = before
        sheet.sample4[..., 3] = opacity


def coverage_of(sheet: Sheet, colours: Colours, shop: Shop, scale: Scale) -> Coverage:
    """Ink of a changed sheet whose colours are those of ``colours``."""
    area = areas(colours.index, colour_tables.visible_weight(sheet, colours.stride), len(colours.srgb))
    white = white_pixels(sheet, scale.px(shop.choke_mm))
    return colour_tables.coverage(colours, sheet, area, white, 0.0, scale)


def mended(
    sheet: Sheet, colours: Colours, edges: Edges, measures: dict[str, Measurement], shop: Shop, scale: Scale
) -> dict[str, Coverage]:
    """Coverage by rule id once that rule's fault is mended, for the faults that the sheet has."""
    found: dict[str, Coverage] = {}

    def try_plane(rule: str, cells: Bytes, value: int | None) -> None:
        if cells.any():
            with changed(sheet, cells, value) as mended_sheet:
                found[rule] = coverage_of(mended_sheet, colours, shop, scale)

    if measures["residue-area"].value:
        try_plane("faint-residue", residue_cells(sheet, edges.opacity.fade_cells(scale)), 0)
    if measures["fade-width"].value:
        try_plane("soft-edge", edges.opacity.fade_cells(scale), None)
    if measures["translucent-area"].value:
        try_plane("translucent-area", edges.opacity.flat_cells(), 255)
    if measures["speck-count"].value:
        try_plane("stray-specks", _boxes(sheet, measures["speck-count"]), 0)
    if measures["checkerboard-cell"].value:
        try_plane("painted-checkerboard", board_cells(sheet), 0)
    limit = ink_limit(shop)
    if (measures["total-ink"].value or 0.0) > limit:
        scaled = np.minimum(1.0, limit / np.maximum(colours.total, 1e-6))[:, None] * colours.inks
        lighter = replace(colours, inks=scaled.astype(np.float32), own_inks=False)
        found["heavy-ink"] = coverage_of(sheet, lighter, shop, scale)
    return found


def ink_limit(shop: Shop) -> float:
    """The shop's limit of total ink in percent."""
    change = shop.rules.get("heavy-ink")
    limit = None if change is None else change.limits.get("ask", change.limits.get("stop"))
    return _INK_LIMIT if limit is None else limit


def _boxes(sheet: Sheet, measurement: Measurement) -> Bytes:
    """Cells of a measurement's spots."""
    cells = np.zeros(sheet.alpha4.shape, np.uint8)
    for spot in measurement.spots:
        y, x = int(spot.y) // CELL, int(spot.x) // CELL
        cells[y : y + int(spot.height) // CELL, x : x + int(spot.width) // CELL] = 1
    return cells


def board_cells(sheet: Sheet) -> Bytes:
    """Cells of a painted checkerboard: neutral light or grey cells that hang together with the art's rim."""
    colour = sheet.sample4[..., :3]
    spread = colour.max(axis=2).astype(np.int16) - colour.min(axis=2)
    neutral = ((spread <= 12) & (sheet.alpha4 >= 250)).astype(np.uint8)
    levels = np.bincount(colour[..., 1][neutral > 0], minlength=256)
    first = int(levels.argmax())
    levels[max(0, first - 8) : first + 9] = 0
    second = int(levels.argmax())
    grey = colour[..., 1].astype(np.int16)
    board = neutral & ((np.abs(grey - first) <= 8) | (np.abs(grey - second) <= 8)).astype(np.uint8)
    return reached_from_rim(board, connectivity=8)
