"""The graphics state of a content stream. ISO 32000-1, 8.4 and 9.3 (from memory)."""

from __future__ import annotations

import copy
from dataclasses import field

from preflight.intake.pdf.fonts import Font
from preflight.intake.pdf.inks import BLACK, GREY, Paint, Space
from preflight.intake.pdf.matrix import IDENTITY, Matrix, Rect
from preflight.records import dataclass


@dataclass(slots=True)
class State:
    """What ``q`` saves. ``ctm`` leads to millimetres on the page, ``clip`` is the box that can still be painted."""

    ctm: Matrix
    clip: Rect
    fill_space: Space = GREY
    stroke_space: Space = GREY
    fill: Paint = BLACK
    stroke: Paint = BLACK
    line_width: float = 1.0
    font: Font | None = None
    font_size: float = 0.0
    letter_space: float = 0.0
    word_space: float = 0.0
    widening: float = 1.0  #: Tz ÷ 100
    leading: float = 0.0
    rise: float = 0.0
    text_mode: int = 0
    fill_alpha: float = 1.0
    stroke_alpha: float = 1.0
    blended: bool = False
    masked: bool = False
    fill_over: bool = False  #: op: filling overprints
    stroke_over: bool = False  #: OP
    over_mode: int = 0  #: OPM

    def copy(self) -> State:
        """The same again, to be changed."""
        return copy.copy(self)

    @property
    def translucent(self) -> bool:
        """Whether something other than plain covering is set, the two alphas apart."""
        return self.blended or self.masked


@dataclass(slots=True)
class TextPlace:
    """Text matrix and text line matrix between BT and ET."""

    matrix: Matrix = IDENTITY
    line: Matrix = IDENTITY


@dataclass(slots=True)
class Outline:
    """The path under construction: instructions as they came, turned into numbers only when somebody asks."""

    parts: list[object] = field(default_factory=list)
    clips: bool = False
