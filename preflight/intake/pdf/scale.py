"""How finely a page is drawn."""

from __future__ import annotations

import math

from preflight.intake.head import unreadable
from preflight.model import DocumentFacts
from preflight.records import dataclass
from preflight.units import MM_PER_INCH, show_number

#: What the print should come to, pixels per inch.
PRINT_PPI = 300.0
#: Own pixels are taken up to so many times those that the print needs, and down to such a part: of fewer it is a fill.
_MOST_OVER, _MOST_UNDER = 2.0, 6.0
#: Most pixels of a drawing: 330 mm × 5 m of film at 300 ppi are 230 million. Measuring more takes gigabytes.
_MOST_PIXELS = 250_000_000
#: Of the page's own size; coarser than this a drawing answers no question.
_LEAST_PPI = 50.0


@dataclass(frozen=True, slots=True)
class Scale:
    """Size of a drawing."""

    width: int
    height: int
    ppi: tuple[float, float]  #: of the page's own size, across and down
    note: str | None


def drawing_ppi(page_mm: tuple[float, float], ordered: tuple[float | None, float | None] | None = None) -> float:
    """Pixels per inch of the page's own size at which its print comes to 300.

    Parameters
    ----------
    page_mm
        Width and height, at the page's own size, of what the order is for: the visible artwork or the whole page.
    ordered
        Ordered width and height in millimetres, None where nobody said. With both, the artwork fits inside.
    """
    pairs = zip(page_mm, ordered or (None, None), strict=True)
    factors = [wanted / own for own, wanted in pairs if wanted is not None and own > 0.0]
    return PRINT_PPI * min(factors, default=1.0)


def fitting_ppi(
    document: DocumentFacts, page_mm: tuple[float, float], ordered: tuple[float | None, float | None]
) -> float:
    """Pixels per inch of the page's own size that serve its measures best.

    A page that is nothing but one picture is drawn with that picture's own pixels: it then gets the answer that the
    picture itself would get.

    Parameters
    ----------
    document
        What is on the page.
    page_mm, ordered
        As ``drawing_ppi``.
    """
    wanted = drawing_ppi(page_mm, ordered)
    own = document.pictures[0].ppi if document.alone and document.pictures else wanted
    return own if wanted / _MOST_UNDER <= own <= _MOST_OVER * wanted else wanted


def choose_scale(size_mm: tuple[float, float], wanted: float, pixel_limit: int) -> Scale:
    """The size of a drawing: as fine as wanted, as far as the limit allows.

    Parameters
    ----------
    size_mm
        Of the page.
    wanted
        Pixels per inch.
    pixel_limit
        Most pixels.

    Raises
    ------
    IntakeError
        When the page is so large that the limit leaves nothing worth looking at.
    """
    inches = size_mm[0] / MM_PER_INCH, size_mm[1] / MM_PER_INCH
    pixel_limit = min(pixel_limit, _MOST_PIXELS)
    most = math.sqrt(pixel_limit / (inches[0] * inches[1]))
    if most < min(wanted, _LEAST_PPI):
        shown = " × ".join(show_number(side) for side in size_mm)
        raise unreadable(
            f"the page is {shown} mm: too large to draw with {pixel_limit / 1e6:.1f} megapixels",
            "Set the page to the size of the print and send it again, "
            "or raise film.longest_print or film.finest_ppi in the shop file.",
        )
    note = None
    if wanted > most * 1.001:
        note = f"The page is so large that it is drawn with {most:.0f} pixels per inch of its own size."
    ppi = min(wanted, most)
    # Rounded down at the limit: a pixel too many is one too many.
    rounded = math.floor if wanted >= most else round
    width, height = max(1, rounded(inches[0] * ppi)), max(1, rounded(inches[1] * ppi))
    return Scale(width, height, (width / inches[0], height / inches[1]), note)
