"""What was found in a drawing, as facts in millimetres."""

from __future__ import annotations

import heapq

from preflight.intake.pdf.matrix import Rect
from preflight.intake.svg import css, outside
from preflight.intake.svg.cost import Cost
from preflight.intake.svg.found import Found, Picture, Stroke, Text
from preflight.intake.svg.lengths import MM_PER_PX, PT_PER_PX, PX_PER_INCH
from preflight.intake.svg.limits import MOST_KEPT, MOST_NAMED, too_complex
from preflight.intake.svg.size import Page, page_size
from preflight.intake.svg.tree import Document
from preflight.intake.svg.walk import Walk
from preflight.model import Area, DocumentFacts, PlacedPicture, StrokeLine, TextRun
from preflight.records import dataclass

_GUESSED = (
    "The drawing states its size in pixels or not at all; one pixel is taken as 1/96 inch, which is often wrong: ask."
)
_FONTS = "The drawing brings fonts along that are not used here: its letters may look different."
_FOREIGN = "The drawing holds parts of a web page (foreignObject), often text; they are not drawn and not checked."
_PASSED = "Some style rules of the drawing are of a kind that is not understood; widths of lines may be others."
_STEADY = "Some lines of the drawing are told to keep their width at any size; they may be drawn thinner here."
_UNBOUNDED = "The drawing states neither a size nor an area; the box around what it draws is taken."


@dataclass(frozen=True, slots=True)
class Read:
    """A drawing that has been looked into."""

    page: Page
    cost: Cost
    document: DocumentFacts
    notes: tuple[str, ...]


def look_into(document: Document) -> Read | None:
    """Find everything out about a drawing without drawing it; None when it has no area and draws nothing.

    Raises
    ------
    IntakeError
        When it is beyond the limits, or a part of it cannot be drawn.
    """
    try:
        return _look(document)
    except RecursionError:
        raise too_complex("its parts lie too deep in one another") from None


def _look(document: Document) -> Read | None:
    sheet = css.read_sheets(document.style_sheets)
    root = document.root
    page = page_size(sheet.declarations(root), root.attributes)
    walk = Walk(document, sheet)
    if page is not None:
        viewport = (page.box[2], page.box[3]) if page.box is not None else (page.width, page.height)
        found = walk.go(page.to_px, viewport, (0.0, 0.0, page.width, page.height))
    else:
        found = walk.go((1.0, 0.0, 0.0, 1.0, 0.0, 0.0), (100.0, 100.0), None)
        page = _around(found)
        if page is None:
            return None
    linked = dict.fromkeys((*document.linked, *sheet.linked, *found.linked, *outside.linked_elsewhere(document)))
    active = outside.active(document)
    facts = DocumentFacts(
        pages=1,
        width_mm=page.size_mm[0],
        height_mm=page.size_mm[1],
        size_certain=page.certain,
        pictures=_pictures(found.pictures, page),
        alone=found.marks == 1 and len(found.pictures) == 1,
        texts=_texts(found.texts, page),
        strokes=_strokes(found.strokes, page),
        hidden_layers=tuple(found.hidden),
        layers=found.layers,
        linked=tuple(linked)[:MOST_NAMED],
        active=active,
        transparency=found.transparency,
    )
    return Read(page, found.cost, facts, tuple(_notes(page, sheet, found, active)))


def _around(found: Found) -> Page | None:
    """The area of a drawing that states none: what it paints."""
    box = found.painted
    if box is None or box[2] <= box[0] or box[3] <= box[1]:
        return None
    left, top, right, bottom = box
    return Page(
        right - left,
        bottom - top,
        False,
        (left, top, right - left, bottom - top),
        (1.0, 0.0, 0.0, 1.0, -left, -top),
        stated=False,
    )


def _notes(page: Page, sheet: css.Sheet, found: Found, active: tuple[str, ...]) -> list[str]:
    return [
        note
        for note, holds in (
            (_UNBOUNDED, not page.stated),
            (_GUESSED, not page.certain),
            (_FONTS, sheet.fonts),
            (_FOREIGN, any("foreignObject" in what for what in active)),
            (_PASSED, sheet.passed_over),
            (_STEADY, found.keeps_width),
        )
        if holds
    ]


def _area(box: Rect, page: Page) -> Area:
    """A box in px as one in mm from the page's top left."""
    left, top = (page.box[0], page.box[1]) if page.box is not None and not page.stated else (0.0, 0.0)
    x0, y0, x1, y1 = box
    return Area((x0 - left) * MM_PER_PX, (y0 - top) * MM_PER_PX, (x1 - x0) * MM_PER_PX, (y1 - y0) * MM_PER_PX)


def _strokes(strokes: list[Stroke], page: Page) -> tuple[StrokeLine, ...]:
    kept = heapq.nsmallest(MOST_KEPT, strokes, key=lambda stroke: stroke.width)
    return tuple(StrokeLine(_area(stroke.box, page), stroke.width * MM_PER_PX) for stroke in kept)


def _texts(texts: list[Text], page: Page) -> tuple[TextRun, ...]:
    kept = heapq.nsmallest(MOST_KEPT, texts, key=lambda text: text.size)
    return tuple(
        TextRun(_area(text.box, page), text.family, text.size * PT_PER_PX, embedded=False, sample=text.sample)
        for text in kept
    )


def _pictures(pictures: list[Picture], page: Page) -> tuple[PlacedPicture, ...]:
    kept = heapq.nlargest(MOST_KEPT, pictures, key=lambda picture: picture.scale)
    return tuple(
        PlacedPicture(_area(picture.box, page), picture.pixels, PX_PER_INCH / picture.scale) for picture in kept
    )
