"""A page drawn in pieces: with its transparency, with the customer's own white below, and its spot colours apart."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from contextlib import ExitStack

import cv2
import numpy as np

from preflight.intake.pdf.alpha import needs_papers, rgba_rows
from preflight.intake.pdf.draw import WHITE, Sheet, sheet
from preflight.intake.pdf.pagefile import PageFile
from preflight.intake.pdf.tints import as_grey, without
from preflight.intake.window import Seen, seen_in
from preflight.model import Bytes

ROWS = 256
#: Longest side of the drawing that finds the visible artwork, and of those that add up a spot colour; pixels. A
#: pattern's cell is rounded to whole pixels: the finer, the less that matters (7 % too much at 1000, 3 % at 2000).
_SMALL, _FINER = 1000, 2000
#: Bytes of a piece of a page that has to be drawn in few.
_PIECE = 32 << 20


def rows(page: PageFile, width: int, height: int) -> Iterator[tuple[int, Bytes]]:
    """Draw a page.

    A white plate of the customer's own is drawn below everything else, where white ink comes to lie: it shows where
    nothing covers it.

    Yields
    ------
    tuple
        The first row's number, and RGBA of at most 256 rows: uint8, straight alpha.

    Raises
    ------
    IntakeError
        When the page cannot be drawn, or a picture on it is damaged.
    """
    looked = page.look()
    tall = _tall(width) if looked.work.again else ROWS
    across = looked.box.size_mm[0]
    look = _SMALL / max(width, height) * width / across  # twice, for the transparency
    looked.work.check((width / across, math.ceil(height / tall)), (look, 1), (look, 1))
    page.check_pictures()
    with ExitStack() as stack:
        drawn = stack.enter_context(sheet(artwork(page), width, height))
        papers = not looked.odd_blends and needs_papers(drawn)
        plate = _Plate(stack, page, looked.whites, width, height) if looked.whites else None
        for top, high in _bands(height, tall):
            piece = rgba_rows(drawn, top, high, papers=papers)
            for y, count in _bands(high):
                band = piece[y : y + count]
                if plate is not None:
                    band = _over_white(band, plate.rows(top + y, count))
                yield top + y, band


def artwork(page: PageFile) -> bytes:
    """The page without the customer's own white plate."""
    looked = page.look()
    if not looked.whites:
        return page.written()
    return page.written(without(looked.whites), looked.white_pictures)


def plate(page: PageFile, inks: Collection[str], width: int, height: int) -> Iterator[tuple[int, Bytes]]:
    """How much there is of some spot colours.

    Two drawings differ in nothing but these inks: in one they are white, in the other white less their amount. The
    difference is the coverage (within 2 % of a separation on solids, blends, pictures and mixed colour spaces, 5 %
    on a pattern: measured). Overprint is not followed: where something lies over an ink, there is none.

    Yields
    ------
    tuple
        The first row's number, and uint8 of shape (rows, width): 255 = full ink.

    Raises
    ------
    IntakeError
        When the page cannot be drawn.
    """
    with ExitStack() as stack:
        both = _Plate(stack, page, inks, width, height)
        for y, count in _bands(height):
            yield y, both.rows(y, count)


def share(page: PageFile, ink: str) -> float:
    """The share of the page, 0…1, that a spot colour would cover at 100 %; from a small drawing.

    Raises
    ------
    IntakeError
        When the page cannot be drawn.
    """
    width, height = _fitting(page, _FINER)
    total = sum(int(piece.sum(dtype=np.int64)) for _, piece in plate(page, {ink}, width, height))
    return total / (255.0 * width * height)


def seen(page: PageFile) -> Seen:
    """Look at a small drawing of a page.

    Raises
    ------
    IntakeError
        When the page cannot be drawn.
    """
    width, height = _fitting(page, _SMALL)
    alpha = np.concatenate([piece[..., 3] for _, piece in rows(page, width, height)])
    size = page.look().box.size_mm
    return seen_in(alpha, size)


class _Plate:
    """Both drawings of some inks, open until the stack is unwound."""

    def __init__(self, stack: ExitStack, page: PageFile, inks: Collection[str], width: int, height: int) -> None:
        self._blank, self._shown = (
            stack.enter_context(sheet(page.written(as_grey(inks, shown=shown)), width, height))
            for shown in (False, True)
        )

    def rows(self, y: int, count: int) -> Bytes:
        blank, shown = (_green(drawn, y, count) for drawn in (self._blank, self._shown))
        return np.asarray(cv2.subtract(blank, shown), np.uint8)


def _green(drawn: Sheet, y: int, count: int) -> Bytes:
    return np.asarray(cv2.extractChannel(drawn.rows(y, count, WHITE), 1), np.uint8)


def _over_white(rgba: Bytes, white: Bytes) -> Bytes:
    """Straight RGBA laid over white of some opacity; uint8 (rows, columns, 4) and (rows, columns)."""
    alpha, under = rgba[..., 3].astype(np.float32) / 255.0, white.astype(np.float32) / 255.0
    whole = alpha + under * (1.0 - alpha)
    part = (alpha / np.maximum(whole, 1e-6))[..., None]
    out = np.empty_like(rgba)
    out[..., :3] = np.rint(rgba[..., :3] * part + 255.0 * (1.0 - part))
    out[..., 3] = np.rint(whole * 255.0)
    out[whole == 0.0] = 0
    return out


def _tall(width: int) -> int:
    """Rows of a page whose pictures are calculated for each piece anew: as many as some memory holds."""
    return max(1, _PIECE // (4 * ROWS * width)) * ROWS


def _bands(height: int, rows: int = ROWS) -> Iterator[tuple[int, int]]:
    """First row and number of rows. Each is drawn by itself: that costs no more than all at once (measured)."""
    return ((y, min(rows, height - y)) for y in range(0, height, rows))


def _fitting(page: PageFile, longest: int) -> tuple[int, int]:
    width, height = page.look().box.size_mm
    scale = longest / max(width, height)
    return max(1, round(width * scale)), max(1, round(height * scale))
