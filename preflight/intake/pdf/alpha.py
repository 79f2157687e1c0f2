"""Transparency of a drawn page: the check that it is right, and another way to get it.

A page is first drawn small, both with transparency and on white paper: laid on white, the one must look like the
other. Where it does not, the page is drawn on white and on black paper, and opacity and colour follow from the two.
(No page of the test documents that were at hand needed it; a past fault of the drawing library would have.)
"""

from __future__ import annotations

import cv2
import numpy as np

from preflight.intake.pdf.draw import BLACK, WHITE, Sheet
from preflight.model import Bytes

#: Longest side of the small drawings, pixels.
_SMALL = 1000
#: Differences up to this are rounding and the smoothing of edges; more pixels than this share are a fault.
_ROUNDING = 24
_FAULTY_SHARE = 2e-5


def needs_papers(page: Sheet) -> bool:
    """Whether the transparency of a page has to be taken from drawings on two papers.

    Parameters
    ----------
    page
        Open at the size of the full drawing; without blend modes that look different on paper than on film.

    Raises
    ------
    IntakeError
        When the page cannot be drawn.
    """
    scale = min(1.0, _SMALL / max(page.width, page.height))
    small = page.at(max(1, round(page.width * scale)), max(1, round(page.height * scale)))
    laid = on_white(small.rows(0, small.height)).astype(np.int16)
    gap = np.abs(laid - small.rows(0, small.height, WHITE)).max(axis=2)
    return float((gap > _ROUNDING).mean()) > _FAULTY_SHARE


def rgba_rows(page: Sheet, y: int, count: int, *, papers: bool) -> Bytes:
    """Rows of a page as RGBA, uint8 (count, width, 4), straight alpha.

    Raises
    ------
    IntakeError
        When the library does not draw.
    """
    if papers:
        return from_papers(page.rows(y, count, WHITE), page.rows(y, count, BLACK))
    return np.asarray(cv2.cvtColor(page.rows(y, count), cv2.COLOR_BGRA2RGBA), np.uint8)


def from_papers(white: Bytes, black: Bytes) -> Bytes:
    """Straight RGBA from the same drawing on white and on black; both uint8 (rows, columns, 4), blue first.

    On white a pixel is colour × opacity + 1 − opacity, on black colour × opacity.
    """
    over, under = white[..., 2::-1].astype(np.int16), black[..., 2::-1].astype(np.int16)
    # The three channels tell the same but for rounding; the least difference is the greatest opacity.
    opacity = 255 - (over - under).clip(0, 255).min(axis=2)
    colour = under * 255.0 / np.maximum(opacity, 1)[..., None]
    rgba = np.empty((*opacity.shape, 4), np.uint8)
    rgba[..., :3] = np.rint(colour).clip(0, 255)
    rgba[..., 3] = opacity
    return rgba


def on_white(pixels: Bytes) -> Bytes:
    """Colours of a drawing with straight alpha, laid on white; the alpha of the result is 255."""
    alpha = pixels[..., 3:].astype(np.float32) / 255.0
    laid = pixels.astype(np.float32) * alpha + 255.0 * (1.0 - alpha)
    laid[..., 3] = 255.0
    return np.asarray(np.rint(laid), np.uint8)
