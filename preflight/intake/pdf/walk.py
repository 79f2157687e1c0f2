"""The walk over a page: its content streams, and those of the annotations that print."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pikepdf

from preflight.intake.pdf import forms, graphics, paths, texts, values
from preflight.intake.pdf.boxes import PageBox
from preflight.intake.pdf.budget import Budget
from preflight.intake.pdf.content import Contents
from preflight.intake.pdf.found import Found, Ground
from preflight.intake.pdf.frame import Frame, Page
from preflight.intake.pdf.graphics import Handler
from preflight.intake.pdf.layers import Layers
from preflight.intake.pdf.library import ODD_VALUES
from preflight.intake.pdf.matrix import IDENTITY, Matrix, Rect, after, box_after
from preflight.intake.pdf.state import State
from preflight.intake.pdf.values import Value

_HANDLERS: Mapping[str, Handler] = {
    **graphics.HANDLERS,
    **paths.HANDLERS,
    **texts.HANDLERS,
    "Do": forms.do,
    "sh": forms.shading,
    "INLINE IMAGE": forms.inline,
}
#: Annotation flags; ISO 32000-1, Table 165 (from memory).
_HIDDEN, _PRINTS = 2, 4
_MOST_ANNOTATIONS = 5_000


@dataclass(frozen=True, slots=True)
class Walked:
    """A page after the walk."""

    found: Found
    slips: int  #: instructions that made no sense and were passed over


def walk_page(pdf: pikepdf.Pdf, page: Value, box: PageBox, layers: Layers) -> Walked:
    """Find everything that a page prints.

    Raises
    ------
    IntakeError
        When part of it is damaged, or it is too complex to read safely.
    """
    walked, overprints = _walk(pdf, page, box, layers, None)
    if overprints:
        width, height = box.size_mm
        walked, _ = _walk(pdf, page, box, layers, Ground((0.0, 0.0, width, height)))
    return walked


def _walk(
    pdf: pikepdf.Pdf, page: Value, box: PageBox, layers: Layers, ground: Ground | None
) -> tuple[Walked, bool]:
    budget = Budget()
    around = (0.0, 0.0, *box.size_mm)
    shared = Page(Found(around), Contents(pdf, budget), budget, layers, run=_run, ground=ground)
    frame = _first_frame(shared, page, box, around)
    budget.stream(0)
    _play(frame, shared.contents.of_page(page))
    for appearance, matrix in _appearances(page, layers, shared.found):
        forms.follow_form(_first_frame(shared, page, box, around), appearance, matrix)
    shared.found.end_text()
    return Walked(shared.found, shared.found.slips + shared.contents.slips), shared.overprints


def _first_frame(shared: Page, page: Value, box: PageBox, around: Rect) -> Frame:
    return Frame(shared, State(box.to_mm, around), values.inherited(page, "/Resources"), box.to_mm)


def _run(frame: Frame, stream: Value) -> None:
    """Follow a stream that another one calls."""
    frame.page.budget.stream(frame.depth)
    _play(frame, frame.page.contents.of_stream(stream))


def _play(frame: Frame, instructions: Sequence[Any]) -> None:
    """Follow instructions. One that makes no sense is passed over and counted, as viewers do."""
    frame.page.budget.play(len(instructions))
    build = frame.outline
    for instruction in instructions:
        operator = str(instruction.operator)
        if operator in paths.BUILDING:
            build.parts.append(instruction)
            continue
        handler = _HANDLERS.get(operator)
        if handler is None:
            continue
        try:
            handler(frame, instruction.operands)
        except ODD_VALUES:
            frame.page.found.slips += 1


def _appearances(page: Value, layers: Layers, found: Found) -> Iterator[tuple[Value, Matrix]]:
    """Appearances of the annotations that print, and the matrix that puts each into its place."""
    for annotation in values.items(values.get(page, "/Annots"), _MOST_ANNOTATIONS):
        flags = values.whole(values.get(annotation, "/F"))
        if not flags & _PRINTS or flags & _HIDDEN or values.name(values.get(annotation, "/Subtype")) == "Popup":
            continue
        appearance = values.get(values.get(annotation, "/AP"), "/N")
        if values.is_dictionary(appearance):
            state = values.get(annotation, "/AS")
            appearance = None if state is None else values.get(appearance, state)
        if not values.is_stream(appearance):
            continue
        layer = layers.hiding(values.get(annotation, "/OC"))
        if layer is not None:
            found.hidden.setdefault(layer)
            continue
        yield appearance, _into_place(annotation, appearance)


def _into_place(annotation: Value, appearance: Value) -> Matrix:
    """ISO 32000-1, 12.5.5, algorithm 8.1 (from memory): the appearance's box is fitted into the annotation's."""
    target = values.rectangle(values.get(annotation, "/Rect"))
    box = values.rectangle(values.get(appearance, "/BBox"))
    if target is None or box is None:
        return IDENTITY
    x0, y0, x1, y1 = box_after(box, values.matrix(values.get(appearance, "/Matrix"), IDENTITY))
    across = (target[2] - target[0]) / (x1 - x0) if x1 > x0 else 1.0
    down = (target[3] - target[1]) / (y1 - y0) if y1 > y0 else 1.0
    return after((1.0, 0.0, 0.0, 1.0, -x0, -y0), (across, 0.0, 0.0, down, target[0], target[1]))
