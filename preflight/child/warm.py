"""Importing this loads whatever measuring a picture may need; documents need more, by their endings."""

from __future__ import annotations

from collections.abc import Collection

import numpy.fft  # noqa: F401
import PIL.BmpImagePlugin
import PIL.ImageCms  # noqa: F401

import preflight.child.examining
import preflight.measure.codereader  # noqa: F401

_PAGES = {".pdf", ".ai", ".eps", ".ps"}
_DRAWINGS = {".svg", ".svgz"}


def for_endings(endings: Collection[str]) -> None:
    """Load the libraries for files that end so (lower case, with the point): 130 ms for each PDF (measured)."""
    if not _PAGES.isdisjoint(endings):
        import preflight.intake.pdf.page
    if not _DRAWINGS.isdisjoint(endings):
        import tinycss2.color4  # noqa: F401 - 11 ms for each drawing

        import preflight.intake.svg.page  # noqa: F401
