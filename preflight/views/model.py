"""What a report wants to show of an artwork, and the pictures that were drawn of it: plain data.

Places and rulers are in print millimetres from the artwork's top left, as those of a finding are.
"""

from __future__ import annotations

from typing import TypeAlias

from preflight.model import Box, Place
from preflight.records import dataclass

RGB: TypeAlias = tuple[int, int, int]
#: The kinds of picture that a report may hold; a child may send no other.
PNG, JPEG = "image/png", "image/jpeg"
KINDS = (PNG, JPEG)


@dataclass(frozen=True, slots=True)
class Cloth:
    """A garment that was ordered: its name as the person wrote it, and its colour in sRGB."""

    name: str
    rgb: RGB


@dataclass(frozen=True, slots=True)
class Look:
    """A place to look at closely.

    ``what``: how the measured width is drawn in: "line" and "gap" (across the art, across the clear), "fade" (from
    solid to clear), "" for none. "whole": none, and all of the place is shown. "faint": leftovers that no eye sees are
    made visible. "busiest": no place is known, and the part with the most detail is shown. ``width_mm``: the measured
    width; it tells where in the place to look.
    """

    finding: int  #: number in the report, from 1
    place: Place | None
    what: str = ""
    width_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What to draw of one artwork.

    ``canvas``, ``box`` and ``mm_per_px`` are those of the print size: size of the file, the visible artwork in it, px,
    and the print scale; None while the size of the print is not known. ``cloths``: never empty. ``keyed``: colour of
    a background that was measured as if it were removed.
    """

    canvas: tuple[int, int]
    box: Box
    mm_per_px: float | None
    cloths: tuple[Cloth, ...]
    looks: tuple[Look, ...] = ()
    choke_mm: float | None = None  #: draw the white layer
    ink_limit: float | None = None  #: %, draw where the total is over it
    aperture_mm: float = 0.5
    shift_limit: float | None = None  #: ΔE00, show colours that move by more
    keyed: RGB | None = None


@dataclass(frozen=True, slots=True)
class Picture:
    """A small picture as bytes. ``x_mm``, ``y_mm``: its top left from the artwork's; 0 while no size is known."""

    kind: str  #: one of KINDS
    data: bytes
    width: int  #: px
    height: int
    x_mm: float = 0.0
    y_mm: float = 0.0
    mm_per_px: float | None = None  #: print millimetres that one of its pixels takes

    @property
    def width_mm(self) -> float:
        """Print millimetres across; 0 while no size is known."""
        return self.width * (self.mm_per_px or 0.0)

    @property
    def height_mm(self) -> float:
        """Print millimetres down."""
        return self.height * (self.mm_per_px or 0.0)


@dataclass(frozen=True, slots=True)
class Ruler:
    """A measured width: its two ends."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float

    @property
    def length_mm(self) -> float:
        """Distance of the ends."""
        return float(((self.x2_mm - self.x1_mm) ** 2 + (self.y2_mm - self.y1_mm) ** 2) ** 0.5)


@dataclass(frozen=True, slots=True)
class CloseUp:
    """A place seen closely, on the first garment; every pixel of the picture is one of the file's."""

    finding: int
    picture: Picture
    ruler: Ruler | None = None


@dataclass(frozen=True, slots=True)
class OnCloth:
    """The whole artwork on a garment."""

    cloth: Cloth
    picture: Picture


@dataclass(frozen=True, slots=True)
class AreaMap:
    """A picture of the whole artwork with an area hatched, and how large that area is in print."""

    picture: Picture
    area_mm2: float


@dataclass(frozen=True, slots=True)
class Swatch:
    """A colour of the artwork and what print makes of it."""

    before: RGB
    after: RGB
    share: float  #: of the art, 0…1
    shift: float  #: ΔE00


@dataclass(frozen=True, slots=True)
class Views:
    """The pictures of one artwork, its visible part alone."""

    on_cloth: tuple[OnCloth, ...]
    thumb: Picture
    close_ups: tuple[CloseUp, ...] = ()
    white: AreaMap | None = None  #: what gets no white is hatched
    heavy: AreaMap | None = None  #: what has too much ink is hatched
    swatches: tuple[Swatch, ...] = ()
