"""Numbers and lengths as SVG and CSS write them.

Absolute units: CSS Values and Units, 6.2: 1 in = 96 px = 72 pt = 6 pc = 25.4 mm.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

PX_PER_INCH = 96.0
MM_PER_PX = 25.4 / PX_PER_INCH
PT_PER_PX = 72.0 / PX_PER_INCH
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBERS = re.compile(_NUMBER)
_LENGTH = re.compile(rf"^\s*({_NUMBER})\s*(%|[A-Za-z]*)\s*$")
#: px in one of each unit that has a fixed size on paper.
ABSOLUTE = {"in": 96.0, "cm": 96.0 / 2.54, "mm": 96.0 / 25.4, "q": 96.0 / 101.6, "pt": 4.0 / 3.0, "pc": 16.0}
#: What the library that draws takes where no size of letters is given (measured); browsers take 16.
DEFAULT_FONT = 12.0
_NAMED = {
    "xx-small": 0.579, "x-small": 0.694, "small": 0.833, "medium": 1.0,
    "large": 1.2, "x-large": 1.44, "xx-large": 1.728,
}  # fmt: skip
_LARGEST = 1e9


def split(text: str | None) -> tuple[float, str] | None:
    """A number and its unit in small letters, "" for none; None for anything else."""
    match = _LENGTH.match(text) if text else None
    if match is None:
        return None
    value = float(match[1])
    return (value, match[2].lower()) if math.isfinite(value) and abs(value) <= _LARGEST else None


def length(text: str | None, *, of: float, font: float = DEFAULT_FONT, otherwise: float = 0.0) -> float:
    """A length in px.

    Parameters
    ----------
    of
        What 100 % is.
    font
        Size of the letters, px, for em and ex.
    otherwise
        For a length that is missing or cannot be read.
    """
    parts = split(text)
    if parts is None:
        return otherwise
    value, unit = parts
    factors = {"": 1.0, "px": 1.0, "%": of / 100.0, "em": font, "ex": font / 2.0, "rem": DEFAULT_FONT, "ch": font / 2.0}
    factor = ABSOLUTE.get(unit, factors.get(unit))
    return otherwise if factor is None else value * factor


def font_size(text: str, parent: float) -> float:
    """The size of letters in px, from a length, a word or a share of the parent's."""
    word = text.strip().lower()
    if word in _NAMED:
        return DEFAULT_FONT * _NAMED[word]
    if word in ("larger", "smaller"):
        return parent * (1.2 if word == "larger" else 1 / 1.2)
    return max(0.0, length(word, of=parent, font=parent, otherwise=parent))


def numbers(text: str | None) -> list[float]:
    """All numbers in a text."""
    return list(each_number(text or ""))


def each_number(text: str) -> Iterator[float]:
    """The numbers in a text, one after another."""
    return (float(found[0]) for found in _NUMBERS.finditer(text))


def unit_interval(text: str | None, otherwise: float = 1.0) -> float:
    """An opacity, as a number or a percentage, 0 … 1."""
    value = length(text, of=1.0, otherwise=otherwise)
    return min(1.0, max(0.0, value))


def diagonal(width: float, height: float) -> float:
    """What a percentage is of, where it is neither across nor down (SVG 1.1, 7.10)."""
    return math.hypot(width, height) / math.sqrt(2.0)
