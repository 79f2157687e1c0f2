"""A page drawn with its transparency, in pieces from the top."""

from __future__ import annotations

import copy
import ctypes
import importlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from preflight.errors import IntakeError
from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.pdf.matrix import Matrix
from preflight.model import Bytes

pdfium: Any = importlib.import_module("pypdfium2.raw")

#: For print, with the annotations that print.
_FLAGS = pdfium.FPDF_ANNOT | pdfium.FPDF_PRINTING
WHITE, BLACK = 0xFFFFFFFF, 0xFF000000


class Sheet:
    """A page that is open for drawing, at one size.

    Parameters
    ----------
    data
        A file of one page, without UserUnit. Kept until the end: the library reads from it all the time.
    width, height
        Of the whole page, pixels.
    """

    def __init__(self, data: bytes, width: int, height: int) -> None:
        self.width = width
        self.height = height
        self._data = data
        self._document: Any = pdfium.FPDF_LoadMemDocument64(data, len(data), None)
        if not self._document:
            raise _not_drawn()
        # The page has to outlive every call on it: the library crashes otherwise.
        self._page: Any = pdfium.FPDF_LoadPage(self._document, 0)
        if not self._page:
            pdfium.FPDF_CloseDocument(self._document)
            raise _not_drawn()
        self._to_pixels = self._fitted()

    def close(self) -> None:
        """Let go of the page and the file."""
        pdfium.FPDF_ClosePage(self._page)
        pdfium.FPDF_CloseDocument(self._document)

    def at(self, width: int, height: int) -> Sheet:
        """The same open page at another size; closed along with this one."""
        other = copy.copy(self)
        other.width, other.height = width, height
        other._to_pixels = other._fitted()
        return other

    def rows(self, y: int, count: int, paper: int | None = None) -> Bytes:
        """Draw some rows.

        Parameters
        ----------
        y, count
            The first row, and how many.
        paper
            Colour to draw on, 0xAARRGGBB; None: nothing, and the drawing has transparency.

        Returns
        -------
        ndarray
            uint8, shape (count, width, 4): blue, green, red and straight alpha; on paper the last is 255.

        Raises
        ------
        IntakeError
            When the library does not draw.

        Notes
        -----
        Blue first: asked for red first, the library gives a translucent upright rectangle over a partly transparent
        ground the wrong opacity, 127 where 191 is right (measured).
        """
        pixels = np.empty((count, self.width, 4), np.uint8)
        bitmap = pdfium.FPDFBitmap_CreateEx(
            self.width, count, pdfium.FPDFBitmap_BGRA, pixels.ctypes.data_as(ctypes.c_void_p), self.width * 4
        )
        if not bitmap:
            raise _not_drawn()
        try:
            pdfium.FPDFBitmap_FillRect(bitmap, 0, 0, self.width, count, 0 if paper is None else paper)
            a, b, c, d, e, f = self._to_pixels
            matrix = pdfium.FS_MATRIX(a, b, c, d, e, f - y)
            clip = pdfium.FS_RECTF(0.0, 0.0, float(self.width), float(count))
            pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, self._page, matrix, clip, _FLAGS)
        finally:
            pdfium.FPDFBitmap_Destroy(bitmap)
        return pixels

    def _fitted(self) -> Matrix:
        """From the page as the library sees it, in its own units from the top left, to pixels."""
        across, down = pdfium.FPDF_GetPageWidthF(self._page), pdfium.FPDF_GetPageHeightF(self._page)
        if not (across > 0.0 and down > 0.0):
            raise _not_drawn()
        return (self.width / across, 0.0, 0.0, self.height / down, 0.0, 0.0)


@contextmanager
def sheet(data: bytes, width: int, height: int) -> Iterator[Sheet]:
    """A page open for drawing. Raises IntakeError when the drawing library refuses the file."""
    opened = Sheet(data, width, height)
    try:
        yield opened
    finally:
        opened.close()


def _not_drawn() -> IntakeError:
    return unreadable("the page cannot be drawn", SAVE_AGAIN)
