"""Content streams that others call: forms, patterns, soft masks. ISO 32000-1, 8.10, 8.7 and 11.6.5 (from memory)."""

from __future__ import annotations

from typing import Any

from preflight.intake.pdf import values
from preflight.intake.pdf.budget import MOST_CELLS, too_complex
from preflight.intake.pdf.frame import Frame
from preflight.intake.pdf.inks import Paint, whole_space
from preflight.intake.pdf.matrix import EVERYWHERE, IDENTITY, Matrix, Rect, after, box_after, meet
from preflight.intake.pdf.pictures import file_name, place
from preflight.intake.pdf.state import State
from preflight.intake.pdf.values import Value

_TILING, _SHADING = 1, 2
_UNCOLOURED = 2


def do(frame: Frame, operands: Any) -> None:
    """``Do``: a picture or a form, by its name."""
    thing = frame.resource("/XObject", operands[0])
    if not values.is_stream(thing):
        return
    layer = frame.page.hiding(values.get(thing, "/OC"))
    if layer is not None:
        frame.page.found.hidden.setdefault(layer)
        return
    kind = values.name(values.get(thing, "/Subtype"))
    if kind == "Image":
        place(frame, thing)
    elif kind == "Form":
        follow_form(frame, thing)


def inline(frame: Frame, operands: Any) -> None:
    """A picture that stands in the content stream itself."""
    place(frame, operands[0].obj)


def shading(frame: Frame, operands: Any) -> None:
    """``sh``: a blend over all that the clip leaves."""
    blend = frame.resource("/Shading", operands[0])
    clip = frame.state.clip
    seen = frame.mark(clip if clip != EVERYWHERE else frame.page.found.page, paint=_blend(frame, blend))
    if seen is not None:
        _weigh_blend(frame, blend, seen)


def follow_form(frame: Frame, form: Value, matrix: Matrix = IDENTITY) -> None:
    """A form on the current matrix, after one more where its place asks for that (annotations)."""
    state = frame.state.copy()
    state.ctm = after(values.matrix(values.get(form, "/Matrix"), IDENTITY), after(matrix, state.ctm))
    clip = _clipped(form, state)
    if clip is None:
        return
    state.clip = clip
    reference = values.get(form, "/Ref")
    if reference is not None and frame.visible(clip) is not None:
        frame.page.found.linked.setdefault(file_name(values.get(reference, "/F")))
    group = values.get(form, "/Group")
    if values.name(values.get(group, "/S")) == "Transparency":
        if state.fill_alpha <= 0.0:
            return
        _note_group(frame, group, state)
        state.fill_alpha = state.stroke_alpha = 1.0
        state.blended = state.masked = False
    _follow(frame, form, state)


def follow_mask(frame: Frame, form: Value) -> None:
    """A soft mask: what it shows shapes the print, but no ink of it is printed."""
    once = ("mask", values.key_of(form), _rounded(frame.state.ctm))
    if not values.is_stream(form) or once in frame.page.done:
        return
    frame.page.done.add(once)
    state = State(after(values.matrix(values.get(form, "/Matrix"), IDENTITY), frame.state.ctm), frame.state.clip)
    _follow(frame, form, state, in_mask=True)


def fill_pattern(frame: Frame, paint: Paint, seen: Rect) -> None:
    """An area is filled with a pattern: its cell is followed once, with the area in the place of what it holds."""
    pattern, under = paint.pattern
    matrix = after(values.matrix(values.get(pattern, "/Matrix"), IDENTITY), frame.base)
    if values.whole(values.get(pattern, "/PatternType")) == _SHADING:
        blend = values.get(pattern, "/Shading")
        frame.page.found.paint(_blend(frame, blend))
        _weigh_blend(frame, blend, seen)
        return
    if values.is_stream(pattern):
        _check_cells(frame, pattern, matrix, seen)
    once = ("pattern", values.key_of(pattern), _rounded(matrix), under.inks, frame.in_mask)
    if not values.is_stream(pattern) or once in frame.page.done:
        return
    frame.page.done.add(once)
    tint = under if values.whole(values.get(pattern, "/PaintType")) == _UNCOLOURED else None
    _follow(frame, pattern, State(matrix, EVERYWHERE), instead=seen, tint=tint)


def _check_cells(frame: Frame, pattern: Value, matrix: Matrix, seen: Rect) -> None:
    """Refuse a pattern that would keep the drawing library busy for ever."""
    if values.key_of(pattern) in frame.inside and values.key_of(pattern) != (0, 0):
        raise too_complex("a pattern on it is filled with itself")
    across, down = (abs(values.number(values.get(pattern, key))) for key in ("/XStep", "/YStep"))
    cell = across * down * abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])
    area = (seen[2] - seen[0]) * (seen[3] - seen[1])
    if area > MOST_CELLS * cell > 0.0:
        raise too_complex(f"a pattern on it is repeated more than {MOST_CELLS:,} times")


def _follow(frame: Frame, stream: Value, state: State, **changes: Any) -> None:
    """Follow a stream; one that is already being followed is left alone, as viewers do."""
    if values.key_of(stream) in frame.inside:
        frame.page.found.slips += 1
        return
    frame.page.run(frame.within(stream, state, **changes), stream)


def _clipped(form: Value, state: State) -> Rect | None:
    box = values.rectangle(values.get(form, "/BBox"))
    return state.clip if box is None else meet(box_after(box, state.ctm), state.clip)


def _note_group(frame: Frame, group: Value, state: State) -> None:
    found = frame.page.found
    if frame.in_mask:
        return
    found.transparency |= state.fill_alpha < 1.0 or state.translucent
    space = values.get(group, "/CS")
    if space is not None:
        found.group_families.add(frame.space(space).family)


def _blend(frame: Frame, blend: Value) -> Paint:
    return whole_space(frame.space(values.get(blend, "/ColorSpace")))


def _weigh_blend(frame: Frame, blend: Value, seen: Rect) -> None:
    kind = values.whole(values.get(blend, "/ShadingType"))
    space = frame.space(values.get(blend, "/ColorSpace"))
    program = frame.instructions(values.get(blend, "/Function")) + space.program
    frame.page.work.blend(seen, kind, program)


def _rounded(matrix: Matrix) -> tuple[float, ...]:
    return tuple(round(one, 4) for one in matrix)
