"""QR and bar codes: found in the art, read at print scale on each garment, ``code-module``.

Codes are looked for only where neighbouring samples flip between dark and light often enough; those pieces are kept
in full resolution while the artwork streams by. A code counts as readable when one of two independent decoders reads
it as it lies on the garment, not inverted: few readers take a light code on dark cloth.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import both, solid, u8
from preflight.measure.labels import boxes, connected
from preflight.measure.places import Scale
from preflight.measure.sheet import CELL, Cells, Sheet
from preflight.model import Bytes, Measurement, PixelFacts, Spot, Strip
from preflight.units import show_number

#: Side of a block, px; share of neighbouring samples that must flip in it, both ways or (bar codes) one way.
_BLOCK = 64
_FLIPS_BOTH, _FLIPS_ONE = 0.10, 0.25
#: Distances, in cells, between the samples that are compared.
_STEPS = (1, 2, 4)
_FLIP_LEVELS, _FLIP_OPACITY = 70, 128
#: Pixels that are given to the decoders in all; busier sheets are screens and textures.
_BUDGET = 6_000_000
#: Cloth tried when no garment was ordered.
_ANY_CLOTH = {"white cloth": (255, 255, 255), "black cloth": (0, 0, 0)}
#: Modules along one side of bar codes of fixed length (GS1 General Specifications, from memory).
_LINEAR_MODULES = {"EAN-13": 95, "UPC-A": 95, "EAN-8": 67, "UPC-E": 51}


class Region(NamedTuple):
    """A piece that may hold a code: luma and opacity, uint8 (h, w), from (x, y) px, at 1/``step`` of the scale."""

    x: int
    y: int
    luma: Bytes
    alpha: Bytes
    step: int = 1


class Code(NamedTuple):
    """A code found in a region, in the artwork's px."""

    text: str
    format: str
    x: int
    y: int
    width: int
    height: int
    module: float
    sure: bool  #: whether its finder pattern leaves no doubt that it is a code


