"""Which narrow parts are lines or gaps that a person must hear of.

Answers ``narrowest-line``, ``narrowest-gap`` and ``area-without-white``.
A narrow part is left out when it is the tip of a tapering shape, or a stroke of lettering. Lettering is not judged
stroke by stroke: text of 8 pt and more has strokes of 0.2–0.3 mm, is printed every day, and holds because its strokes
are short and joined (common practice, no source). A stroke counts as lettering when it is short and other short narrow
parts stand close by.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from preflight.measure.places import Scale
from preflight.measure.thin import Parts, joined
from preflight.model import MOST_PLACES, Measurement, Spot
from preflight.units import show_number

#: A stroke of less extent than this, mm, can be lettering: the arms of a 24 pt W reach 6.5 mm.
LETTER_MM = 8.0
#: From this extent on it takes more company: a lone line beside a mark is no W.
LONG_LETTER_MM = 7.0
#: Letters that touch make one part; it is folded, its stroke much longer than its extent.
JOINED_LETTERS_MM = 14.0
FOLDED = 1.25
#: A short narrow part that grows out of something wider is held by it, up to this extent, mm.
HELD_MM = 3.0
#: Lettering below this height, mm, is too small to be let pass: the small letters of 8 pt text are 1.3–1.5 mm high.
SMALLEST_LETTER_MM = 1.1
#: How near, mm, another short part must be to make both lettering.
COMPANY_MM = 5.0
#: Share of the strokes around that must be at least that high.
TALL_SHARE = 0.5
#: Parts that lie in a fade or a translucent fill by this share are its own finding's.
VEILED = 0.5
#: Of a connected part, at least this share must be narrow, or it is the end of a wider stroke.
LEAST_SHARE = 0.3
#: A blade of even width on something wider, longer than this, mm, is bare below so many chokes: no white reaches it.
BARE_MM, BARE_CHOKES = 3.0, 1.5
#: Shorter than so many times the search width it is no line but a mark or a corner.
LEAST_LENGTH = 3.0


class Sorted(NamedTuple):
    """Narrow parts of one sheet, by what they are."""

    lines: Parts
    marks: Parts  #: too short for a line, and no tip and no lettering


def is_tip(parts: Parts, search_px: float) -> npt.NDArray[np.bool_]:
    """Whether each part is the tapering end of a larger shape rather than a stroke.

    Along a tip the width runs evenly from nothing to the search width, along a stroke it stays. The longer the part,
    the stronger must the taper be.
    """
    taper = parts.low / np.maximum(parts.high, 1e-3)
    return ((taper < 0.66) & (parts.length < 8 * search_px)) | ((taper < 0.5) & (parts.length < 20 * search_px))


def sort_parts(parts: Parts, search_px: float, choke_mm: float, scale: Scale) -> Sorted:
    """Lines, and marks too short for one; tips, lettering and the insides of fades left out."""
    parts = parts.where(parts.veiled < VEILED)
    even = parts.low >= 0.85 * parts.high
    bare = parts.attached & even & (parts.stroke < scale.px(BARE_CHOKES * choke_mm))
    bare &= parts.extent > scale.px(BARE_MM)  # not the length: a serif goes on round the corner
    held = parts.attached & (parts.extent < scale.px(HELD_MM))
    # Of a stroke wide enough only the slanting end is narrow.
    end = (parts.share < LEAST_SHARE) & (parts.length < 8 * search_px)
    quiet = end | is_tip(parts, search_px) | (~bare & (held | _lettering(parts, search_px, scale)))
    rest = parts.where(~quiet)
    least = LEAST_LENGTH * search_px
    long = rest.length >= least
    return Sorted(rest.where(long & (rest.extent >= 0.6 * least)), rest.where(~long))


def _lettering(parts: Parts, search_px: float, scale: Scale) -> npt.NDArray[np.bool_]:
    """Which parts are short strokes in the company of others as tall as print can hold, bool (n,)."""
    extent, size = parts.extent, parts.size
    folded = parts.length > FOLDED * extent
    short = (extent < scale.px(LETTER_MM)) | ((extent < scale.px(JOINED_LETTERS_MM)) & folded)
    # Dots and corners are no company: a stroke must be a stroke.
    stroke = short & (parts.length >= 2 * search_px)
    tall = stroke & (size >= scale.px(SMALLEST_LETTER_MM))
    near = _count_near(parts.box, stroke, scale.px(COMPANY_MM))
    near_tall = _count_near(parts.box, tall, scale.px(COMPANY_MM))
    # Itself and one more, a long one several; and most of them tall, for in text that is too small only some are.
    company = near >= np.where((extent < scale.px(LONG_LETTER_MM)) | folded, 2, 4)
    letters = stroke & company & (near_tall >= TALL_SHARE * near)
    # What is smaller but stands among letters belongs to them: dots, commas, serifs.
    beside = _count_near(parts.box, letters & tall, scale.px(1.5)) >= 1
    return letters | (short & (size < scale.px(2.0)) & beside & (near_tall >= TALL_SHARE * near))


def _count_near(box: npt.NDArray[np.float64], who: npt.NDArray[np.bool_], reach: float) -> npt.NDArray[np.int64]:
    """How many of ``who`` lie within about ``reach`` px of each box, itself among them, int (n,).

    The grown boxes of ``who`` are summed up on a coarse grid; each box asks at its corners and its middle.
    """
    if not len(box) or not who.any():
        return np.zeros(len(box), np.int64)
    step = max(1.0, reach / 4)
    columns, rows = (int(box[:, side].max() / step) + 12 for side in (2, 3))
    x0, y0 = (np.maximum(0, np.floor((box[:, side] - reach) / step)).astype(np.intp) for side in (0, 1))
    x1, y1 = (np.ceil((box[:, side] + reach) / step).astype(np.intp) + 1 for side in (2, 3))
    grid = np.zeros((rows, columns), np.int32)
    for x, y, sign in ((x0, y0, 1), (x1, y0, -1), (x0, y1, -1), (x1, y1, 1)):
        np.add.at(grid, (y[who], x[who]), sign)
    for row in range(1, rows):
        grid[row] += grid[row - 1]  # numpy's own sum down the columns takes three times as long
    np.cumsum(grid, axis=1, dtype=np.int32, out=grid)
    asked = [(box[:, i], box[:, j]) for i in (0, 2) for j in (1, 3)]
    asked.append(((box[:, 0] + box[:, 2]) / 2, (box[:, 1] + box[:, 3]) / 2))
    counts = [grid[(y / step).astype(np.intp), (x / step).astype(np.intp)] for x, y in asked]
    most: npt.NDArray[np.int64] = np.max(counts, axis=0).astype(np.int64)
    return most


def narrowest(name: str, sorted_parts: Sorted, scale: Scale) -> Measurement:
    """``narrowest-line`` or ``narrowest-gap`` in mm; None when nothing is narrower than the search width."""
    lines = sorted_parts.lines
    if not len(lines):
        return Measurement(name, None, "mm")
    order = np.argsort(lines.stroke, kind="stable")[:MOST_PLACES]
    spots = _spots(lines.where(order), lines.stroke[order] * scale.mm(1))
    details = {"length": f"{show_number(scale.mm(float(lines.length.sum())), 2)} mm"}
    return Measurement(name, spots[0].value, "mm", spots=spots, spots_total=len(lines), details=details)


def without_white(sorted_parts: Sorted, choke_mm: float, scale: Scale) -> Measurement:
    """``area-without-white`` in mm²: lines and marks narrower than twice the choke."""
    limit = scale.px(2 * choke_mm)
    lines, marks = sorted_parts.lines, sorted_parts.marks
    bare = joined(lines.where(lines.stroke < limit), marks.where(_across(marks) < limit))
    details = {"choke": f"{show_number(choke_mm, 2)} mm"}
    if not len(bare):
        return Measurement("area-without-white", None, "mm2", details=details)
    order = np.argsort(-bare.area, kind="stable")[:MOST_PLACES]
    spots = _spots(bare.where(order), bare.area[order] * scale.mm2(1))
    area = scale.mm2(float(bare.area.sum()))
    return Measurement("area-without-white", area, "mm2", spots=spots, spots_total=len(bare), details=details)


def _across(parts: Parts) -> npt.NDArray[np.float64]:
    """Width of marks in px. A round one of diameter d has chords of d / √2; its area tells more."""
    round_ones = ~parts.attached & (parts.extent <= 2 * np.sqrt(parts.area))
    return np.where(round_ones, np.maximum(parts.stroke, np.sqrt(4 * parts.area / np.pi)), parts.stroke)


def _spots(parts: Parts, values: npt.NDArray[np.float64]) -> tuple[Spot, ...]:
    boxes = zip(parts.box.tolist(), values.tolist(), strict=True)
    return tuple(Spot(x0, y0, x1 - x0, y1 - y0, value) for (x0, y0, x1, y1), value in boxes)
