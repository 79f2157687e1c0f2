"""Instructions that change the graphics state: matrix, line width, transparency, overprint, colours, layers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

from preflight.intake.pdf import values
from preflight.intake.pdf.budget import MOST_MARKS, too_complex
from preflight.intake.pdf.forms import follow_mask
from preflight.intake.pdf.frame import Frame
from preflight.intake.pdf.inks import CMYK, GREY, RGB, Paint, Space, initial, paint
from preflight.intake.pdf.matrix import after
from preflight.intake.pdf.values import Value, number

#: Frame and operands.
Handler: TypeAlias = Callable[[Frame, Any], None]

#: Over white these give what they give over empty film.
_PLAIN_BLENDS = {"Normal", "Compatible", "Multiply", "Darken"}
_NO_BLEND = {"Normal", "Compatible"}


def _save(frame: Frame, _operands: Any) -> None:
    frame.save()


def _restore(frame: Frame, _operands: Any) -> None:
    if frame.saved:
        frame.state = frame.saved.pop()


def _concat(frame: Frame, operands: Any) -> None:
    a, b, c, d, e, f = (number(one) for one in operands)
    frame.state.ctm = after((a, b, c, d, e, f), frame.state.ctm)


def _line_width(frame: Frame, operands: Any) -> None:
    frame.state.line_width = abs(number(operands[0]))


def _settings(frame: Frame, operands: Any) -> None:
    """``gs``: a dictionary of the resources; ISO 32000-1, Table 58 (from memory)."""
    settings = frame.resource("/ExtGState", operands[0])
    state = frame.state
    for key, value in values.entries(settings, 100):
        if key == "/LW":
            state.line_width = abs(number(value))
        elif key == "/Font":
            font, size = list(values.items(value, 2))
            state.font, state.font_size = frame.font(font, operands[0]), number(size)
        elif key == "/OPM":
            state.over_mode = values.whole(value)
    _set_overprint(frame, settings)
    _set_transparency(frame, settings)


def _set_overprint(frame: Frame, settings: Value) -> None:
    """OP alone is for both; with op beside it, for strokes."""
    stroke, fill = values.get(settings, "/OP"), values.get(settings, "/op")
    if isinstance(stroke, bool):
        frame.state.stroke_over = frame.state.fill_over = stroke
    if isinstance(fill, bool):
        frame.state.fill_over = fill


def _set_transparency(frame: Frame, settings: Value) -> None:
    state, found = frame.state, frame.page.found
    state.fill_alpha = number(values.get(settings, "/ca"), state.fill_alpha)
    state.stroke_alpha = number(values.get(settings, "/CA"), state.stroke_alpha)
    blend = values.get(settings, "/BM")
    if blend is not None:
        names = [blend] if values.name(blend) else list(values.items(blend, 20))
        mode = next((name for one in names if (name := values.name(one))), "Normal")
        state.blended = mode not in _NO_BLEND
        found.odd_blends |= mode not in _PLAIN_BLENDS
    mask = values.get(settings, "/SMask")
    if values.is_dictionary(mask):
        state.masked = True
        follow_mask(frame, values.get(mask, "/G"))
    elif mask is not None:
        state.masked = False


def _begin_marked(frame: Frame, operands: Any) -> None:
    layer = None
    if len(operands) == 2 and values.name(operands[0]) == "OC":
        group = operands[1]
        if values.name(group) is not None:
            group = frame.resource("/Properties", group)
        layer = frame.page.hiding(group)
    if len(frame.marks) >= MOST_MARKS:
        raise too_complex(f"more than {MOST_MARKS:,} marked parts lie in one another")
    frame.marks.append(layer)
    if layer is not None:
        frame.hiding.append(layer)


def _end_marked(frame: Frame, _operands: Any) -> None:
    if frame.marks and frame.marks.pop() is not None:
        frame.hiding.pop()


def _set_paint(frame: Frame, space: Space, colour: Paint, stroke: bool) -> None:
    if stroke:
        frame.state.stroke_space, frame.state.stroke = space, colour
    else:
        frame.state.fill_space, frame.state.fill = space, colour


def _choose_space(stroke: bool) -> Handler:
    def handle(frame: Frame, operands: Any) -> None:
        space = frame.space(operands[0])
        _set_paint(frame, space, initial(space), stroke)

    return handle


def _choose_colour(stroke: bool) -> Handler:
    def handle(frame: Frame, operands: Any) -> None:
        space = frame.state.stroke_space if stroke else frame.state.fill_space
        listed = list(operands)
        if space.family == "pattern":
            _set_paint(frame, space, _pattern(frame, space, listed), stroke)
        else:
            _set_paint(frame, space, paint(space, [number(one) for one in listed]), stroke)

    return handle


def _pattern(frame: Frame, space: Space, operands: list[Any]) -> Paint:
    pattern = frame.resource("/Pattern", operands[-1])
    under = paint(space.base, [number(one) for one in operands[:-1]]) if space.base else Paint("unknown")
    return Paint("pattern", pattern=(pattern, under))


def _device(space: Space, stroke: bool) -> Handler:
    def handle(frame: Frame, operands: Any) -> None:
        _set_paint(frame, space, paint(space, [number(one) for one in operands]), stroke)

    return handle


HANDLERS: Mapping[str, Handler] = {
    "q": _save,
    "Q": _restore,
    "cm": _concat,
    "w": _line_width,
    "gs": _settings,
    "BDC": _begin_marked,
    "BMC": _begin_marked,
    "EMC": _end_marked,
    "CS": _choose_space(True),
    "cs": _choose_space(False),
    "SC": _choose_colour(True),
    "SCN": _choose_colour(True),
    "sc": _choose_colour(False),
    "scn": _choose_colour(False),
    "G": _device(GREY, True),
    "g": _device(GREY, False),
    "RG": _device(RGB, True),
    "rg": _device(RGB, False),
    "K": _device(CMYK, True),
    "k": _device(CMYK, False),
}
