"""How the copies of an artwork lie on the film."""

from __future__ import annotations

import math

from preflight.records import dataclass
from preflight.shop import Film

#: Copies that fit by less than this do fit: half a thousandth of a millimetre is arithmetic, not film.
_SLACK_MM = 5e-4


@dataclass(frozen=True, slots=True)
class Layout:
    """Copies in rows across the film."""

    across: int  #: copies side by side in a full row
    rows: int
    film_mm: float  #: rows and the gaps between them
    turned: bool  #: each copy laid turned by 90°


def lay_out(width_mm: float, height_mm: float, copies: int, film: Film) -> Layout | None:
    """Lay copies in rows across the printable width, all the same way round; the shorter film of the two ways.

    Parameters
    ----------
    width_mm, height_mm
        Size of one copy, above zero.
    copies
        At least 1.
    film
        Printable width, and the gap left between two copies and between two rows.

    Returns
    -------
    Layout or None
        None when a copy is wider than the film prints, both ways round. At equal length the copies are not turned.
    """
    ways = [_rows(width_mm, height_mm, copies, film, False), _rows(height_mm, width_mm, copies, film, True)]
    fitting = [way for way in ways if way is not None]
    return min(fitting, key=lambda way: (round(way.film_mm, 6), way.turned)) if fitting else None


def _rows(across_mm: float, along_mm: float, copies: int, film: Film, turned: bool) -> Layout | None:
    fit = math.floor((film.printable_mm + film.gap_mm + _SLACK_MM) / (across_mm + film.gap_mm))
    if fit < 1:
        return None
    across = min(fit, copies)
    rows = math.ceil(copies / across)
    return Layout(across, rows, rows * along_mm + (rows - 1) * film.gap_mm, turned)