class CodePieces:
    """Keeps the pieces of the stream that may hold a code."""

    def __init__(self, facts: PixelFacts) -> None:
        self._columns = -(-facts.width // _BLOCK)
        self._held: tuple[Strip, npt.NDArray[np.bool_]] | None = None
        self._above = np.zeros(self._columns, bool)
        self._pieces: list[tuple[int, int, Bytes]] = []  # y, x, luma
        self._marks: list[tuple[int, npt.NDArray[np.bool_]]] = []  # first row of blocks, wanted blocks
        self._kept = 0

    def see(self, strip: Strip, cells: Cells) -> None:
        """Look at this strip; the one before can be settled now."""
        busy = busy_blocks(cells)
        self._settle(busy[0])
        if self._held is not None:
            self._above = self._held[1][-1]
        self._held = (strip, busy)

    def _settle(self, below: npt.NDArray[np.bool_]) -> None:
        """Keep what is wanted of the held strip: busy blocks and their neighbours, for the quiet zone."""
        if self._held is None:
            return
        strip, busy = self._held
        around = np.vstack((self._above, busy, below)).astype(np.uint8)
        if not around.any():
            return
        wanted = cv2.dilate(around, np.ones((3, 3), np.uint8))[1:-1] > 0
        self._marks.append((strip.y // _BLOCK, wanted))
        columns = np.flatnonzero(wanted.any(axis=0))
        for first, last in _runs(columns):
            x0, x1 = first * _BLOCK, min(strip.rgba.shape[1], (last + 1) * _BLOCK)
            if self._kept > _BUDGET:
                return
            piece = cv2.cvtColor(strip.rgba[:, x0:x1], cv2.COLOR_RGBA2GRAY)
            self._pieces.append((strip.y, x0, np.asarray(piece, np.uint8)))
            self._kept += piece.size

    def regions(self, sheet: Sheet) -> list[Region]:
        """Connected wanted blocks as regions, largest first, within the budget."""
        self._settle(np.zeros(self._columns, bool))
        self._held = None
        if not self._marks:
            return []
        rows = -(-sheet.height // _BLOCK)
        grid = np.zeros((rows, self._columns), np.uint8)
        for first, wanted in self._marks:
            grid[first : first + len(wanted)] = wanted[: rows - first]
        stats = boxes(grid, connected(grid))
        order = np.argsort(-stats[1:, cv2.CC_STAT_AREA]) + 1
        found, spent = [], 0
        for index in order.tolist():
            x, y, width, height = (int(stats[index, column]) * _BLOCK for column in range(4))
            width, height = min(width, sheet.width - x), min(height, sheet.height - y)
            spent += width * height
            if spent > _BUDGET:
                break
            found.append(self._region(sheet, x, y, width, height))
        return found

    def _region(self, sheet: Sheet, x: int, y: int, width: int, height: int) -> Region:
        luma = np.full((height, width), 255, np.uint8)
        for top, left, piece in self._pieces:
            y0, y1 = max(y, top), min(y + height, top + piece.shape[0])
            x0, x1 = max(x, left), min(x + width, left + piece.shape[1])
            if y0 < y1 and x0 < x1:
                luma[y0 - y : y1 - y, x0 - x : x1 - x] = piece[y0 - top : y1 - top, x0 - left : x1 - left]
        return Region(x, y, luma, _alpha(sheet, x, y, width, height))


def busy_blocks(cells: Cells) -> npt.NDArray[np.bool_]:
    """Which 64-px blocks of a strip flip between dark and light like a code, bool (rows, columns)."""
    rows, columns = (-(-side * CELL // _BLOCK) for side in cells.alpha.shape)
    busy = np.zeros((rows, columns), bool)
    green = u8(cv2.extractChannel(cells.sample, 1))
    for step in _STEPS:
        # Coarse modules flip seldom between neighbours; samples further apart see them.
        coarse = _busy(np.ascontiguousarray(green[::step, ::step]), np.ascontiguousarray(cells.alpha[::step, ::step]))
        busy |= np.repeat(np.repeat(coarse, step, axis=0), step, axis=1)[:rows, :columns]
    return busy


def _busy(green: Bytes, alpha: Bytes) -> npt.NDArray[np.bool_]:
    """Which blocks of 16 x 16 samples flip like a code, bool (rows, columns)."""
    step = _BLOCK // CELL
    rows, columns = -(-green.shape[0] // step), -(-green.shape[1] // step)
    if min(green.shape) < 2:
        return np.zeros((rows, columns), bool)
    ink = solid(alpha, _FLIP_OPACITY)
    horizontal = _per_block(_flips(green[:, 1:], green[:, :-1], ink[:, 1:], ink[:, :-1]), rows, columns)
    vertical = _per_block(_flips(green[1:], green[:-1], ink[1:], ink[:-1]), rows, columns)
    # An edge of the art flips once in a row; a code flips all over the block.
    code = (horizontal >= _FLIPS_BOTH) & (vertical >= _FLIPS_BOTH)
    return np.asarray(code | (horizontal >= _FLIPS_ONE) | (vertical >= _FLIPS_ONE))


def _flips(green: Bytes, other_green: Bytes, ink: Bytes, other_ink: Bytes) -> Bytes:
    """255 where neighbours differ as ink and paper do: in colour where both are opaque, or in opacity."""
    colour = both(solid(u8(cv2.absdiff(green, other_green)), _FLIP_LEVELS), both(ink, other_ink))
    return u8(cv2.bitwise_or(colour, cv2.bitwise_xor(ink, other_ink)))


def _per_block(flips: Bytes, rows: int, columns: int) -> npt.NDArray[np.float32]:
    """Share of flips in each block of 16 x 16 samples, float32 (rows, columns)."""
    step = _BLOCK // CELL
    padded = np.zeros((rows * step, columns * step), np.uint8)
    padded[: flips.shape[0], : flips.shape[1]] = flips
    share = cv2.resize(padded, (columns, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(share, np.float32).reshape(rows, columns) / np.float32(255.0)


def _runs(indices: npt.NDArray[np.intp]) -> list[tuple[int, int]]:
    """First and last of each run of consecutive indices."""
    if not len(indices):
        return []
    breaks = np.flatnonzero(np.diff(indices) > 1)
    firsts = np.concatenate(([0], breaks + 1))
    lasts = np.concatenate((breaks, [len(indices) - 1]))
    return [(int(indices[a]), int(indices[b])) for a, b in zip(firsts, lasts, strict=True)]


def _alpha(sheet: Sheet, x: int, y: int, width: int, height: int) -> Bytes:
    if sheet.alpha is None:
        return np.full((height, width), 255, np.uint8)
    return sheet.alpha[y : y + height, x : x + width]


def measure(
    regions: Sequence[Region], scale: Scale | None, garments: Mapping[str, tuple[int, int, int]]
) -> Measurement:
    """Module of the smallest code in mm, 0 when one does not scan; None when there is no code."""
    if not regions:
        return Measurement("code-module", None, "mm")
    from preflight.measure.codereader import find_codes, reads_inverted, reads_on  # the decoders take 4 ms to load

    spots: list[tuple[Spot, Code, str]] = []
    for region in regions:
        for code in find_codes(region):
            if not code.sure and not any(
                reads(region, code, rgb) for reads in (reads_on, reads_inverted) for rgb in _ANY_CLOTH.values()
            ):
                continue  # stripes that were taken for a bar code once and never again
            unread = [name for name, rgb in (garments or _ANY_CLOTH).items() if not reads_on(region, code, rgb)]
            # Without an order for a garment, a code that reads on some cloth is all right.
            failed = bool(unread) if garments else len(unread) == len(_ANY_CLOTH)
            module = 0.0 if failed else (scale.mm(code.module) if scale else None)
            spot = Spot(code.x, code.y, code.width, code.height, module)
            spots.append((spot, code, unread[0] if failed and garments else ""))
    if not spots:
        return Measurement("code-module", None, "mm")
    spots.sort(key=lambda item: item[0].value if item[0].value is not None else 0.0)
    worst, code, garment = spots[0]
    why = None if worst.value is not None else "the print size is not known"
    details = {"text": code.text[:60], "kind": code.format, "garment": garment or "any cloth"}
    if scale:
        details["module"] = f"{show_number(scale.mm(code.module), 2)} mm"
    return Measurement(
        "code-module",
        worst.value,
        "mm",
        why_not=why,
        spots=tuple(s for s, _, _ in spots),
        spots_total=len(spots),
        details=details,
    )


def expected_modules(format_name: str, extra: Mapping[str, object]) -> tuple[int, int] | None:
    """Modules across and down of a code, from what the decoder says of it; None when it does not say."""
    version = str(extra.get("Version", ""))
    if format_name.replace(" ", "").lower().startswith("qr") and version.isdigit():
        side = 17 + 4 * int(version)  # ISO/IEC 18004
        return side, side
    if "x" in version:
        rows, columns = version.split("x", 1)
        if rows.isdigit() and columns.isdigit():
            return int(columns), int(rows)
    if format_name in _LINEAR_MODULES:
        return _LINEAR_MODULES[format_name], 0
    return None
