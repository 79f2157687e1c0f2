"""Which narrow parts are lines or gaps that a person must hear of: ``narrowest-line``, ``narrowest-gap``,
``area-without-white``.

A narrow part is left out when it is the tip of a tapering shape, or a stroke of lettering. Lettering is not judged
stroke by stroke: text of 8 pt and more has strokes of 0.2–0.3 mm, is printed every day, and holds because its strokes
are short and joined (common practice, no source). A stroke counts as lettering when it is short and other short narrow
parts stand close by.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from preflight.measure.places import Scale
from preflight.measure.thin import Part
from preflight.model import MOST_PLACES, Measurement, Spot
from preflight.units import show_number

#: A stroke of less extent than this, mm, can be lettering: the arms of a 24 pt W reach 6.5 mm.
LETTER_MM = 8.0
#: Letters that touch make one part; it is folded, its stroke much longer than its extent.
JOINED_LETTERS_MM = 14.0
FOLDED = 1.25
#: A short narrow part that grows out of something wider is held by it, up to this extent, mm.
HELD_MM = 4.0
#: Lettering below this height, mm, is too small to be let pass: the small letters of 8 pt text are 1.3–1.5 mm high.
SMALLEST_LETTER_MM = 1.1
#: How near, mm, another short part must be to make both lettering.
COMPANY_MM = 3.0
#: Shorter than so many times the search width it is no line but a mark or a corner.
LEAST_LENGTH = 3.0


@dataclass(frozen=True, slots=True)
class Sorted:
    """Narrow parts of one sheet, by what they are."""

    lines: tuple[Part, ...]
    marks: tuple[Part, ...]  #: too short for a line, and no tip and no lettering


def is_tip(part: Part, search_px: float) -> bool:
    """Whether the part is the tapering end of a larger shape rather than a stroke.

    Along a tip the width runs evenly from nothing to the search width, along a stroke it stays. The longer the part,
    the stronger must the taper be.
    """
    taper = part.low / max(part.high, 1e-3)
    return (taper < 0.66 and part.length < 8 * search_px) or (taper < 0.5 and part.length < 20 * search_px)


def sort_parts(parts: Sequence[Part], search_px: float, scale: Scale) -> Sorted:
    """Lines, and marks too short for one; tips and lettering left out."""
    whole = [part for part in parts if not is_tip(part, search_px)]
    lettering = _lettering(whole, search_px, scale)
    held = scale.px(HELD_MM)
    rest = [
        part
        for part, letter in zip(whole, lettering, strict=True)
        if not letter and not (part.attached and part.extent < held)
    ]
    least = LEAST_LENGTH * search_px
    lines = tuple(part for part in rest if part.length >= least and part.extent >= 0.6 * least)
    marks = tuple(part for part in rest if part.length < least)
    return Sorted(lines, marks)


def _lettering(parts: Sequence[Part], search_px: float, scale: Scale) -> npt.NDArray[np.bool_]:
    """Which parts are short strokes in the company of others, bool (n,)."""
    if not parts:
        return np.zeros(0, bool)
    box = np.array([(part.x, part.y, part.x + part.width, part.y + part.height) for part in parts], np.float64)
    size = np.maximum(box[:, 2] - box[:, 0], box[:, 3] - box[:, 1])
    extent = np.array([part.extent for part in parts])
    length = np.array([part.length for part in parts])
    short = (extent < scale.px(LETTER_MM)) | ((extent < scale.px(JOINED_LETTERS_MM)) & (length > FOLDED * extent))
    # Dots and corners are no company: a stroke must be a stroke.
    stroke = short & (length >= 1.2 * search_px)
    company = _neighbours(box, stroke, scale.px(COMPANY_MM)) & stroke
    tall = size >= scale.px(SMALLEST_LETTER_MM)
    letters = company & tall
    if not letters.any():
        return letters
    # What is smaller but stands among letters belongs to them: dots, commas, serifs.
    return letters | (short & (size < scale.px(2.0)) & _near_any(box, letters, scale.px(1.5)))


def _neighbours(box: npt.NDArray[np.float64], who: npt.NDArray[np.bool_], reach: float) -> npt.NDArray[np.bool_]:
    """Which of ``who`` have another of ``who`` within ``reach`` px of their boxes."""
    return _count_near(box, who, reach) >= 2  # itself and one more


def _near_any(box: npt.NDArray[np.float64], who: npt.NDArray[np.bool_], reach: float) -> npt.NDArray[np.bool_]:
    return _count_near(box, who, reach) >= 1


def _count_near(box: npt.NDArray[np.float64], who: npt.NDArray[np.bool_], reach: float) -> npt.NDArray[np.int64]:
    """How many of ``who`` lie within ``reach`` px of each box (box to box), int (n,)."""
    order = np.argsort(box[:, 1], kind="stable")
    chosen = order[who[order]]
    tops = box[chosen, 1]
    tallest = float((box[:, 3] - box[:, 1]).max()) if len(box) else 0.0
    counts = np.zeros(len(box), np.int64)
    for index in range(len(box)):
        x0, y0, x1, y1 = box[index]
        first = np.searchsorted(tops, y0 - reach - tallest)
        last = np.searchsorted(tops, y1 + reach, "right")
        near = box[chosen[first:last]]
        hit = (near[:, 0] <= x1 + reach) & (near[:, 2] >= x0 - reach) & (near[:, 3] >= y0 - reach)
        counts[index] = int(hit.sum())
    return counts


def narrowest(name: str, sorted_parts: Sorted, scale: Scale) -> Measurement:
    """``narrowest-line`` or ``narrowest-gap`` in mm; None when nothing is narrower than the search width."""
    lines = sorted(sorted_parts.lines, key=lambda part: part.stroke)
    if not lines:
        return Measurement(name, None, "mm")
    spots = tuple(_spot(part, scale.mm(part.stroke)) for part in lines[:MOST_PLACES])
    length = scale.mm(sum(part.length for part in lines))
    details = {"length": f"{show_number(length, 2)} mm"}
    return Measurement(name, spots[0].value, "mm", spots=spots, spots_total=len(lines), details=details)


def without_white(sorted_parts: Sorted, choke_mm: float, scale: Scale) -> Measurement:
    """``area-without-white`` in mm²: marks narrower than twice the choke. Lines that narrow are ``narrowest-line``'s."""
    limit = scale.px(2 * choke_mm)
    bare = sorted((part for part in sorted_parts.marks if _across(part) < limit), key=lambda part: -part.area)
    details = {"choke": f"{show_number(choke_mm, 2)} mm"}
    if not bare:
        return Measurement("area-without-white", None, "mm2", details=details)
    spots = tuple(_spot(part, scale.mm2(part.area)) for part in bare[:MOST_PLACES])
    area = scale.mm2(sum(part.area for part in bare))
    return Measurement("area-without-white", area, "mm2", spots=spots, spots_total=len(bare), details=details)


def _across(part: Part) -> float:
    """Width of a mark in px. A round one of diameter d has chords of d / √2; its area tells more."""
    if part.attached or part.extent > 2 * math.sqrt(part.area):
        return part.stroke
    return max(part.stroke, math.sqrt(4 * part.area / math.pi))


def _spot(part: Part, value: float) -> Spot:
    return Spot(part.x, part.y, part.width, part.height, value)
