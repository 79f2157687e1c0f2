"""The white layer after the choke, and hatching that reads without colour."""

from __future__ import annotations

import math

import cv2
import numpy as np

from preflight.measure.choke import choked, shrunk_once
from preflight.measure.kernels import CROSS, THREE, dilate, solid, square, u8, without
from preflight.model import Bytes
from preflight.views.shrunk import Frame, Shrinker

#: Levels of film without ink, and of art on it that the pulled-in white does not reach.
_FILM, _ART = 116, 70
#: Opacity from which white counts as there.
_WHITE = 64
#: Share of a cell that must be bare to be told: the corners of any shape lose a pixel or two.
_BARE = 0.3
#: Width of one stripe of the hatching, px of the picture, and how far a small area is grown to be seen.
_STRIPE = 4
_GROWN = 7


class WhiteLayer:
    """Pulls the white in while the rows of the artwork's opacity go by.

    Parameters
    ----------
    frame
        Of the pictures.
    radius
        How far white is pulled in, px; fractions allowed.
    """

    def __init__(self, frame: Frame, radius: float) -> None:
        self._whole = math.floor(radius)
        self._share = radius - self._whole
        #: Rows on each side that an answer depends on.
        self._halo = 2 * self._whole + 4
        self._white, self._bare = Shrinker(frame, 1), Shrinker(frame, 1)
        self._rows: Bytes = np.zeros((self._halo, frame.box.width), np.uint8)  # above the artwork there is film
        self.frame = frame
        self.bare_px = 0.0

    def add(self, alpha: Bytes) -> None:
        """The next rows of the box, uint8 (rows, box width)."""
        rows = np.concatenate((self._rows, alpha))
        self._rows = rows[-2 * self._halo :].copy()
        if len(rows) > 2 * self._halo:
            self._answer(rows)

    def close(self) -> tuple[Bytes, Bytes]:
        """Opacity of the white, and share of each pixel that is bare, both as pictures, uint8 (h, w)."""
        self._answer(np.concatenate((self._rows, np.zeros((self._halo, self._rows.shape[1]), np.uint8))))
        bare = self._bare.close()
        bare[bare < _BARE * 255] = 0
        self.bare_px = float(bare.sum(dtype=np.float64)) / 255.0 * self.frame.cell**2
        return self._white.close(), bare

    def _answer(self, rows: Bytes) -> None:
        """White and bare parts of all rows but a halo at either end."""
        halo = self._halo
        if int(rows.max(initial=0)) == 0:
            nothing = np.zeros((len(rows) - 2 * halo, rows.shape[1]), np.uint8)
            self._white.add(nothing)
            self._bare.add(nothing)
            return
        framed = u8(cv2.copyMakeBorder(rows, 0, 0, halo, halo, cv2.BORDER_CONSTANT, value=0))
        white = self._pulled_in(framed)
        inner = (slice(halo, -halo), slice(halo, -halo))
        self._white.add(white[inner])
        if int(rows.min(initial=255)) == 255 and rows.shape[1] > 2 * halo:
            self._bare.add(np.zeros((len(rows) - 2 * halo, rows.shape[1]), np.uint8))
            return
        grown = solid(white, _WHITE)
        for done in range(self._whole + 2):
            grown = dilate(grown, THREE if done % 2 else CROSS)
        self._bare.add(without(solid(framed, 128), grown)[inner])

    def _pulled_in(self, alpha: Bytes) -> Bytes:
        near = choked(alpha, self._whole)
        if self._share <= 0:
            return near
        far = shrunk_once(near, self._whole)
        return u8(cv2.addWeighted(near, 1 - self._share, far, self._share, 0))


def white_picture(white: Bytes, bare: Bytes, alpha: Bytes) -> Bytes:
    """White ink on film, grey uint8 (h, w): art without white around it darker, what gets none at all hatched."""
    art = np.rint(_FILM + (_ART - _FILM) * np.arange(256) / 255).astype(np.uint8)
    dark = cv2.bitwise_not(cv2.LUT(alpha, art))
    picture = cv2.bitwise_not(cv2.multiply(dark, cv2.bitwise_not(white), scale=1 / 255))
    return hatched(u8(picture), (bare > 0).astype(np.uint8))


def hatched(picture: Bytes, mask: Bytes) -> Bytes:
    """A grey picture with an area, uint8 0/1, in black and white stripes inside a black and a white rim."""
    if not mask.any():
        return picture
    grown = dilate(mask, square(_GROWN))
    rim = dilate(grown, THREE)
    height, width = mask.shape
    stripes = np.where((np.arange(height)[:, None] + np.arange(width)) // _STRIPE % 2 == 0, 255, 0).astype(np.uint8)
    out = picture.copy()
    out[dilate(rim, THREE) > 0] = 255
    out[rim > 0] = 0
    out[grown > 0] = stripes[grown > 0]
    return out


def pale(picture: Bytes) -> Bytes:
    """A picture, uint8 (h, w, 3), as a light grey ground for hatching, uint8 (h, w)."""
    grey = u8(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY))
    return u8(cv2.LUT(grey, (150 + np.arange(256) * 90 // 255).astype(np.uint8)))
