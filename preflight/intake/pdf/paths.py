"""Paths: what is filled, what is stroked and how wide, what clips. ISO 32000-1, 8.5 (from memory)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Any

from preflight.intake.pdf.forms import fill_pattern
from preflight.intake.pdf.found import area
from preflight.intake.pdf.frame import Frame
from preflight.intake.pdf.graphics import Handler
from preflight.intake.pdf.inks import Paint
from preflight.intake.pdf.library import ODD_VALUES
from preflight.intake.pdf.matrix import Matrix, Rect, box_after, meet, stretches
from preflight.intake.pdf.work import paint_cost
from preflight.model import StrokeLine

#: Instructions that build a path; they are kept as they come.
BUILDING = frozenset(["m", "l", "c", "v", "y", "h", "re"])
#: Matrices that stretch both ways alike within so much give every direction the same line width.
_ALIKE = 1.01


def _coordinates(parts: Sequence[Any]) -> tuple[list[float], list[float]]:
    """All points of a path, control points too."""
    xs: list[float] = []
    ys: list[float] = []
    for part in parts:
        read = [float(one) for one in part.operands]
        if len(read) == 4 and str(part.operator) == "re":
            x, y, width, height = read
            xs += (x, x + width)
            ys += (y, y + height)
        else:
            xs += read[0::2]
            ys += read[1::2]
    return xs, ys


def _box(frame: Frame) -> Rect | None:
    """The box around the current path in millimetres; None when there is no path."""
    xs, ys = _coordinates(frame.outline.parts)
    if not xs or not ys:
        return None
    return box_after((min(xs), min(ys), max(xs), max(ys)), frame.state.ctm)


def _painting(fills: bool, strokes: bool) -> Handler:
    def handle(frame: Frame, _operands: Any) -> None:
        outline = frame.outline
        try:
            times = frame.page.work.stands_for(len(outline.parts)) if outline.parts else 0
            if times:
                _weigh(frame, fills, strokes, times)
            if outline.parts and (strokes or outline.clips or (fills and not _is_nothing_new(frame))):
                _paint(frame, fills, strokes)
            elif outline.parts and fills:
                frame.page.found.marks += 1
        finally:
            outline.parts = []
            outline.clips = False

    return handle


def _weigh(frame: Frame, fills: bool, strokes: bool, times: int) -> None:
    """Add what drawing the current path costs."""
    state = frame.state
    sheet = meet(state.clip, frame.page.found.page)
    if sheet is not None and (fills or strokes or frame.outline.clips):
        ns = paint_cost(state.fill_alpha, odd=state.translucent) if fills else 0.0
        with suppress(*ODD_VALUES):  # what makes no sense is for the handlers to say
            frame.page.work.outline(frame.outline.parts, state.ctm, sheet, ns, stroked=strokes, times=times)


def _paint(frame: Frame, fills: bool, strokes: bool) -> None:
    box = _box(frame)
    if box is None:
        return
    if fills:
        fill_area(frame, box)
    if strokes:
        stroke_line(frame, box, _line_width(frame))
    if frame.outline.clips:
        frame.state.clip = meet(box, frame.state.clip) or (math.inf, math.inf, -math.inf, -math.inf)


def fill_area(frame: Frame, box: Rect) -> Rect | None:
    """Something is filled with the current colour or pattern; the part that prints."""
    seen = frame.mark(box)
    paint = frame.tint or frame.state.fill
    if seen is not None and paint.pattern is not None:
        fill_pattern(frame, paint, seen)
    return seen


def stroke_line(frame: Frame, box: Rect, width: float) -> Rect | None:
    """Something is stroked, ``width`` millimetres wide; the part that prints."""
    margin = frame.state.line_width * stretches(frame.state.ctm)[1] / 2.0
    seen = frame.mark(box, stroke=True, margin=margin)
    paint = frame.tint or frame.state.stroke
    if seen is None:
        return None
    if paint.pattern is not None:
        fill_pattern(frame, paint, seen)
    frame.page.found.strokes.add(StrokeLine(area(seen), width))
    return seen


def even_width(frame: Frame) -> float:
    """The line width in millimetres where the direction is not known: the least that a direction can have."""
    return frame.state.line_width * stretches(frame.state.ctm)[0]


def _line_width(frame: Frame) -> float:
    """The thinnest that the current path's stroke gets, millimetres.

    A matrix that stretches one way more than the other turns the round pen into an ellipse. A straight piece is then
    as wide as that ellipse seen along it; a curve goes through many directions and counts with the least.
    """
    width, ctm = frame.state.line_width, frame.state.ctm
    least, most = stretches(ctm)
    if width == 0.0 or most <= _ALIKE * least:
        return width * math.sqrt(least * most)
    factors = [_across(ctm, *piece) for piece in _straight(frame.outline.parts)]
    return width * min((factor for factor in factors if factor is not None), default=least)


def _across(ctm: Matrix, dx: float, dy: float) -> float | None:
    """By how much a matrix stretches the width of a line of this direction; 0 for a curve's (nan) least."""
    if math.isnan(dx):
        return stretches(ctm)[0]
    a, b, c, d = ctm[:4]
    length = math.hypot(a * dx + c * dy, b * dx + d * dy)
    return None if length == 0.0 else abs(a * d - b * c) * math.hypot(dx, dy) / length


def _straight(parts: Sequence[Any]) -> Iterator[tuple[float, float]]:
    """Directions of a path's pieces; (nan, nan) for a curve."""
    start = here = (0.0, 0.0)
    for part in parts:
        read, operator = [float(one) for one in part.operands], str(part.operator)
        if operator == "m":
            start = here = (read[0], read[1])
        elif operator == "l":
            yield read[0] - here[0], read[1] - here[1]
            here = (read[0], read[1])
        elif operator == "h":
            yield start[0] - here[0], start[1] - here[1]
            here = start
        elif operator == "re":
            yield read[2], 0.0
            yield 0.0, read[3]
            start = here = (read[0], read[1])
        else:
            yield math.nan, math.nan
            here = (read[-2], read[-1])


def _is_nothing_new(frame: Frame) -> bool:
    """Whether filling the current path can tell nothing that is not known yet: spares the look at its points."""
    state, found, paint = frame.state, frame.page.found, frame.tint or frame.state.fill
    if frame.page.ground is not None or state.fill_over or paint.pattern is not None or frame.hidden_by is not None:
        return False
    plain = state.fill_alpha == 1.0 and not state.translucent
    return frame.in_mask or (_is_known(frame, paint) and (plain or found.transparency))


def _is_known(frame: Frame, paint: Paint) -> bool:
    found = frame.page.found
    return paint.family in found.families and all(ink in found.inks for ink in paint.inks)


def _clip(frame: Frame, _operands: Any) -> None:
    frame.outline.clips = True


HANDLERS: Mapping[str, Handler] = {
    "S": _painting(False, True),
    "s": _painting(False, True),
    "f": _painting(True, False),
    "F": _painting(True, False),
    "f*": _painting(True, False),
    "B": _painting(True, True),
    "B*": _painting(True, True),
    "b": _painting(True, True),
    "b*": _painting(True, True),
    "n": _painting(False, False),
    "W": _clip,
    "W*": _clip,
}
