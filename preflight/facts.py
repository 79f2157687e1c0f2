"""What a customer's file says of itself before anything is drawn: the head of a picture, the objects of a document.

Plain data, as in ``model``, which hands these classes along under its own name.
"""

from __future__ import annotations

from preflight.records import dataclass


@dataclass(frozen=True, slots=True)
class PixelFacts:
    """What the head of a picture file says, before a pixel is decoded."""

    format: str  #: "PNG", "JPEG", "TIFF", "WebP", "GIF", "BMP", …
    width: int  #: px, after the EXIF orientation
    height: int
    has_alpha: bool
    colour: str  #: "rgb", "grey" or "cmyk": what the file stores
    bits: int  #: per sample
    density_ppi: tuple[float, float] | None  #: stated by the file, x and y after the orientation; None = unknown
    density_from: str | None  #: the tag it stood in: "pHYs", "JFIF", "EXIF", "TIFF", …
    icc: bytes | None  #: the file's own profile
    icc_name: str | None
    frames: int = 1
    interlaced: bool = False
    notes: tuple[str, ...] = ()  #: assumptions made on opening, whole sentences for the report
    drawn: bool = False  #: the pixels are not the file's own: its objects were drawn, as finely as the print needs


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle on a document's page in mm at the page's own size, from its top left."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class PlacedPicture:
    """A picture placed on a page, at the page's own size."""

    area: Area
    pixels: tuple[int, int]
    ppi: float  #: the lower of the two directions


@dataclass(frozen=True, slots=True)
class TextRun:
    """Live text of one font and size, as placed on the page."""

    area: Area
    font: str
    size_pt: float  #: height of the font after all matrices
    embedded: bool
    sample: str  #: its first letters, where they can be told


@dataclass(frozen=True, slots=True)
class StrokeLine:
    """A stroked path. ``width_mm`` after all matrices; 0 = the thinnest line that the device can draw."""

    area: Area
    width_mm: float


@dataclass(frozen=True, slots=True)
class InkFact:
    """An ink that the file names: "process", "spot", or "white" for the customer's own white plate."""

    name: str
    kind: str
    share: float | None = None  #: of the page that it would cover at 100 %, 0…1; None where it was not measured


@dataclass(frozen=True, slots=True)
class DocumentFacts:
    """What a document's own objects say of one page; nothing of it is drawn."""

    pages: int
    width_mm: float
    height_mm: float
    size_certain: bool  #: False for a drawing whose unit is a guess
    pictures: tuple[PlacedPicture, ...] = ()
    alone: bool = False  #: one placed picture, and nothing else is painted on the page
    texts: tuple[TextRun, ...] = ()
    strokes: tuple[StrokeLine, ...] = ()
    inks: tuple[InkFact, ...] = ()
    overprint: tuple[Area, ...] = ()  #: objects set to overprint
    hidden_layers: tuple[str, ...] = ()
    layers: int = 0
    linked: tuple[str, ...] = ()  #: pictures that are not in the file
    active: tuple[str, ...] = ()  #: scripts, attachments, outside addresses: what each is, in words
    encrypted: bool = False
    output_intent: str | None = None
    transparency: bool = False
