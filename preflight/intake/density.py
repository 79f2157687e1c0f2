"""The density that a file states, and when it counts as unknown.

Never a ground for a verdict (pixels ÷ ordered size is); it serves to ask "did you mean this size?".
"""

from __future__ import annotations

import math

from preflight.records import dataclass
from preflight.units import MM_PER_INCH, show_number

#: What no print has; such a tag was never meant. Judgement, no source.
LEAST_PPI = 1.0
MOST_PPI = 10_000.0
#: What EXIF 2.32 (4.6.5) has writers put where they do not know it.
EXIF_UNKNOWN = (72.0, 72.0)
#: ResolutionUnit: 1 no unit, 2 inch, 3 centimetre (TIFF 6.0, p. 38; EXIF 2.32).
UNIT_INCH = 2
UNIT_CENTIMETRE = 3


@dataclass(frozen=True, slots=True)
class Stated:
    """A density as one tag states it: pixels per inch, and the tag's name."""

    x: float
    y: float
    source: str

    @property
    def sound(self) -> bool:
        """Whether a print could have it."""
        return all(math.isfinite(v) and LEAST_PPI <= v <= MOST_PPI for v in (self.x, self.y))


def per_metre(x: int, y: int, source: str) -> Stated | None:
    """Pixels per metre: PNG pHYs with unit 1 (ISO/IEC 15948), BMP pels per metre. 0 means unknown."""
    if x <= 0 or y <= 0:
        return None
    factor = MM_PER_INCH / 1000.0
    return Stated(x * factor, y * factor, source)


def from_jfif(unit: int, x: int, y: int) -> Stated | None:
    """The APP0 segment of JFIF 1.02: unit 0 a mere ratio, 1 per inch, 2 per centimetre."""
    factor = {1: 1.0, 2: MM_PER_INCH / 10.0}.get(unit)
    if factor is None or x <= 0 or y <= 0:
        return None
    return Stated(x * factor, y * factor, "JFIF")


def from_resolution(x: float | None, y: float | None, unit: int, source: str) -> Stated | None:
    """XResolution, YResolution and ResolutionUnit of TIFF 6.0 and EXIF 2.32.

    Both resolutions have to be there; EXIF's 72 by 72 counts as unknown.
    """
    factor = {UNIT_INCH: 1.0, UNIT_CENTIMETRE: MM_PER_INCH / 10.0}.get(unit)
    if factor is None or not x or not y or not (math.isfinite(x) and math.isfinite(y)):
        return None
    if source == "EXIF" and unit == UNIT_INCH and (x, y) == EXIF_UNKNOWN:
        return None
    return Stated(x * factor, y * factor, source)


def choose(stated: tuple[Stated, ...], *, turned: bool) -> tuple[tuple[float, float] | None, str | None, str | None]:
    """The first sound density, the tag it stood in, and a note where one was set aside.

    Parameters
    ----------
    stated
        The most trusted first.
    turned
        Whether the picture is laid on its side: x and y change places.
    """
    for one in stated:
        if one.sound:
            return ((one.y, one.x) if turned else (one.x, one.y)), one.source, None
    if not stated:
        return None, None, None
    odd = stated[0]
    shown = " × ".join(show_number(v) for v in (odd.x, odd.y))
    return None, None, f"The file states {shown} ppi, which no print has; its density is taken as unknown."
