"""Facts of a page: what its own objects say, and what the drawing has to know of it. Nothing is drawn."""

from __future__ import annotations

import pikepdf

from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.pdf.boxes import PageBox, page_box
from preflight.intake.pdf.document import Document, active_on_page
from preflight.intake.pdf.found import Found
from preflight.intake.pdf.library import ODD_VALUES
from preflight.intake.pdf.matrix import Rect
from preflight.intake.pdf.values import Key
from preflight.intake.pdf.walk import Walked, walk_page
from preflight.intake.pdf.work import Work
from preflight.model import DocumentFacts
from preflight.records import dataclass

#: What the drawing program that makes such files puts on a page in place of the artwork.
_MOST_SAID = 10
_EMPTY_SHELL = "without pdf content"


@dataclass(frozen=True, slots=True)
class PageFacts:
    """A page as its objects describe it."""

    document: DocumentFacts
    box: PageBox
    inked: bool  #: every colour on it is cyan, magenta, yellow, black, grey or a spot colour; at least one is an ink
    spots: tuple[str, ...]  #: spot colours as the file spells them, white plates apart
    whites: tuple[str, ...]  #: the customer's own white plates
    picture_keys: tuple[Key, ...]  #: pictures that are shown, and their masks
    white_pictures: frozenset[Key]
    odd_blends: bool
    work: Work
    notes: tuple[str, ...]


def read_page(pdf: pikepdf.Pdf, index: int, document: Document, window: Rect | None = None) -> PageFacts:
    """Look through one page, counted from 0, or through the part of it in a window (see ``PageBox.cut``).

    Raises
    ------
    IntakeError
        When it has no area, is damaged in part, is too complex to read safely, or holds no artwork at all.
    """
    try:
        page = pdf.pages[index].obj
        whole = page_box(page)
        box = whole if window is None else whole.cut(window)
        walked = walk_page(pdf, page, box, document.layers)
        active = (*document.active, *active_on_page(page))
    except ODD_VALUES as error:
        raise unreadable("part of what the page shows is damaged", SAVE_AGAIN) from error
    facts = _facts(document, box, walked.found, tuple(dict.fromkeys(active)))
    _check_shell(facts)
    return PageFacts(
        document=facts,
        box=box,
        inked=_is_inked(walked.found),
        spots=_named(walked.found, "spot"),
        whites=_named(walked.found, "white"),
        picture_keys=tuple(walked.found.picture_keys),
        white_pictures=frozenset(walked.found.white_pictures),
        odd_blends=walked.found.odd_blends,
        work=walked.work,
        notes=tuple(_notes(document, whole, walked)),
    )


def _facts(document: Document, box: PageBox, found: Found, active: tuple[str, ...]) -> DocumentFacts:
    width, height = box.size_mm
    return DocumentFacts(
        pages=document.pages,
        width_mm=width,
        height_mm=height,
        size_certain=not document.size_guessed,
        pictures=found.pictures.items(),
        alone=found.marks == 1 and found.pictures.total == 1,
        texts=found.texts.items(),
        strokes=found.strokes.items(),
        inks=found.ink_facts(),
        overprint=found.overprint.items(),
        hidden_layers=tuple(found.hidden),
        layers=len(document.layers.names),
        linked=tuple(found.linked),
        active=active,
        encrypted=document.encrypted,
        output_intent=document.output_intent,
        transparency=found.transparency,
    )


def _is_inked(found: Found) -> bool:
    inks = found.families <= {"cmyk", "grey", "spot"} and "cmyk" in found.families
    return inks and found.group_families <= {"cmyk", "grey"}


def _named(found: Found, kind: str) -> tuple[str, ...]:
    return tuple(name for name, one in found.inks.items() if one == kind)


def _notes(document: Document, box: PageBox, walked: Walked) -> list[str]:
    notes = []
    if document.repaired:
        notes.append("The file is damaged; it was repaired on opening, and what was lost cannot be seen.")
    if document.size_guessed:
        notes.append("The page states no size; letter size is assumed.")
    if box.note:
        notes.append(box.note)
    if walked.slips:
        count = f"{walked.slips} instruction" + ("s" if walked.slips > 1 else "")
        notes.append(f"{count} on the page made no sense and had no effect, as in other programs.")
    if walked.found.hidden:
        names = [*walked.found.hidden]
        more = f" and {len(names) - _MOST_SAID} more" if len(names) > _MOST_SAID else ""
        notes.append(f"Hidden layers do not print: {', '.join(names[:_MOST_SAID])}{more}.")
    return notes


def _check_shell(facts: DocumentFacts) -> None:
    """A drawing saved without its PDF part shows a sentence that says so, and nothing of the artwork."""
    if facts.pictures or facts.strokes or len(facts.texts) > 40:
        return
    if _EMPTY_SHELL in " ".join(run.sample for run in facts.texts).lower():
        raise unreadable(
            "the drawing was saved without its PDF part: there is a sentence on the page, and no artwork",
            "Save it again with the option to make a PDF-compatible file turned on, and send the new file.",
        )
