"""The walk over a page: its content streams, and those of the annotations that print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pikepdf

from preflight.intake.pdf import forms, graphics, paths, texts, values
from preflight.intake.pdf.annotations import appearances
from preflight.intake.pdf.boxes import PageBox
from preflight.intake.pdf.budget import Budget
from preflight.intake.pdf.content import Contents
from preflight.intake.pdf.found import Found, Ground
from preflight.intake.pdf.frame import Frame, Page
from preflight.intake.pdf.graphics import Handler
from preflight.intake.pdf.layers import Layers
from preflight.intake.pdf.library import ODD_VALUES
from preflight.intake.pdf.matrix import Rect
from preflight.intake.pdf.state import State
from preflight.intake.pdf.values import Value
from preflight.intake.pdf.work import Work
from preflight.records import dataclass

_HANDLERS: Mapping[str, Handler] = {
    **graphics.HANDLERS,
    **paths.HANDLERS,
    **texts.HANDLERS,
    "Do": forms.do,
    "sh": forms.shading,
    "INLINE IMAGE": forms.inline,
}


@dataclass(frozen=True, slots=True)
class Walked:
    """A page after the walk."""

    found: Found
    slips: int  #: instructions that made no sense and were passed over
    work: Work


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


def _walk(pdf: pikepdf.Pdf, page: Value, box: PageBox, layers: Layers, ground: Ground | None) -> tuple[Walked, bool]:
    budget = Budget()
    around = (0.0, 0.0, *box.size_mm)
    resources = values.inherited(page, "/Resources")
    shared = Page(Found(around), Contents(pdf, budget), budget, layers, resources, run=_run, ground=ground)
    frame = _first_frame(shared, box, around)
    budget.stream(0)
    _play(frame, shared.contents.of_page(page))
    for appearance, matrix in appearances(page, layers, shared.found.hidden):
        forms.follow_form(_first_frame(shared, box, around), appearance, matrix)
    shared.found.end_text()
    return Walked(shared.found, shared.found.slips + shared.contents.slips, shared.work), shared.overprints


def _first_frame(shared: Page, box: PageBox, around: Rect) -> Frame:
    return Frame(shared, State(box.to_mm, around), shared.resources, box.to_mm)


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
