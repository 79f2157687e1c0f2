"""A plain box behind the art, ``background-share``, and the art with that background keyed out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import cv2
import numpy as np

from preflight.measure.kernels import FIVE, dilate, distinct, median, square, u8
from preflight.measure.sheet import CELL, FAINT, Sheet
from preflight.model import Artwork, Bytes, DocumentFacts, Measurement, PixelFacts, Spot, Strip

#: Smallest box that is looked at, cells.
_LEAST_CELLS = 20
#: How solid the box and how uniform its border must be (measured: 40 of 40 found, 0 of 57 false).
_SOLID = 0.985
_UNIFORM = 0.93
_RING = 3
#: Levels of 255 that a background may vary by: enough for the noise of a lossy file.
_TOLERANCE = 10
#: A background covers at least this share of its box; less is a frame.
_LEAST_SHARE = 0.15
#: Distances are told relative to the largest within so many px: as far as an anti-aliased rim reaches.
_NEARBY = square(7)
#: Distance, levels of 255, from which a colour is art and no more a fade into the background.
_SOFT_FULL = 60
#: A frame is narrower than this share of its side, and as wide along this share of it.
_FRAME_WIDTH, _FRAME_EVEN = 0.15, 0.55
#: Side of the corner that is looked at, px, and how full it is when it is square.
_CORNER, _CORNER_FULL = 8, 0.95
#: A solid cell.
_FULL = 250
#: From here on a background counts as white.
_WHITE = 232


class Background(NamedTuple):
    """A box of one colour, in cells, and which of its cells are that background (uint8 0/1)."""

    x: int
    y: int
    colour: tuple[int, int, int]
    cells: Bytes

    @property
    def kind(self) -> str:
        """Which of the rule's sets of limits holds: "white" or "colour"."""
        return "white" if min(self.colour) >= _WHITE else "colour"


def find(sheet: Sheet) -> list[Background]:
    """Boxes with a uniform border, largest first."""
    if sheet.alpha is None:
        candidates = [(0, 0, sheet.alpha4.shape[1], sheet.alpha4.shape[0])]
    else:
        stats = sheet.areas
        large = (stats[1:, 2] >= _LEAST_CELLS) & (stats[1:, 3] >= _LEAST_CELLS)
        solid = stats[1:, 4] >= 0.95 * stats[1:, 2] * stats[1:, 3]
        rows = stats[1:][large & solid]
        order = np.argsort(-rows[:, 4])[:20]
        candidates = [(int(x), int(y), int(w), int(h)) for x, y, w, h in rows[order, :4].tolist()]
    found = [_examine(sheet, *candidate) for candidate in candidates]
    return [background for background in found if background is not None]


def _examine(sheet: Sheet, x: int, y: int, width: int, height: int) -> Background | None:
    """The background of one candidate box, or None."""
    inner = (slice(y + 1, y + height - 1), slice(x + 1, x + width - 1))
    if min(width, height) < 2 * _RING + 4 or (sheet.alpha4[inner] >= _FULL).mean() < _SOLID:
        return None
    if sheet.alpha is not None and not _square_corners(sheet.alpha, x, y, width, height):
        return None  # a card or a badge was drawn with round corners; a page that was left in has square ones
    colour = sheet.sample4[inner][..., :3].astype(np.int16)
    ring = np.concatenate(
        [part.reshape(-1, 3) for part in (colour[:_RING], colour[-_RING:], colour[:, :_RING], colour[:, -_RING:])]
    )
    middle = median(ring)
    if (np.abs(ring - middle).max(axis=1) <= _TOLERANCE).mean() < _UNIFORM:
        return None
    same = (np.abs(colour - middle).max(axis=2) <= _TOLERANCE).astype(np.uint8)
    cells = reached_from_rim(u8(cv2.copyMakeBorder(same, 1, 1, 1, 1, cv2.BORDER_REPLICATE)))
    share = float(cells.mean())
    if share < _LEAST_SHARE or same.mean() >= 0.995:
        return None
    found = Background(x, y, (int(middle[0]), int(middle[1]), int(middle[2])), cells)
    # A white margin is nearly always left over; a coloured one of even width is a drawn frame.
    return None if found.kind == "colour" and _is_frame(cells) else found


def _square_corners(alpha: Bytes, x: int, y: int, width: int, height: int) -> bool:
    """Whether the box of these cells is opaque right into its four corners."""
    area = alpha[y * CELL : (y + height) * CELL, x * CELL : (x + width) * CELL] >= 128
    for view in (area, area[:, ::-1], area[::-1], area[::-1, ::-1]):
        near = view[: 4 * CELL, : 4 * CELL]
        # The box starts somewhere inside its first cells: look from its own corner.
        rows, columns = np.flatnonzero(view[: 4 * CELL].any(axis=1)), np.flatnonzero(view[:, : 4 * CELL].any(axis=0))
        if not len(rows) or not len(columns):
            return False
        corner = near[rows[0] : rows[0] + _CORNER, columns[0] : columns[0] + _CORNER]
        if corner.mean() < _CORNER_FULL:
            return False
    return True


