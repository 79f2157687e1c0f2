"""What only a document's own objects can tell: text, strokes, placed pictures, inks, and what does not belong in print.

Sizes are those of the print: the page is enlarged or reduced to the ordered size, and its objects with it. A picture
file has no objects, and the questions do not arise.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from preflight.measure import detail
from preflight.measure.catalogue import BETWEEN_THINGS, MEASURES
from preflight.measure.sheet import CELL, Sheet
from preflight.model import (
    MOST_PLACES,
    Area,
    DocumentFacts,
    InkFact,
    Measurement,
    PlacedPicture,
    PrintSize,
    Spot,
)
from preflight.units import MM_PER_INCH

#: A picture of so few pixels across is a fill or a blend, whose pixels nobody sees.
_LEAST_PIXELS = 8
#: mm in print: a smaller picture is a dot.
_LEAST_SIDE_MM = 3.0
#: Detail within this share of what the placed picture's own pixels promise is all that it can hold.
_AS_PROMISED = 0.75
_MOST_NAMED = 5
_NO_SIZE = "the print size is not known"
_NO_DOCUMENT = "the file is a picture and has no objects"
#: Measures of this module that are in millimetres or points of the print, and so need its size.
_IN_PRINT = ("smallest-text", "thinnest-stroke")
#: The others, which need nothing but the file.
_OF_FILE = (
    *("missing-fonts", "spot-inks", "white-plate", "overprinted-objects"),
    *("linked-pictures", "active-content", "file-lock"),
)


class Page(NamedTuple):
    """A document's page and how it comes to print.

    Parameters
    ----------
    document
        What its objects say.
    px_per_mm
        Pixels of the drawing for each mm of the page's own size.
    enlarged
        How many times larger than its own size it prints; None when the print size is not known.
    """

    document: DocumentFacts
    px_per_mm: float
    enlarged: float | None

    def spot(self, area: Area, value: float | None = None) -> Spot:
        """An area of the page in pixels of the drawing."""
        scale = self.px_per_mm
        return Spot(area.x_mm * scale, area.y_mm * scale, area.width_mm * scale, area.height_mm * scale, value)


def page_of(document: DocumentFacts, size: PrintSize) -> Page:
    """How a document's page comes to print at this size."""
    px_per_mm = size.canvas[0] / document.width_mm
    return Page(document, px_per_mm, None if size.ppi is None else px_per_mm * MM_PER_INCH / size.ppi)


def none_of_a_document() -> list[Measurement]:
    """The measurements of this module for a file that is no document."""
    return [
        Measurement(name, None, MEASURES[name].unit, why_not=_NO_DOCUMENT, applies=False)
        for name in (*_IN_PRINT, *_OF_FILE)
    ]


def measure(page: Page, inks: Sequence[InkFact]) -> list[Measurement]:
    """All measurements of this module but those of pictures and the white plate.

    Parameters
    ----------
    inks
        The file's inks, with their shares where those are known.
    """
    document = page.document
    return [
        _smallest_text(page),
        _thinnest_stroke(page),
        _missing_fonts(page),
        _spot_inks(inks),
        _overprinted(page),
        _named("linked-pictures", document.linked),
        _named("active-content", document.active, BETWEEN_THINGS),
        Measurement("file-lock", float(document.encrypted), "count", details=_OPEN_LOCK),
    ]


_OPEN_LOCK = {
    "reason": "it opens without a password, but carries a lock that forbids some uses",
    "next_step": "Save it without any lock and send it again, or tell us that we may print it.",
}


def _smallest_text(page: Page) -> Measurement:
    """``smallest-text``: the lowest height of the font of live text in print, pt; None without live text."""
    runs = sorted(page.document.texts, key=lambda run: run.size_pt)
    details = {"text": runs[0].sample.strip() or "(letters that cannot be read)", "font": runs[0].font} if runs else {}
    return _least("smallest-text", page, [(run.area, run.size_pt) for run in runs], details)


def _thinnest_stroke(page: Page) -> Measurement:
    """``thinnest-stroke``: the narrowest stroked line in print, mm; 0 = as thin as the device can draw."""
    lines = sorted(page.document.strokes, key=lambda line: line.width_mm)
    return _least("thinnest-stroke", page, [(line.area, line.width_mm) for line in lines], {})


def _least(name: str, page: Page, sized: Sequence[tuple[Area, float]], details: dict[str, str]) -> Measurement:
    """The first of things with their sizes on the page, smallest first, as it comes to print; None without any."""
    if page.enlarged is None:
        return Measurement(name, None, MEASURES[name].unit, why_not=_NO_SIZE)
    spots = tuple(page.spot(area, size * page.enlarged) for area, size in sized)
    if not spots:
        return Measurement(name, None, MEASURES[name].unit)
    return _placed(name, sized[0][1] * page.enlarged, spots, details)


