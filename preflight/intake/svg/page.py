"""An SVG file as an artwork."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field, replace
from pathlib import Path

import numpy as np

from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.pdf.matrix import Rect
from preflight.intake.pdf.scale import fitting_ppi
from preflight.intake.reading import reading
from preflight.intake.svg import drawing
from preflight.intake.svg.cutout import cut_out
from preflight.intake.svg.facts import Read, look_into
from preflight.intake.svg.lengths import MM_PER_PX, PX_PER_INCH
from preflight.intake.svg.source import read_source
from preflight.intake.svg.tree import read_tree
from preflight.intake.window import Seen, seen_in, window
from preflight.model import DocumentFacts, PixelFacts, Strip
from preflight.records import dataclass
from preflight.units import show_number

FORMAT = "SVG"
#: px of the longer side of the drawing in which the visible part is looked for.
_SMALL = 1000.0


@dataclass(frozen=True, slots=True)
class SvgPage:
    """A drawing. Holds its text, no open file."""

    path: Path
    facts: PixelFacts
    document: DocumentFacts
    page: int
    _data: bytes = field(repr=False)
    _read: Read = field(repr=False)
    _scale: float
    _pixel_limit: int
    _root_at: int  #: where the first tag begins

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        return self.path.name

    @property
    def ppi(self) -> float:
        """Pixels per inch of the drawing's own size (taking px as 1/96 in) with which it is drawn."""
        return self._scale * PX_PER_INCH

    @property
    def wants_program(self) -> bool:
        """No other program is needed."""
        return False

    def at_ppi(self, ppi: float) -> SvgPage:
        """The same drawing at another resolution.

        Parameters
        ----------
        ppi
            Pixels per inch of the drawing's own size, ``document.width_mm``. Fewer are given where that is too large
            or too dear; see ``ppi`` of what comes back.

        Raises
        ------
        IntakeError
            When the library that draws gives up.
        """
        return _page(self.path, self._data, self._read, self._pixel_limit, self._root_at, ppi)

    def for_print(self, width_mm: float | None, height_mm: float | None, size_of: str = "artwork") -> SvgPage:
        """The same drawing, drawn so finely that a print of the ordered size comes to 300 ppi.

        A drawing that is one picture and nothing else is drawn with the picture's own pixels. A small artwork on a
        large page is cut out: the margins are no part of what comes back.

        Parameters
        ----------
        width_mm, height_mm
            As ordered; None where nobody said.
        size_of
            "artwork": the order is for what is visible, which is looked for in a small drawing; "canvas": for the
            whole drawing.

        Raises
        ------
        IntakeError
            When the drawing cannot be drawn.
        """
        ordered = (width_mm, height_mm)
        if ordered == (None, None) and not self.document.alone:
            return self
        size = self._read.page.size_mm
        if size_of == "canvas" or ordered == (None, None):
            return self.at_ppi(fitting_ppi(self.document, size, ordered))
        seen = self._seen()
        ppi = fitting_ppi(self.document, seen.size_mm, ordered)
        # A picture that is drawn with its own pixels has to keep its grid.
        part = None if self.document.alone and ppi == self.document.pictures[0].ppi else window(seen.around, size)
        return self.at_ppi(ppi) if part is None else self._cut(part, ppi)

    def _seen(self) -> Seen:
        """What a small drawing shows."""
        page = self._read.page
        small = self.at_ppi(_SMALL * PX_PER_INCH / max(page.width, page.height))
        return seen_in(np.concatenate([strip.rgba[..., 3] for strip in small.strips()]), page.size_mm)

    def _cut(self, part: Rect, ppi: float) -> SvgPage:
        """The same drawing, of which only a part is the artwork: left, top, right, bottom in mm."""
        own = self._read
        left, top, right, bottom = (side / MM_PER_PX for side in part)
        data = cut_out(self._data, self._root_at, (own.page.width, own.page.height), (left, top, right, bottom))
        read = look_into(read_tree(data))
        if read is None:
            return self.at_ppi(ppi)
        certain = own.page.certain
        read = Read(
            replace(read.page, certain=certain),
            read.cost,
            replace(read.document, size_certain=certain),
            own.notes,
        )
        return _page(self.path, data, read, self._pixel_limit, self._root_at, ppi)

    def strips(self) -> Iterator[Strip]:
        """Pieces of 256 rows (the last may be shorter) from top to bottom, each once per call.

        Yields
        ------
        Strip
            RGBA with straight alpha.

        Raises
        ------
        IntakeError
            When the drawing cannot be drawn.
        """
        with reading(self.path, "Send it as a PNG."):
            yield from drawing.draw(self._data, self._scale)


def open_page(path: Path, pixel_limit: int) -> SvgPage:
    """Look into a drawing; nothing is drawn yet. Raises as ``svg.open_svg``."""
    data = read_source(path)
    document = read_tree(data)
    read = look_into(document)
    if read is None:
        raise unreadable("the drawing is empty: it states no size and nothing in it can be drawn", SAVE_AGAIN)
    data = drawing.bounded(data, document.root_at, read.page)
    return _page(path, data, read, pixel_limit, document.root_at, None)


def _page(path: Path, data: bytes, read: Read, pixel_limit: int, root_at: int, ppi: float | None) -> SvgPage:
    scale = drawing.scale_for(read.page, read.cost, pixel_limit, ppi)
    image = drawing.open_drawing(data, scale)
    measured = image.width / (read.page.width * scale)
    if abs(image.width - read.page.width * scale) > 1.5:  # the library knows a unit otherwise: have its size
        image = drawing.open_drawing(data, scale / measured)
        scale = scale / measured
    across, down = PX_PER_INCH * image.width / read.page.width, PX_PER_INCH * image.height / read.page.height
    known = (across, down) if read.page.certain else None
    facts = PixelFacts(
        format=FORMAT,
        width=image.width,
        height=image.height,
        has_alpha=True,
        colour="rgb",
        bits=8,
        density_ppi=known,
        density_from="page size" if known else None,
        icc=None,
        icc_name=None,
        notes=(*read.notes, *_coarse(read, scale, ppi)),
        drawn=True,
    )
    return SvgPage(path, facts, read.document, 1, data, read, scale, pixel_limit, root_at)


def _coarse(read: Read, scale: float, ppi: float | None) -> Iterator[str]:
    """A note where the drawing is drawn coarser than wanted."""
    wanted = drawing.WANTED if ppi is None else ppi
    if (read.page.certain or ppi is not None) and scale * PX_PER_INCH < wanted * 0.99:
        shown = show_number(scale * PX_PER_INCH)
        yield f"The drawing is large or complex: it was drawn with {shown} pixels per inch of its own size."
