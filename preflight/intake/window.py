"""Which part of a page is worth drawing: a small logo often stands on a large sheet."""

from __future__ import annotations

from typing import NamedTuple

import cv2
import numpy as np

from preflight.intake.pdf.matrix import Rect, grown, meet
from preflight.model import Bytes

#: Opacity up to 5 % is nearly invisible, as elsewhere in the program.
_FAINT = 12
#: Clear space around the visible part, of its longer side; a part smaller than this share of the page is cut out.
_MARGIN, _MUCH_LESS = 0.04, 0.6


class Seen(NamedTuple):
    """What a small drawing of a page shows.

    Parameters
    ----------
    size_mm
        Width and height of what is visible; the page's where nothing is.
    around
        Left, top, right and bottom of all that leaves any trace, millimetres; None where nothing does.
    """

    size_mm: tuple[float, float]
    around: Rect | None


def seen_in(alpha: Bytes, size_mm: tuple[float, float]) -> Seen:
    """The same of the opacity of any small drawing, uint8 (rows, columns), whose page has that size."""
    across, down = size_mm[0] / alpha.shape[1], size_mm[1] / alpha.shape[0]
    x, y, width, height = cv2.boundingRect(alpha)
    if not width or not height:
        return Seen(size_mm, None)
    around = (x * across, y * down, (x + width) * across, (y + height) * down)
    _, _, width, height = cv2.boundingRect((alpha > _FAINT).astype(np.uint8))
    return Seen((width * across, height * down) if width and height else size_mm, around)


def window(seen: Rect | None, page_mm: tuple[float, float]) -> Rect | None:
    """The part of a page that is worth drawing, where that is much less than the page: a small logo on a large sheet.

    Parameters
    ----------
    seen
        Around all that leaves any trace on the page, millimetres of the page; None when nothing does.
    page_mm
        Width and height of the page.

    Returns
    -------
    tuple or None
        Left, top, right and bottom in millimetres; None: draw the whole page.
    """
    if seen is None:
        return None
    margin = _MARGIN * max(seen[2] - seen[0], seen[3] - seen[1])
    around = meet(grown(seen, margin), (0.0, 0.0, *page_mm))
    if around is None:
        return None
    area = (around[2] - around[0]) * (around[3] - around[1])
    return around if 0.0 < area < _MUCH_LESS * page_mm[0] * page_mm[1] else None
