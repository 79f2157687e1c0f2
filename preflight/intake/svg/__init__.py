"""SVG: what is in a drawing, found by a reader of our own within limits, and the drawing drawn.

Nothing here imports a library for drawing until a file is opened. Nothing is fetched, no script is run.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from preflight.intake.svg.page import SvgPage

__all__ = ["open_svg"]


def open_svg(path: Path, *, pixel_limit: int) -> list[SvgPage]:
    """A drawing, plain or compressed: one page. Nothing is drawn yet.

    Parameters
    ----------
    path
        An ordinary file.
    pixel_limit
        Most pixels (width × height) that it is drawn with.

    Raises
    ------
    IntakeError
        When it is no SVG, damaged, cut short, or too complex to open safely.
    OSError
        When the file cannot be opened.
    """
    from preflight.intake.svg.page import open_page

    return [open_page(path, pixel_limit)]
