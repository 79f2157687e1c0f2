"""Functions of a document: how many instructions one has to follow. ISO 32000-1, 7.10 (from memory)."""

from __future__ import annotations

from collections.abc import Callable

from preflight.intake.pdf import values
from preflight.intake.pdf.budget import words
from preflight.intake.pdf.values import Value

_STITCHED, _CALCULATOR = 3, 4
_DEEPEST, _MOST_PARTS = 4, 100


def instructions(function: Value, data: Callable[[Value], bytes | None], depth: int = _DEEPEST) -> int:
    """Instructions that are followed, at the most, for one value of a function, or of each of several.

    Parameters
    ----------
    function
        A function, or an array of some.
    data
        Decodes a stream within the budget of the page.

    Raises
    ------
    IntakeError
        When nothing is left of the budget.
    """
    if depth == 0:
        return 0
    kind = values.whole(values.get(function, "/FunctionType"))
    if kind == _CALCULATOR and values.is_stream(function):
        return words(data(function) or b"")[1]
    if kind == _STITCHED:
        parts = values.items(values.get(function, "/Functions"), _MOST_PARTS)
        return max((instructions(part, data, depth - 1) for part in parts), default=0)
    return sum(instructions(part, data, depth - 1) for part in values.items(function, _MOST_PARTS))
