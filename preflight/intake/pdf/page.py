"""A page of a document as an artwork: looked into when it is asked about, drawn when its strips are taken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property
from pathlib import Path

import numpy as np

from preflight.errors import IntakeError
from preflight.intake import profile
from preflight.intake.ghostscript import command
from preflight.intake.pdf import FORMAT, drawing
from preflight.intake.pdf.document import read_document
from preflight.intake.pdf.library import opened
from preflight.intake.pdf.pagefile import PageFile
from preflight.intake.pdf.plates import Plates
from preflight.intake.pdf.scale import PRINT_PPI, Scale, choose_scale, fitting_ppi
from preflight.intake.pdf.values import shown
from preflight.intake.window import window
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
    def ppi(self) -> float:
        """Pixels per inch of the page's own size with which it is drawn. Raises as ``facts``."""
        return self._scale.ppi[0]

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
            drawn=True,
        )

    @property
    def wants_program(self) -> bool:
        """Whether Ghostscript, which is installed, can give the page's own inks. Raises as ``document``."""
        return self._file.look().inked and command() is not None

    def at_ppi(self, ppi: float) -> PdfPage:
        """The same page, drawn with so many pixels per inch of its own size, as far as the pixel limit allows."""
        return PdfPage(self._file, self._pixel_limit, ppi)

    def for_print(self, width_mm: float | None, height_mm: float | None, size_of: str = "artwork") -> PdfPage:
        """The same page, drawn so finely that a print of the ordered size comes to 300 ppi.

        A page that is one picture and nothing else is drawn with the picture's own pixels. A small artwork on a large
        page is cut out: the margins are no part of what comes back.

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
        ordered = (width_mm, height_mm)
        file, size = self._file, self._file.look().box.size_mm
        if size_of != "canvas" and ordered != (None, None):
            with file.naming():
                seen = drawing.seen(file)
            ppi = fitting_ppi(self.document, seen.size_mm, ordered)
            # A picture that is drawn with its own pixels has to keep its grid.
            part = None if self.document.alone and ppi == self.document.pictures[0].ppi else window(seen.around, size)
            return PdfPage(file if part is None else file.cut(part), self._pixel_limit, ppi)
        return PdfPage(file, self._pixel_limit, fitting_ppi(self.document, size, ordered))

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
        facts, (plates, _) = self.facts, self._plates
        inks = None if plates is None else plates.pieces()
        with self._file.naming():
            for y, rgba in drawing.rows(self._file, facts.width, facts.height):
                yield Strip(y, rgba, None if inks is None else self._straight(next(inks), rgba))

    def ink_shares(self) -> tuple[InkFact, ...]:
        """The page's inks, with the share of the page that each spot colour and white plate would cover at 100 %.

        Drawn small, twice for each. Overprint is not followed: where something lies over an ink, there is none.

        Raises
        ------
        IntakeError
            When the page cannot be read or drawn.
        """
        with self._file.naming():
            return tuple(self._with_share(ink) for ink in self.document.inks)

    def white_plate(self) -> Iterator[tuple[int, Bytes]]:
        """The customer's own white plate, drawn like ``strips``; nothing where there is none.

        Yields
        ------
        tuple
            The first row's number, and uint8 of shape (rows, width): 255 = full white.

        Raises
        ------
        IntakeError
            When the page cannot be read or drawn.
        """
        whites = self._file.look().whites
        if whites:
            with self._file.naming():
                yield from drawing.plate(self._file, whites, self.facts.width, self.facts.height)

    @cached_property
    def _scale(self) -> Scale:
        with self._file.naming():
            return choose_scale(self._file.look().box.size_mm, self._wanted, self._pixel_limit)

    @cached_property
    def _plates(self) -> tuple[Plates | None, str | None]:
        """The page's own inks, where it has nothing else; or a sentence why not."""
        looked = self._file.look()
        if not looked.inked:
            return None, None
        if command() is None:
            return None, _NO_GHOSTSCRIPT
        width, height = looked.box.size_mm
        unit = MM_PER_POINT * looked.box.unit
        try:
            size = width / unit, height / unit
            return Plates(drawing.artwork(self._file), size, self._scale.width, self._scale.height), None
        except IntakeError as refusal:
            return None, f"Its colours are given as inks, but {refusal.what}; they are separated again instead."

    def _profile(self) -> tuple[bytes | None, str | None, str | None]:
        """The profile that the document's inks are meant for."""
        return profile.check_profile(self._file.document.output_profile, "cmyk", says_srgb=False)

    def _straight(self, inks: Bytes, rgba: Bytes) -> Bytes:
        """Ink amounts as they are where the page is opaque.

        Where the page has translucent parts the separation holds what they leave on white paper: opacity × amount.
        Without any, a pixel is only partly opaque at an edge, and the separation does not smooth edges.
        """
        if not self.document.transparency:
            return inks
        alpha = np.maximum(rgba[..., 3:].astype(np.float32), 1.0)
        return np.asarray(np.rint(inks * (255.0 / alpha)).clip(0, 255), np.uint8)

    def _with_share(self, ink: InkFact) -> InkFact:
        spelled = {shown(name): name for name in (*self._file.look().spots, *self._file.look().whites)}
        name = spelled.get(ink.name)
        return ink if name is None else replace(ink, share=drawing.share(self._file, name))
