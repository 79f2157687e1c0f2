"""Close-ups of places: which window to cut, where the measured width lies in it, and the picture."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from preflight.measure.background import key_out
from preflight.measure.kernels import median
from preflight.measure.sheet import CELL, FAINT
from preflight.model import Bytes, Place, Strip
from preflight.views import encode
from preflight.views.model import CloseUp, Look, Picture, Ruler, Wanted
from preflight.views.pieces import Busiest, Piece
from preflight.views.rulers import Ends, Window, ends
from preflight.views.shrunk import laid_on, premultiplied

#: Side of a close-up, print mm; larger only for what is itself larger, up to the second figure.
SIDE_MM, LARGEST_MM = 10.0, 40.0
#: A place that is larger is looked at along its top alone, which it touches somewhere.
_TALL_MM = 14.0
#: Side of a close-up up to which it is always written pixel by pixel.
_EXACT_PX = 160
_RULED = ("line", "gap", "fade")
#: From the file's own colours and inks to sRGB, (h, w, …) → (h, w, 3).
ToSrgb = Callable[[Bytes, "Bytes | None"], Bytes]


class Looking:
    """Collects what the close-ups need while the strips go by.

    Parameters
    ----------
    wanted
        With a known print size.
    """

    def __init__(self, wanted: Wanted) -> None:
        scale = wanted.mm_per_px
        if scale is None:
            raise ValueError("a close-up needs the size of the print")
        self.wanted, self.scale = wanted, scale
        self._pieces = {look: Piece(self._region(look, look.place)) for look in wanted.looks if look.place is not None}
        searched = any(look.what == "busiest" for look in wanted.looks)
        self._busiest = Busiest(wanted.box, max(8, round(SIDE_MM / scale))) if searched else None

    def see(self, strip: Strip) -> None:
        """Look at one strip."""
        for piece in self._pieces.values():
            piece.see(strip)
        if self._busiest is not None:
            self._busiest.see(strip)

    def close_ups(self, to_srgb: ToSrgb) -> Iterable[CloseUp]:
        """The pictures, in the order in which they were wanted; none where there is nothing to see."""
        for look in self.wanted.looks:
            piece = self._pieces.get(look)
            if piece is not None:
                yield self._of_place(look, piece, to_srgb)
            elif self._busiest is not None and self._busiest.piece is not None:
                yield CloseUp(look.finding, self._picture(self._busiest.piece, look.what, to_srgb))

    def _region(self, look: Look, place: Place) -> Window:
        """What must be kept of a place, px: around it as much as a close-up shows."""
        x0, y0, x1, y1 = self._window(place)
        margin = self._margin(look)
        y1 = min(y1, y0 + max(1, round(_TALL_MM / self.scale)) + margin) if self._is_large(place) else y1
        return x0 - margin, y0 - margin, x1 + margin, y1 + margin

    def _margin(self, look: Look) -> int:
        return round(0.55 * _side_mm(look) / self.scale)

    def _is_large(self, place: Place) -> bool:
        return place.height_mm > LARGEST_MM or (place.height_mm > _TALL_MM and place.width_mm > SIDE_MM)

    def _window(self, place: Place) -> Window:
        """The place in px of the canvas."""
        box, scale = self.wanted.box, self.scale
        left, top = box.x + place.x_mm / scale, box.y + place.y_mm / scale
        right, bottom = left + place.width_mm / scale, top + place.height_mm / scale
        return round(left), round(top), max(round(left) + 1, round(right)), max(round(top) + 1, round(bottom))

    def _of_place(self, look: Look, piece: Piece, to_srgb: ToSrgb) -> CloseUp:
        px0, py0, px1, py1 = piece.window
        margin = self._margin(look)
        inner = (margin, margin, px1 - px0 - margin, py1 - py0 - margin)
        found: Ends | None = None
        if look.what in _RULED and look.width_mm:
            found = ends(self._opacity(look, piece), inner, look.what, look.width_mm / self.scale)
        if found is not None:
            middle = ((found[0] + found[2]) / 2, (found[1] + found[3]) / 2)
        else:
            middle = _middle(piece.rgba[..., 3], inner, round(SIDE_MM / self.scale))
        side = max(8, round(_side_mm(look) / self.scale))
        x, y = round(px0 + middle[0] - side / 2), round(py0 + middle[1] - side / 2)
        cut = piece.part((x, y, x + side, y + side))
        ruler = None if found is None else self._ruler(found, px0, py0)
        return CloseUp(look.finding, self._picture(cut, look.what, to_srgb), ruler)

    def _opacity(self, look: Look, piece: Piece) -> Bytes:
        """What is measured through: the opacity, once the background is gone that was left in."""
        alpha = piece.rgba[..., 3].copy()
        if self.wanted.keyed is not None:
            cells = np.ones((-(-alpha.shape[0] // CELL), -(-alpha.shape[1] // CELL)), np.uint8)
            key_out(piece.rgba, alpha, cells, self.wanted.keyed, soft=look.what == "fade")
        return alpha

    def _ruler(self, found: Ends, x: int, y: int) -> Ruler:
        box, scale = self.wanted.box, self.scale
        x1, y1, x2, y2 = found
        return Ruler(
            (x + x1 - box.x) * scale, (y + y1 - box.y) * scale, (x + x2 - box.x) * scale, (y + y2 - box.y) * scale
        )

    def _picture(self, piece: Piece, what: str, to_srgb: ToSrgb) -> Picture:
        box, scale = self.wanted.box, self.scale
        alpha = piece.rgba[..., 3]
        rgba = np.dstack((to_srgb(piece.rgba[..., :3], piece.inks), alpha))
        cloth = self.wanted.cloths[0].rgb
        pixels = laid_on(premultiplied(np.ascontiguousarray(rgba)), cloth)
        if what == "faint":
            pixels[(alpha > 0) & (alpha <= FAINT)] = (0, 0, 0) if sum(cloth) > 380 else (255, 255, 255)
        x, y = (piece.window[0] - box.x) * scale, (piece.window[1] - box.y) * scale
        write: Any = encode.exact if len(pixels) <= _EXACT_PX else encode.picture
        picture: Picture = write(pixels, x, y, scale)
        return picture


def _side_mm(look: Look) -> float:
    """Side of a close-up: larger than usual for what must be seen whole."""
    longest = 0.0
    if look.what in _RULED:
        longest = 1.6 * (look.width_mm or 0.0)
    elif look.what == "whole" and look.place is not None:
        longest = 1.25 * max(look.place.width_mm, look.place.height_mm)
    return min(LARGEST_MM, max(SIDE_MM, longest))


def _middle(alpha: Bytes, inner: Window, side: int) -> tuple[float, float]:
    """The middle of a place, px; of a large one that of its part that shows the most edges."""
    x0, y0, x1, y1 = inner
    if max(x1 - x0, y1 - y0) <= side:
        return (x0 + x1) / 2, (y0 + y1) / 2
    inside = alpha[y0:y1, x0:x1] > FAINT
    rows, columns = np.nonzero(inside)
    if not len(rows):
        return (x0 + x1) / 2, (y0 + y1) / 2
    # The first row that shows anything, and there the middle of what shows.
    first = rows == rows.min()
    x = float(median(columns[first]))
    return x0 + min(max(x, side * 0.3), max(x1 - x0 - side * 0.3, side * 0.3)), y0 + float(rows.min()) + side * 0.3
