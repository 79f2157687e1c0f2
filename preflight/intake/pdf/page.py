"""A page of a document as an artwork: looked into when it is asked about, drawn when its strips are taken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from preflight.errors import IntakeError
from preflight.intake import profile
from preflight.intake.pdf import FORMAT, drawing
from preflight.intake.pdf.document import read_document
from preflight.intake.pdf.library import opened
from preflight.intake.pdf.pagefile import PageFile
from preflight.intake.pdf.plates import Plates, command
from preflight.intake.pdf.scale import PRINT_PPI, Scale, choose_scale, drawing_ppi
from preflight.model import Bytes, DocumentFacts, InkFact, PixelFacts, Strip
from preflight.units import MM_PER_POINT

_NO_GHOSTSCRIPT = (
    "Its colours are given as inks. Ghostscript is not installed, so they are drawn as on a screen and separated "
    "again; install it for the file's own ink amounts."
)


def open_pages(path: Path, pixel_limit: int) -> list[PdfPage]:
    """See ``preflight.intake.pdf.open_pdf``."""
    with opened(path) as file:
        document = read_document(file)
    return [PdfPage(PageFile(path, index, document), pixel_limit) for index in range(document.pages)]


class PdfPage:
    """One page of a document; every question is answered when it is first asked.

    Parameters
    ----------
    file
        The page in its file.
    pixel_limit
        Most pixels that it is drawn with.
    ppi
        Pixels per inch of the page's own size that are wanted.
    """

    def __init__(self, file: PageFile, pixel_limit: int, ppi: float = PRINT_PPI) -> None:
        self._file = file
        self._pixel_limit = pixel_limit
        self._wanted = ppi

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        return self._file.path.name

    @property
    def page(self) -> int:
        """Number of the page, from 1."""
        return self._file.index + 1

    @property
    def document(self) -> DocumentFacts:
        """What the page's own objects say. Nothing is drawn.

        Raises
        ------
        IntakeError
            When the page is damaged in part, or too complex to read safely.
        """
        return self._file.look().document

    @cached_property
    def facts(self) -> PixelFacts:
        """The page as a picture of the size at which it is drawn.

        ``colour`` is "cmyk" when every colour on the page is an ink and Ghostscript gives the inks themselves; the
        page is then separated here and now, which takes seconds.

        Raises
        ------
        IntakeError
            As ``document``, and when the page is too large to draw.
        """
        looked, scale = self._file.look(), self._scale
        plates, plates_note = self._plates
        notes = [note for note in (*looked.notes, scale.note, plates_note) if note]
        icc = icc_name = None
        if plates is not None:
            icc, icc_name, note = self._profile()
            notes += [note] if note else []
        return PixelFacts(
            format=FORMAT,
            width=scale.width,
            height=scale.height,
            has_alpha=True,
            colour="rgb" if plates is None else "cmyk",
            bits=8,
            density_ppi=scale.ppi if looked.document.size_certain else None,
            density_from="page size" if looked.document.size_certain else None,
            icc=icc,
            icc_name=icc_name,
            notes=tuple(notes),
        )

    def at_ppi(self, ppi: float) -> PdfPage:
        """The same page, drawn with so many pixels per inch of its own size, as far as the pixel limit allows."""
        return PdfPage(self._file, self._pixel_limit, ppi)

    def for_print(self, width_mm: float | None, height_mm: float | None, size_of: str = "artwork") -> PdfPage:
        """The same page, drawn so finely that a print of the ordered size comes to 300 ppi.

        Parameters
        ----------
        width_mm, height_mm
            As ordered; None where nobody said.
        size_of
            "artwork": the order is for what is visible, which is looked for in a small drawing; "canvas": for the
            whole page.

        Raises
        ------
        IntakeError
            When the page cannot be read or drawn.
        """
        if width_mm is None and height_mm is None:
            return self
        canvas = self._file.look().box.size_mm
        size = canvas if size_of == "canvas" else self._named(lambda: drawing.visible_mm(self._file))
        return self.at_ppi(drawing_ppi(size, (width_mm, height_mm)))

    def strips(self) -> Iterator[Strip]:
        """Draw the page: pieces of 256 rows (the last may be shorter) from top to bottom, each once per call.

        Yields
        ------
        Strip
            RGBA in sRGB with straight alpha; with the inks where ``facts.colour`` is "cmyk".

        Raises
        ------
        IntakeError
            When the page cannot be drawn.
        """
        facts = self.facts
        plates, _ = self._plates
        inks = None if plates is None else plates.pieces()
        try:
            for y, rgba in drawing.rows(self._file, facts.width, facts.height):
                own = None if inks is None else self._straight(next(inks), rgba)
                yield Strip(y, rgba, own)
        except IntakeError as error:
            error.file = str(self._file.path)
            raise
