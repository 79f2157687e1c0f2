"""A page's print area, and the way from its own units to upright millimetres.

Page boxes: ISO 32000-1, 14.11.2; UserUnit and Rotate: Table 30 (from memory).
"""

from __future__ import annotations

from dataclasses import replace

from preflight.intake.head import unreadable
from preflight.intake.pdf import values
from preflight.intake.pdf.matrix import Matrix, Rect, after, box_after, inverse, meet
from preflight.intake.pdf.values import Value
from preflight.records import dataclass
from preflight.units import MM_PER_POINT, show_number

#: The first that is there and makes sense is the print area.
_AREAS = (("/TrimBox", "trim box"), ("/ArtBox", "art box"), ("/CropBox", "crop box"), ("/MediaBox", "media box"))
#: A side shorter than this many units holds no artwork; such boxes are left-overs of a program.
_LEAST = 1.0
_MOST_UNIT = 10_000.0
#: Letter size: what the library that reads the objects puts in for a page without one.
_FALLBACK: Rect = (0.0, 0.0, 612.0, 792.0)


@dataclass(frozen=True, slots=True)
class PageBox:
    """The part of a page that is the artwork, in the page's own units, and how it is shown."""

    box: Rect  #: left, bottom, right, top
    name: str  #: "trim box", "art box", "crop box" or "media box"
    unit: float  #: UserUnit: 1/72 in times this
    rotate: int  #: degrees clockwise: 0, 90, 180 or 270
    page: Rect  #: what a viewer shows of the page: crop box inside the media box

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height, upright."""
        width, height = self.box[2] - self.box[0], self.box[3] - self.box[1]
        if self.rotate % 180:
            width, height = height, width
        return width * self.unit * MM_PER_POINT, height * self.unit * MM_PER_POINT

    @property
    def to_mm(self) -> Matrix:
        """From the page's units to millimetres from the upright print area's top left."""
        left, bottom, right, top = self.box
        upright: Matrix = {
            0: (1.0, 0.0, 0.0, -1.0, -left, top),
            90: (0.0, 1.0, 1.0, 0.0, -bottom, -left),
            180: (-1.0, 0.0, 0.0, 1.0, right, -bottom),
            270: (0.0, -1.0, -1.0, 0.0, top, right),
        }[self.rotate]
        scale = self.unit * MM_PER_POINT
        return after(upright, (scale, 0.0, 0.0, scale, 0.0, 0.0))

    def cut(self, window: Rect) -> PageBox:
        """The same page, of which only a part is the artwork: left, top, right, bottom in upright millimetres."""
        return replace(self, box=box_after(window, inverse(self.to_mm)))

    @property
    def note(self) -> str | None:
        """A sentence where the print area is not the page that a viewer shows."""
        if all(abs(one - other) < 0.5 for one, other in zip(self.box, self.page, strict=True)):
            return None
        width, height = (show_number(side) for side in self.size_mm)
        return f"The {self.name} of the page, {width} × {height} mm, is taken as the artwork; what lies beyond is cut."


def page_box(page: Value) -> PageBox:
    """Find the print area of a page: TrimBox, else ArtBox, else CropBox, else MediaBox.

    Raises
    ------
    IntakeError
        When the page has no area.
    """
    media = values.rectangle(values.inherited(page, "/MediaBox")) or _FALLBACK
    crop = values.rectangle(values.inherited(page, "/CropBox"))
    shown = (meet(crop, media) if crop else None) or media
    if not _is_sound(shown):
        raise unreadable(
            "the page has no area to print on",
            "Set a page size in the program that the artwork was made in, save it again, and send the new file.",
        )
    box, name = _print_area(page, shown)
    unit = values.number(values.get(page, "/UserUnit"), 1.0)
    turn = values.number(values.inherited(page, "/Rotate"))
    return PageBox(
        box=box,
        name=name,
        unit=unit if 0.0 < unit <= _MOST_UNIT else 1.0,
        rotate=round(turn / 90.0) * 90 % 360,
        page=shown,
    )


def _print_area(page: Value, shown: Rect) -> tuple[Rect, str]:
    for key, name in _AREAS[:2]:
        box = values.rectangle(values.get(page, key))
        inside = meet(box, shown) if box else None
        if inside is not None and _is_sound(inside):
            return inside, name
    crop = values.inherited(page, "/CropBox") is not None
    return shown, "crop box" if crop else "media box"


def _is_sound(box: Rect) -> bool:
    return box[2] - box[0] >= _LEAST and box[3] - box[1] >= _LEAST