def _missing_fonts(page: Page) -> Measurement:
    """``missing-fonts``: how many fonts of live text are not in the file."""
    runs = [run for run in page.document.texts if not run.embedded]
    fonts = list(dict.fromkeys(run.font for run in runs))
    spots = tuple(page.spot(run.area) for run in runs)
    return _placed("missing-fonts", float(len(fonts)), spots, {"fonts": listed(fonts)})


def _spot_inks(inks: Sequence[InkFact]) -> Measurement:
    """``spot-inks``: how many spot colours mark the page, white plates apart."""
    names = [ink.name for ink in inks if ink.kind == "spot" and ink.share != 0.0]
    return Measurement("spot-inks", float(len(names)), "count", details={"names": listed(names)})


def _overprinted(page: Page) -> Measurement:
    """``overprinted-objects``: how many objects are set to print over what lies below them."""
    spots = tuple(page.spot(area) for area in page.document.overprint)
    return _placed("overprinted-objects", float(len(spots)), spots, {})


def _named(name: str, things: Sequence[str], between: str = ", ") -> Measurement:
    return Measurement(name, float(len(things)), "count", details={"names": listed(things, between)})


def _placed(name: str, value: float, spots: tuple[Spot, ...], details: dict[str, str]) -> Measurement:
    return Measurement(
        name, value, MEASURES[name].unit, spots=spots[:MOST_PLACES], spots_total=len(spots), details=details
    )


def listed(names: Iterable[str], between: str = ", ") -> str:
    """Names as one reads them: the first few, and how many more."""
    every = [name or "(without a name)" for name in names]
    more = f" and {len(every) - _MOST_NAMED} more" if len(every) > _MOST_NAMED else ""
    return between.join(every[:_MOST_NAMED]) + more


def of_placed_pictures(page: Page, sheet: Sheet, ppi: Measurement, detail_ppi: Measurement) -> list[Measurement]:
    """``effective-ppi`` and ``detail-ppi`` of a drawn page: those of the pictures placed on it.

    A drawing has as many pixels as were asked for; only the placed pictures can have too few. Where there are none
    the value of both is None: nothing there is made of pixels.

    Parameters
    ----------
    ppi, detail_ppi
        What was measured on the drawing.
    """
    if page.enlarged is None:
        return [ppi, detail_ppi]
    pictures = sorted(_seen(page), key=lambda picture: picture.ppi)
    if not pictures:
        return [Measurement("effective-ppi", None, "ppi"), Measurement("detail-ppi", None, "ppi")]
    at_print = [picture.ppi / page.enlarged for picture in pictures]
    spots = tuple(page.spot(picture.area, value) for picture, value in zip(pictures, at_print, strict=True))
    effective = Measurement(
        "effective-ppi",
        at_print[0],
        "ppi",
        kind=_tone(sheet, spots[0]),
        spots=spots[:MOST_PLACES],
        spots_total=len(spots),
    )
    return [effective, _detail(detail_ppi, at_print[0])]


def _seen(page: Page) -> list[PlacedPicture]:
    """The pictures whose pixels somebody could see."""
    enlarged = page.enlarged or 1.0
    return [
        picture
        for picture in page.document.pictures
        if min(picture.pixels) >= _LEAST_PIXELS
        and min(picture.area.width_mm, picture.area.height_mm) * enlarged >= _LEAST_SIDE_MM
    ]


def _tone(sheet: Sheet, spot: Spot) -> str:
    """What kind the picture in one place of the drawing is."""
    rows = slice(int(spot.y // CELL), max(int(spot.y // CELL) + 2, int((spot.y + spot.height) // CELL)))
    columns = slice(int(spot.x // CELL), max(int(spot.x // CELL) + 2, int((spot.x + spot.width) // CELL)))
    part = replace(sheet, alpha4=sheet.alpha4[rows, columns], sample4=sheet.sample4[rows, columns])
    return detail.tone(part)


def _detail(measured: Measurement, lowest_ppi: float) -> Measurement:
    """The detail found, unless it is as much as the placed pictures' own pixels promise."""
    if measured.value is None or measured.value >= _AS_PROMISED * lowest_ppi:
        return replace(measured, value=None, spots=(), spots_total=0)
    return replace(measured, details={**measured.details, "pixels_ppi": f"{lowest_ppi:.0f} ppi"})
