"""Layered PSD and PSB files: the merged picture in them, their layers, inks and spot channels.

The merged picture is read by a reader of our own, in strips; a library is needed only where it is missing.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preflight.intake.psd.page import PsdPage

__all__ = ["open_psd"]


def open_psd(path: Path, *, pixel_limit: int) -> list[PsdPage]:
    """A layered file: one page. No pixel is decoded yet.

    Parameters
    ----------
    path
        An ordinary file.
    pixel_limit
        Most pixels (width × height) that are let through.

    Raises
    ------
    IntakeError
        When it is not whole, damaged, too large, or of a kind whose colours cannot be told.
    OSError
        When the file cannot be opened.
    """
    from preflight.intake.psd.page import open_page

    return [open_page(path, pixel_limit)]
