"""Fonts: name, whether the file carries them, how wide and high their letters are.

Font dictionaries: ISO 32000-1, 9.5 to 9.8 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field

import pikepdf

from preflight.intake.pdf import values
from preflight.intake.pdf.content import Contents
from preflight.intake.pdf.letters import read_letters
from preflight.intake.pdf.matrix import Rect, height_across, sides, union
from preflight.intake.pdf.values import Value
from preflight.records import dataclass

_FILES = ("/FontFile", "/FontFile2", "/FontFile3")
_MOST_WIDTHS = 65_536
#: Where a font tells no width: what its letters have about, in thousandths of its size. Only the box suffers.
_COMMON_WIDTH = 500.0
_TYPEWRITER_WIDTH = 600.0
#: Where a font tells no or no sensible height: above and below the line of writing.
_ASCENT, _DESCENT = 0.75, -0.25
_SUBSET = 7
#: Of a drawn font, so many letters are looked at.
_MOST_LETTERS = 32
#: Widths and letters that cost as much to read as one instruction to follow.
_ENTRIES = 8
#: Of a font's size, what stands above the line in a capital, and what all letters together reach over. Typical of
#: text faces; common practice, no source.
_CAPITAL, _ALL = 0.7, 0.95
_SLACK = 0.05


@dataclass(frozen=True, slots=True)
class Font:
    """A font as text is set in it. Lengths are in its own size: 1 = the size that ``Tf`` names.

    ``height`` turns that size into the height of the font: 1, except for fonts that are drawn by the document itself
    (Type 3), whose unit can be anything; there it is the height of their box.
    """

    name: str
    embedded: bool
    two_bytes: bool = False
    vertical: bool = False
    widths: Mapping[int, float] = field(default_factory=dict)
    other_width: float = _COMMON_WIDTH / 1000.0
    ascent: float = _ASCENT
    descent: float = _DESCENT
    height: float = 1.0
    letters: Mapping[int, str] | None = None

    def codes(self, data: bytes) -> Iterator[int]:
        """The characters of a string. Fonts of several bytes count as of two: so are all but some East Asian ones."""
        if not self.two_bytes:
            return iter(data)
        return (data[at] << 8 | data[at + 1] for at in range(0, len(data) - 1, 2))

    def width(self, code: int) -> float:
        """How far a character moves the pen."""
        return self.widths.get(code, self.other_width)

    def read(self, codes: list[int]) -> str | None:
        """The letters that codes stand for; None where the font does not tell."""
        if self.letters is None:
            return None
        return "".join(self.letters.get(code, "") for code in codes)


def read_font(value: Value, contents: Contents) -> Font:
    """Read a font dictionary.

    Parameters
    ----------
    value
        The dictionary.
    contents
        Reads its streams; what the reading costs is charged to its budget.

    Raises
    ------
    IntakeError
        When nothing is left of the budget.
    """
    read = {"Type3": _drawn, "Type0": _composite}.get(values.name(values.get(value, "/Subtype")) or "", _simple)
    font = read(value, contents)
    contents.charge((len(font.widths) + len(font.letters or ())) // _ENTRIES)
    return font


def _simple(value: Value, contents: Contents) -> Font:
    descriptor = values.get(value, "/FontDescriptor")
    name = _name(values.get(value, "/BaseFont"))
    otherwise = _TYPEWRITER_WIDTH if "courier" in name.lower() else _COMMON_WIDTH
    otherwise = values.number(values.get(descriptor, "/MissingWidth")) or otherwise
    ascent, descent = _heights(descriptor)
    return Font(
        name=name,
        embedded=_is_embedded(descriptor),
        widths=_widths(value, 0.001),
        other_width=otherwise / 1000.0,
        ascent=ascent,
        descent=descent,
        letters=read_letters(value, descriptor, contents),
    )


def _composite(value: Value, contents: Contents) -> Font:
    descendant = next(values.items(values.get(value, "/DescendantFonts"), 1), None)
    descriptor = values.get(descendant, "/FontDescriptor")
    ascent, descent = _heights(descriptor)
    encoding = values.get(value, "/Encoding")
    name = values.name(encoding) or values.name(values.get(encoding, "/CMapName")) or ""
    identity = name.startswith("Identity")
    return Font(
        name=_name(values.get(descendant, "/BaseFont") or values.get(value, "/BaseFont")),
        embedded=_is_embedded(descriptor),
        two_bytes=True,
        vertical=name.endswith("V") or values.whole(values.get(encoding, "/WMode")) == 1,
        widths=dict(_cid_widths(values.get(descendant, "/W"))) if identity else {},
        other_width=values.number(values.get(descendant, "/DW"), 1000.0) / 1000.0,
        ascent=ascent,
        descent=descent,
        letters=read_letters(value, descriptor, contents),
    )


def _drawn(value: Value, contents: Contents) -> Font:
    """A Type 3 font: its letters are content streams in the file, so it is always there."""
    matrix = values.matrix(values.get(value, "/FontMatrix"), (0.001, 0.0, 0.0, 0.001, 0.0, 0.0))
    upwards = height_across(matrix) if matrix[3] >= 0.0 else -height_across(matrix)
    stated, letters = values.rectangle(values.get(value, "/FontBBox")), _box_of_letters(value, contents)
    box = stated if _is_likely(stated, letters) else letters
    height = None if box is None else box[3] - box[1]
    if box is not None and box is letters:
        ends = (box[1], box[3]) if upwards > 0.0 else (-box[3], -box[1])
        height = max(ends[1] / _CAPITAL, (ends[1] - ends[0]) / _ALL)
    if box is None or not height:
        box, height = (0.0, 1000.0 * _DESCENT, 0.0, 1000.0 * _ASCENT), 1000.0
    low, high = sorted((box[1] * upwards, box[3] * upwards))
    return Font(
        name=_name(values.get(value, "/Name")) or "drawn letters",
        embedded=True,
        widths=_widths(value, sides(matrix)[0]),
        other_width=0.0,
        ascent=high,
        descent=low,
        height=height * abs(upwards),
        letters=read_letters(value, None, contents),
    )


def _is_likely(stated: Rect | None, letters: Rect | None) -> bool:
    """Whether the box that a drawn font states can be true: programs write [0 0 0 0] or [0 0 1 -1] into it."""
    if stated is None or stated[3] <= stated[1]:
        return False
    if letters is None:
        return True
    holds = stated[1] <= letters[1] + _SLACK * (letters[3] - letters[1]) and stated[3] >= letters[3] * (1.0 - _SLACK)
    return holds and stated[3] - stated[1] <= 2.0 * (letters[3] - letters[1])


def _box_of_letters(value: Value, contents: Contents) -> Rect | None:
    """The box around some letters of a drawn font, in its units: each letter may begin with its own (d1)."""
    around: Rect | None = None
    for _, letter in values.entries(values.get(value, "/CharProcs"), _MOST_LETTERS):
        first = next(iter(contents.of_stream(letter)), None) if values.is_stream(letter) else None
        if first is None or str(first.operator) != "d1":
            continue
        box = values.rectangle(pikepdf.Array(list(first.operands)[2:]))
        around = around if box is None else box if around is None else union(around, box)
    return around if around and around[3] > around[1] else None


def _name(value: Value) -> str:
    """A font's name without the six letters that mark a subset."""
    name = values.shown(values.name(value) or "")
    subset = len(name) > _SUBSET and name[_SUBSET - 1] == "+" and name[: _SUBSET - 1].isupper()
    return name[_SUBSET:] if subset else name


