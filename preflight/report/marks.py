"""Where the places of the findings are marked on the picture of the whole artwork: for every report that shows it.

Everything is in print millimetres from the artwork's top left, so that it holds at whatever size it is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from preflight.model import Finding, Place
from preflight.records import dataclass

#: Places of one finding that get a plate with their number, and that get an outline at all.
LETTERED, OUTLINED = 4, 24
#: Plate and outline, as a share of the picture's longer side: what they take up where the plates are kept apart.
_PLATE_WIDE, _LETTER_WIDE, _PLATE_HIGH, _LEAST = 0.028, 0.014, 0.042, 0.022
#: Places that cover more than this share of the artwork are the whole of it.
_WHOLE = 0.85
#: Places of two findings that differ by less are the same, mm.
_SAME_MM = 0.6
ALL_OVER = "all over it"
_PARTS = (
    ("at the top left", "at the top", "at the top right"),
    ("at the left", "in the middle", "at the right"),
    ("at the bottom left", "at the bottom", "at the bottom right"),
)


@dataclass(frozen=True, slots=True)
class Mark:
    """An outline around a place, and a plate with its number; ``label`` is empty where there is no plate.

    ``findings``: numbers of the findings that lie there. ``plate_x_mm``, ``plate_y_mm``: the plate's middle.
    """

    findings: tuple[int, ...]
    label: str
    place: Place
    plate_x_mm: float = 0.0
    plate_y_mm: float = 0.0


def label(finding: int, place: int, places: int) -> str:
    """What a place is called: ``2`` when it is alone, else ``2a``, ``2b``; empty beyond those that have a plate."""
    if places == 1:
        return str(finding)
    return f"{finding}{chr(ord('a') + place)}" if place < LETTERED else ""


def marks(findings: Sequence[Finding], width_mm: float, height_mm: float) -> tuple[Mark, ...]:
    """The marks of all findings on an artwork of that size, plates kept apart as far as there is room."""
    found: list[Mark] = []
    for number, finding in enumerate(findings, 1):
        for mark in _of(number, finding, width_mm, height_mm):
            _add(found, mark)
    return tuple(_with_plates(found, width_mm, height_mm))


def _of(number: int, finding: Finding, width_mm: float, height_mm: float) -> Iterator[Mark]:
    shown = finding.places[:OUTLINED]
    for at, place in enumerate(shown):
        whole = is_whole(place, width_mm, height_mm)
        there = Place(0.0, 0.0, width_mm, height_mm, place.value) if whole else place
        yield Mark((number,), label(number, at, len(shown)), there)


def _add(found: list[Mark], mark: Mark) -> None:
    """Add a mark; where another finding has the same place, the two share it."""
    for at, other in enumerate(found):
        if other.label and mark.label and mark.findings[0] not in other.findings and _same(other.place, mark.place):
            found[at] = Mark(other.findings + mark.findings, f"{other.label} {mark.label}", other.place)
            return
    found.append(mark)


def _same(one: Place, other: Place) -> bool:
    room = max(_SAME_MM, 0.05 * max(one.width_mm, one.height_mm))
    return (
        abs(one.x_mm - other.x_mm) < room
        and abs(one.y_mm - other.y_mm) < room
        and abs(one.width_mm - other.width_mm) < room
        and abs(one.height_mm - other.height_mm) < room
    )


def _with_plates(bare: Iterable[Mark], width_mm: float, height_mm: float) -> Iterator[Mark]:
    longer = max(width_mm, height_mm)
    high = _PLATE_HIGH * longer
    taken: list[_Plate] = []
    for mark in bare:
        if not mark.label:
            yield mark
            continue
        wide = (_PLATE_WIDE + _LETTER_WIDE * len(mark.label)) * longer
        wishes = list(_around(mark.place, wide, high, _LEAST * longer))
        plate = _free(wishes, taken, wide, high, (width_mm, height_mm))
        taken.append(plate)
        yield replace(mark, plate_x_mm=plate.x, plate_y_mm=plate.y)


class _Plate(NamedTuple):
    """Middle and size of a plate, mm."""

    x: float
    y: float
    wide: float
    high: float

    def covers(self, other: _Plate) -> bool:
        """Whether the two overlap."""
        return (
            abs(self.x - other.x) < (self.wide + other.wide) / 2
            and abs(self.y - other.y) < (self.high + other.high) / 2
        )


def _around(place: Place, wide: float, high: float, least: float) -> Iterator[tuple[float, float]]:
    """Places for a plate: the corners outside the outline first, then further away."""
    middle_x, middle_y = place.x_mm + place.width_mm / 2, place.y_mm + place.height_mm / 2
    half_x, half_y = max(place.width_mm, least) / 2, max(place.height_mm, least) / 2
    for away in (0.55, 1.3, 2.1):
        right, down = half_x + away * wide, half_y + away * high
        for dx, dy in ((-right, -down), (right, -down), (-right, down), (right, down), (0, -down), (0, down)):
            yield middle_x + dx, middle_y + dy
    # Nothing is free outside: on the corners of the outline itself.
    yield from ((middle_x - half_x, middle_y - half_y), (middle_x + half_x, middle_y - half_y))


def _free(
    wished: Sequence[tuple[float, float]],
    taken: Sequence[_Plate],
    wide: float,
    high: float,
    size: tuple[float, float],
) -> _Plate:
    """The first wish that covers no other plate, moved inside the picture."""
    least_x, least_y = min(wide, size[0]) / 2, min(high, size[1]) / 2
    plates = [
        _Plate(min(max(x, least_x), size[0] - least_x), min(max(y, least_y), size[1] - least_y), wide, high)
        for x, y in wished
    ]
    return next((plate for plate in plates if not any(map(plate.covers, taken))), plates[0])


def is_whole(place: Place, width_mm: float, height_mm: float) -> bool:
    """Whether a place is as good as the whole artwork."""
    return place.width_mm > _WHOLE * width_mm and place.height_mm > _WHOLE * height_mm


def part_of(place: Place, width_mm: float, height_mm: float) -> str:
    """In which part of the artwork the middle of a place lies, in words."""
    if is_whole(place, width_mm, height_mm):
        return ALL_OVER
    x = (place.x_mm + place.width_mm / 2) / max(width_mm, 1e-9)
    y = (place.y_mm + place.height_mm / 2) / max(height_mm, 1e-9)
    across, down = (min(2, max(0, int(share * 3))) for share in (x, y))
    return _PARTS[down][across]


def scale_bar_mm(width_mm: float, *, inches: bool = False) -> float:
    """Length of a scale bar: the longest of 1, 2, 5, 10 … that takes at most a third of the picture's width, mm."""
    unit = 25.4 if inches else 10.0
    most = width_mm / 3 / unit
    steps = [step * 10.0**power for power in (-2, -1, 0, 1, 2) for step in (1, 2, 5)]
    fitting = [step for step in steps if step <= most]
    return (fitting[-1] if fitting else most) * unit
