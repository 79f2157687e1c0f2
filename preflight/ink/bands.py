"""Copies laid into bands across the film: many orders tried, the best bettered by small changes. See ``packing``."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple, TypeAlias

#: A copy that fits by less than this does fit, as in ``layout``.
SLACK_MM = 5e-4
#: How much is tried: so many, divided by the square of the number of copies, 0.6 s for 50 and 1 s for 200 (measured);
#: never fewer than this, nor more than so many for each copy.
_EFFORT, _FEWEST, _MOST = 12_000_000, 12, 120
#: Leftovers narrower than this are not kept in mind: no print is that small.
_SCRAP_MM = 3.0
#: Across and along the film, with a gap on each.
Size: TypeAlias = tuple[float, float]
_Lane: TypeAlias = tuple[float, float, float, float]  # x, y, across, along
_Spot: TypeAlias = tuple[int, float, float]  # number of the leftover; across and along, as the piece lies there
_Choice: TypeAlias = Callable[[Sequence[_Lane], Size], _Spot | None]


class Bands(NamedTuple):
    """Where the copies lie, and what that takes of the film."""

    length: float
    placed: tuple[tuple[int, float, float, float, float], ...]  #: order, x, y, across, along


def in_bands(pieces: Sequence[tuple[int, Size]], span: float, effort: float) -> Bands:
    """The shortest of many tries, half of them with each way to choose a leftover.

    Parameters
    ----------
    pieces
        Order and size of each copy, with its gap.
    span
        Width of the film, with a gap.
    effort
        As for ``pack``.
    """
    if not pieces:
        return Bands(0.0, ())
    tries = round(min(_MOST * len(pieces), max(_FEWEST, effort * _EFFORT / len(pieces) ** 2)))
    climbed = [_climbed(pieces, span, tries // 2, choice) for choice in (_snuggest, _smallest)]
    return min(climbed, key=lambda each: each.length)


def _climbed(pieces: Sequence[tuple[int, Size]], span: float, tries: int, choice: _Choice) -> Bands:
    """Begin in several ways, and better the best of them by small changes."""
    # Chance only picks what to try next, and always the same: nobody's secret hangs on it.
    chance = random.Random(1)  # noqa: S311
    first = max(3, tries // 8)
    least = sum(across * along for _, (across, along) in pieces) / span + SLACK_MM
    best, kept = Bands(math.inf, ()), list(pieces)
    for turn in range(first):
        ordered = _start(pieces, span, turn, chance)
        found = _lay(ordered, span, best.length, choice)
        if found is not None and found.length < best.length:
            best, kept = found, ordered
    for _ in range(tries - first):
        if best.length <= least:
            break
        changed = _changed(kept, span, chance)
        found = _lay(changed, span, best.length + 1e-9, choice)
        if found is not None:
            best, kept = found, changed
    return best


def _start(pieces: Sequence[tuple[int, Size]], span: float, turn: int, chance: random.Random) -> list[tuple[int, Size]]:
    """All pieces, the longest along the film first: lying flat, standing, or each as chance has it; a little mixed."""
    told = []
    for order, (width, height) in pieces:
        short, long = sorted((width, height))
        flat = long <= span + SLACK_MM and (turn % 3 == 0 or (turn % 3 == 2 and chance.random() < 0.5))
        size = (long, short) if flat or short > span + SLACK_MM else (short, long)
        told.append((order, size))
    mixed = 0.0 if turn < 3 else 0.25 * chance.random()
    return sorted(told, key=lambda each: -each[1][1] * (1 + mixed * (chance.random() - 0.5)))


def _changed(pieces: Sequence[tuple[int, Size]], span: float, chance: random.Random) -> list[tuple[int, Size]]:
    """One piece moved, two exchanged, or one turned."""
    changed, kind = list(pieces), chance.random()
    one, other = chance.randrange(len(changed)), chance.randrange(len(changed))
    if kind < 0.35:
        changed.insert(other, changed.pop(one))
    elif kind < 0.7:
        changed[one], changed[other] = changed[other], changed[one]
    else:
        order, (across, along) = changed[one]
        if along <= span + SLACK_MM:
            changed[one] = (order, (along, across))
    return changed


def _lay(pieces: Sequence[tuple[int, Size]], span: float, most: float, choice: _Choice) -> Bands | None:
    """Lay the pieces in their order, each where ``choice`` says; None once it takes more than ``most`` of film."""
    lanes: list[_Lane] = []
    placed = []
    length = 0.0
    for order, size in pieces:
        spot = choice(lanes, size)
        if spot is None:
            across, along = size
            x, y, free_across, free_along = 0.0, length, span, along
            length += along
            if length > most:
                return None
        else:
            number, across, along = spot
            x, y, free_across, free_along = lanes.pop(number)
        placed.append((order, x, y, across, along))
        lanes += _parted(x, y, free_across, free_along, across, along)
    return Bands(length, tuple(placed))


def _snuggest(lanes: Sequence[_Lane], size: Size) -> _Spot | None:
    """The leftover in which the piece leaves the narrowest strip, and how it lies there."""
    found, least = None, math.inf
    width, height = size
    for number, (_, _, across, along) in enumerate(lanes):
        more_across, more_along = across - width + SLACK_MM, along - height + SLACK_MM
        if more_across >= 0 and more_along >= 0 and min(more_across, more_along) < least:
            least, found = min(more_across, more_along), (number, width, height)
        more_across, more_along = across - height + SLACK_MM, along - width + SLACK_MM
        if more_across >= 0 and more_along >= 0 and min(more_across, more_along) < least:
            least, found = min(more_across, more_along), (number, height, width)
    return found


def _smallest(lanes: Sequence[_Lane], size: Size) -> _Spot | None:
    """The smallest leftover in which the piece has room, and how it lies there."""
    found, least = None, math.inf
    width, height = size
    for number, (_, _, across, along) in enumerate(lanes):
        if across * along < least:
            if across >= width - SLACK_MM and along >= height - SLACK_MM:
                least, found = across * along, (number, width, height)
            elif across >= height - SLACK_MM and along >= width - SLACK_MM:
                least, found = across * along, (number, height, width)
    return found


def _parted(x: float, y: float, across: float, along: float, used_across: float, used_along: float) -> Iterator[_Lane]:
    """What one straight cut and then another leave of a part in whose corner a piece lies."""
    right, below = across - used_across, along - used_along
    if right < below:
        lanes = ((x + used_across, y, right, used_along), (x, y + used_along, across, below))
    else:
        lanes = ((x + used_across, y, right, along), (x, y + used_along, used_across, below))
    for lane in lanes:
        if lane[2] > _SCRAP_MM and lane[3] > _SCRAP_MM:
            yield lane