def _is_embedded(descriptor: Value) -> bool:
    return any(values.is_stream(values.get(descriptor, key)) for key in _FILES)


def _heights(descriptor: Value) -> tuple[float, float]:
    ascent = values.number(values.get(descriptor, "/Ascent")) / 1000.0
    descent = values.number(values.get(descriptor, "/Descent")) / 1000.0
    if 0.3 <= ascent <= 2.0 and -1.0 <= descent <= 0.0:
        return ascent, descent
    return _ASCENT, _DESCENT


def _widths(value: Value, scale: float) -> dict[int, float]:
    first = values.whole(values.get(value, "/FirstChar"))
    listed = values.items(values.get(value, "/Widths"), 256)
    return {first + index: values.number(width) * scale for index, width in enumerate(listed)}


def _cid_widths(array: Value) -> Iterator[tuple[int, float]]:
    """Widths of a composite font: ``first [w w …]`` and ``first last w``, in any mixture."""
    listed = list(values.items(array, _MOST_WIDTHS))
    at, left = 0, _MOST_WIDTHS
    while at + 1 < len(listed) and left > 0:
        first = values.whole(listed[at])
        group = list(values.items(listed[at + 1], left))
        if group:
            pairs = [(first + index, width) for index, width in enumerate(group)]
            at += 2
        elif at + 2 < len(listed):
            last = min(values.whole(listed[at + 1]), first + left)
            pairs = [(code, listed[at + 2]) for code in range(first, last + 1)]
            at += 3
        else:
            return
        left -= max(1, len(pairs))
        for code, width in pairs:
            yield code, values.number(width) / 1000.0
