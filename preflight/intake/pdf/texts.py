"""Live text: which font, how large after all matrices, where. ISO 32000-1, 9.3 and 9.4 (from memory)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from typing import Any

import pikepdf

from preflight.intake.pdf import values
from preflight.intake.pdf.fonts import Font
from preflight.intake.pdf.found import Piece
from preflight.intake.pdf.frame import Frame
from preflight.intake.pdf.graphics import Handler
from preflight.intake.pdf.matrix import Matrix, Rect, after, box_after, height_across
from preflight.intake.pdf.paths import even_width, fill_area, stroke_line
from preflight.intake.pdf.state import TextPlace
from preflight.intake.pdf.values import number
from preflight.records import dataclass
from preflight.units import MM_PER_POINT

#: Text rendering modes (Table 106): what fills, what strokes; 3 paints nothing, 7 only clips what comes after.
_FILLS, _STROKES, _CLIPS_ONLY = (0, 2, 4, 6), (1, 2, 5, 6), 7
_SPACE = 32
_NAMED_LETTERS = 40
#: Letters that cost as much to set as one instruction to follow.
_LETTERS = 4


@dataclass(slots=True)
class _Line:
    """Characters of one instruction: where the pen is, and what was set."""

    pen: float = 0.0
    codes: list[int] = field(default_factory=list)


def _begin(frame: Frame, _operands: Any) -> None:
    frame.text = TextPlace()


def _font(frame: Frame, operands: Any) -> None:
    value = frame.resource("/Font", operands[0])
    frame.state.font = frame.font(value, operands[0]) if values.is_dictionary(value) else _missing(operands[0])
    frame.state.font_size = number(operands[1])


def _missing(name: Any) -> Font:
    """A font that the page names and the file does not have: viewers put another in its place."""
    return Font(values.text(name) or "a font without a name", embedded=False)


def _mode(frame: Frame, operands: Any) -> None:
    frame.state.text_mode = values.whole(operands[0])


def _setting(name: str, scale: float = 1.0) -> Handler:
    def handle(frame: Frame, operands: Any) -> None:
        setattr(frame.state, name, number(operands[0]) * scale)

    return handle


def _move(frame: Frame, operands: Any) -> None:
    _start_line(frame, number(operands[0]), number(operands[1]))


def _move_and_lead(frame: Frame, operands: Any) -> None:
    frame.state.leading = -number(operands[1])
    _move(frame, operands)


def _next_line(frame: Frame, _operands: Any) -> None:
    _start_line(frame, 0.0, -frame.state.leading)


def _start_line(frame: Frame, x: float, y: float) -> None:
    frame.text.line = frame.text.matrix = after((1.0, 0.0, 0.0, 1.0, x, y), frame.text.line)


def _matrix(frame: Frame, operands: Any) -> None:
    a, b, c, d, e, f = (number(one) for one in operands)
    frame.text.line = frame.text.matrix = (a, b, c, d, e, f)


def _show(frame: Frame, operands: Any) -> None:
    _set(frame, [operands[0]])


def _show_spread(frame: Frame, operands: Any) -> None:
    _set(frame, values.items(operands[0]))


def _show_on_next(frame: Frame, operands: Any) -> None:
    _next_line(frame, operands)
    _set(frame, [operands[-1]])


def _show_spaced(frame: Frame, operands: Any) -> None:
    frame.state.word_space, frame.state.letter_space = number(operands[0]), number(operands[1])
    _show_on_next(frame, operands)


def _set(frame: Frame, parts: Iterable[Any]) -> None:
    """Set strings, and the moves between them, and walk on past them."""
    font = frame.state.font
    if font is None:
        return
    line = _Line()
    for part in parts:
        if isinstance(part, pikepdf.String):
            _advance(frame, font, line, bytes(part))
        else:
            line.pen -= number(part) / 1000.0 * frame.state.font_size * _widening(frame, font)
    if not _is_blank(font, line.codes):
        _paint(frame, font, line)
    step = (0.0, -line.pen) if font.vertical else (line.pen, 0.0)
    frame.text.matrix = after((1.0, 0.0, 0.0, 1.0, *step), frame.text.matrix)


def _widening(frame: Frame, font: Font) -> float:
    return -1.0 if font.vertical else frame.state.widening


def _advance(frame: Frame, font: Font, line: _Line, data: bytes) -> None:
    state = frame.state
    frame.page.budget.play(len(data) // _LETTERS)
    for code in font.codes(data):
        width = 1.0 if font.vertical else font.width(code)
        step = width * state.font_size + state.letter_space
        if code == _SPACE and not font.two_bytes:
            step += state.word_space
        line.pen += step * (1.0 if font.vertical else state.widening)
        line.codes.append(code)


def _is_blank(font: Font, codes: list[int]) -> bool:
    read = font.read(codes)
    if read is not None:
        return not read.strip() and all(font.letters is not None and code in font.letters for code in codes)
    return not font.two_bytes and all(code == _SPACE for code in codes)


def _paint(frame: Frame, font: Font, line: _Line) -> None:
    place = after(frame.text.matrix, frame.state.ctm)
    size = frame.state.font_size
    height = height_across(after((size, 0.0, 0.0, size, 0.0, 0.0), place)) * font.height / MM_PER_POINT
    if height == 0.0:
        return
    seen = _mark(frame, box_after(_extent(frame, font, line), place))
    if seen is None:
        return
    piece = Piece(
        box=seen,
        font=font.name,
        size_pt=height,
        embedded=font.embedded,
        sample=font.read(line.codes[:_NAMED_LETTERS]) or "",
        upright=_lies_level(place, font),
    )
    frame.page.found.text(piece)


def _mark(frame: Frame, box: Rect) -> Rect | None:
    """Paint what the text rendering mode says; the part that prints."""
    mode = frame.state.text_mode
    if mode == _CLIPS_ONLY:
        return frame.visible(box)
    filled = fill_area(frame, box) if mode in _FILLS else None
    stroked = stroke_line(frame, box, even_width(frame)) if mode in _STROKES else None
    return filled or stroked


def _extent(frame: Frame, font: Font, line: _Line) -> Rect:
    """The box around a line, in text space."""
    size, rise = frame.state.font_size, frame.state.rise
    if font.vertical:
        xs, ys = (-size / 2.0, size / 2.0), (0.0, -line.pen)
    else:
        xs, ys = (0.0, line.pen), (font.descent * size + rise, font.ascent * size + rise)
    return (min(xs), min(ys), max(xs), max(ys))


def _lies_level(place: Matrix, font: Font) -> bool:
    level = abs(place[0]) >= abs(place[1])
    return level is not font.vertical


HANDLERS: Mapping[str, Handler] = {
    "BT": _begin,
    "Tf": _font,
    "Tr": _mode,
    "Tc": _setting("letter_space"),
    "Tw": _setting("word_space"),
    "Tz": _setting("widening", 0.01),
    "TL": _setting("leading"),
    "Ts": _setting("rise"),
    "Td": _move,
    "TD": _move_and_lead,
    "Tm": _matrix,
    "T*": _next_line,
    "Tj": _show,
    "TJ": _show_spread,
    "'": _show_on_next,
    '"': _show_spaced,
}