def _is_frame(cells: Bytes) -> bool:
    """Whether the background is a border of even, modest width along three sides at least."""
    even = 0
    for side in (cells, cells[::-1], cells.T, cells.T[::-1]):
        depth = np.where(side.all(axis=0), len(side), np.argmin(side, axis=0))
        usual = float(median(depth))
        even += usual < _FRAME_WIDTH * len(side) and float((np.abs(depth - usual) <= 1.5).mean()) >= _FRAME_EVEN
    return even >= 3


def reached_from_rim(same: Bytes, connectivity: int = 4) -> Bytes:
    """Cells that hang together with the rim, uint8 0/1: a white letter inside the art is not background."""
    _, labels = cv2.connectedComponents(same, connectivity=connectivity)
    found = np.asarray(labels)
    rim = distinct(np.concatenate((found[0], found[-1], found[:, 0], found[:, -1])))
    return np.isin(found, rim[rim > 0]).astype(np.uint8)


def measure(sheet: Sheet, found: list[Background]) -> Measurement:
    """``background-share``: percent of the visible art that is a box behind it; None when there is none."""
    if not found:
        return Measurement("background-share", None, "%")
    visible = int((sheet.alpha4 > FAINT).sum())
    share = 100.0 * sum(int(background.cells.sum()) for background in found) / max(1, visible)
    worst = found[0]
    spots = tuple(
        Spot(b.x * CELL, b.y * CELL, b.cells.shape[1] * CELL, b.cells.shape[0] * CELL, 100.0 * float(b.cells.mean()))
        for b in found
    )
    colour = "#{:02x}{:02x}{:02x}".format(*worst.colour)
    details = {"colour": "white" if worst.kind == "white" else colour}
    kind = "white" if any(background.kind == "white" for background in found) else "colour"
    return Measurement("background-share", share, "%", kind=kind, spots=spots, spots_total=len(spots), details=details)


class Keyed:
    """An artwork with its backgrounds made transparent; everything else as it was.

    A pixel's new opacity is its distance from the background's colour. With ``soft`` the distance itself tells, and a
    shadow that fades into the background shows as a fade; else it is taken relative to the largest distance nearby, so
    that anti-aliased rims keep their coverage. Only what hangs together with the box's rim is keyed.
    """

    def __init__(
        self, artwork: Artwork, backgrounds: list[Background], shape4: tuple[int, int], *, soft: bool = False
    ) -> None:
        self._soft = soft
        self._artwork = artwork
        self._backgrounds = backgrounds
        self._shape4 = shape4

    @property
    def name(self) -> str:
        """The artwork's own name."""
        return self._artwork.name

    @property
    def page(self) -> int:
        """The artwork's own page."""
        return self._artwork.page

    @property
    def facts(self) -> PixelFacts:
        """The file's own facts, with alpha."""
        return replace(self._artwork.facts, has_alpha=True)

    @property
    def document(self) -> DocumentFacts | None:
        """The artwork's own objects."""
        return self._artwork.document

    def strips(self) -> Iterator[Strip]:
        """The artwork's strips with the keyed alpha."""
        masks = [self._mask(background) for background in self._backgrounds]
        for strip in self._artwork.strips():
            alpha = strip.rgba[..., 3].copy()
            rows = slice(strip.y // CELL, -(-(strip.y + len(alpha)) // CELL))
            for background, mask in zip(self._backgrounds, masks, strict=True):
                if mask[rows].any():
                    key_out(strip.rgba, alpha, mask[rows], background.colour, soft=self._soft)
            yield Strip(strip.y, np.dstack((strip.rgba[..., :3], alpha)), strip.inks)

    def _mask(self, background: Background) -> Bytes:
        """Cells where keying may act: the background and two cells into the art around it, uint8 0/1 (h4, w4)."""
        mask = np.zeros(self._shape4, np.uint8)
        height, width = background.cells.shape
        mask[background.y : background.y + height, background.x : background.x + width] = background.cells
        return dilate(mask, FIVE)


def key_out(rgba: Bytes, alpha: Bytes, cells: Bytes, colour: tuple[int, int, int], *, soft: bool) -> None:
    """Lower ``alpha`` (h, w), in place, where ``rgba`` shows the background ``colour`` inside ``cells``."""
    height, width = alpha.shape
    channels = [
        cv2.absdiff(np.ascontiguousarray(rgba[..., channel]), np.full_like(alpha, colour[channel]))
        for channel in range(3)
    ]
    far = u8(cv2.max(channels[0], cv2.max(channels[1], channels[2])))
    # Half-transparent pixels are the box's own rim; their colour is anything.
    far[(far <= _TOLERANCE + 2) | (alpha < _FULL)] = 0
    if soft:
        cover = np.minimum(far.astype(np.float32) * np.float32(255.0 / _SOFT_FULL), 255.0).astype(np.uint8)
    else:
        cover = u8(cv2.divide(far, dilate(far, _NEARBY), scale=255))
    mask = np.repeat(np.repeat(cells, CELL, axis=0), CELL, axis=1)[:height, :width] > 0
    np.copyto(alpha, np.minimum(alpha, cover), where=mask)
