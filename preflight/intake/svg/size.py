"""How large a drawing says it is, and how sure that is.

CSS Values and Units: px is 1/96 in, and many programs write 72 or 90 px for an inch all the same; so only a size in
mm, cm, in, pt, pc or q is taken as certain.
"""

from __future__ import annotations

import math

from preflight.intake.head import unreadable
from preflight.intake.pdf.matrix import Matrix, Rect
from preflight.intake.svg import transform
from preflight.intake.svg.lengths import ABSOLUTE, DEFAULT_FONT, MM_PER_PX, length, split
from preflight.records import dataclass

#: Units whose size nobody but a viewer knows.
_OF_THE_VIEWER = ("%", "vw", "vh", "vmin", "vmax")


@dataclass(frozen=True, slots=True)
class Page:
    """The drawing's own area.

    ``box`` is its view box (x, y, width, height) in its own units: what is drawn. Without one, those are px from the
    top left. A drawing that has neither size nor view box is not ``stated``: ``box`` is then around what it paints.
    """

    width: float  #: px
    height: float
    certain: bool
    box: Rect | None
    to_px: Matrix  #: from the drawing's own units to px from the page's top left
    stated: bool = True

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height, taking px as 1/96 in."""
        return self.width * MM_PER_PX, self.height * MM_PER_PX


def page_size(declared: dict[str, str], attributes: dict[str, str]) -> Page | None:
    """The size of a drawing; None when it states none and has no view box.

    Parameters
    ----------
    declared
        What holds for the root element; its style may set width and height too.
    attributes
        The root's own.

    Raises
    ------
    IntakeError
        When it says that it has no area.
    """
    width, height = declared.get("width"), declared.get("height")
    box = transform.view_box(attributes.get("viewBox"))
    across, down = _px(width), _px(height)
    if across == 0 or down == 0:
        raise unreadable("the drawing says that its width or height is zero")
    if box is not None:
        across, down = _completed(across, down, box)
    if across is None or down is None:
        return None
    certain = any(_certain(side) for side in (width, height)) and all(
        _certain(side) or _open(side) for side in (width, height)
    )
    if box is None:
        return Page(across, down, certain, None, (1.0, 0.0, 0.0, 1.0, 0.0, 0.0))
    matrix = transform.fit(box, across, down, attributes.get("preserveAspectRatio"))
    return Page(across, down, certain, box, matrix)


def _completed(across: float | None, down: float | None, box: tuple[float, float, float, float]) -> tuple[float, float]:
    """The sides that are missing, from the proportions of the view box; both missing: one unit is one px."""
    if across is None and down is None:
        return box[2], box[3]
    if across is None:
        return (down or 0.0) * box[2] / box[3], down or 0.0
    return across, down if down is not None else across * box[3] / box[2]


def _px(text: str | None) -> float | None:
    """A side in px; None where it is not given, is a share of a viewer's window, or cannot be read."""
    parts = split(text)
    if parts is None or parts[1] in _OF_THE_VIEWER:
        return None
    value = length(text, of=0.0, font=DEFAULT_FONT, otherwise=math.nan)
    return None if math.isnan(value) or value < 0 else value


def _certain(text: str | None) -> bool:
    """Whether a side is given in a unit with a fixed size on paper."""
    parts = split(text)
    return parts is not None and parts[1] in ABSOLUTE


def _open(text: str | None) -> bool:
    """Whether a side is left to the other."""
    return text is None or text.strip().lower() == "auto"
