"""PDF, and drawings that are PDF inside: what is in them, and their pages drawn.

Two readers share the work. One reads the objects of the file (facts: pictures, text, strokes, inks); the other draws
the page with its transparency. What is drawn is written anew by the first reader, so that both see the same file.

Nothing here imports a PDF library until a document is opened.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preflight.intake.pdf.page import PdfPage

__all__ = ["FORMAT", "open_pdf", "page_count"]

FORMAT = "PDF"


def open_pdf(path: Path, *, pixel_limit: int) -> list[PdfPage]:
    """All pages of a document, at least one; nothing is drawn, and no page is looked into yet.

    Parameters
    ----------
    path
        An ordinary file.
    pixel_limit
        Most pixels (width × height) that a page is drawn with.

    Raises
    ------
    IntakeError
        When it is locked, not whole, damaged beyond repair, or holds no page.
    OSError
        When the file cannot be opened.
    """
    from preflight.intake.pdf.page import open_pages

    return open_pages(path, pixel_limit)


def page_count(path: Path) -> int:
    """How many pages a document has. Raises as ``open_pdf``."""
    from preflight.intake.pdf.library import opened

    with opened(path) as document:
        return document.pages
