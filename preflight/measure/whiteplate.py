"""The customer's own white plate, ``white-plate``, held against the white that this shop would print."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from preflight.measure.document import listed
from preflight.measure.kernels import THREE, erode
from preflight.measure.sheet import CELL, Sheet, shrink
from preflight.model import Bytes, Measurement
from preflight.units import show_number

_SOLID = 243
_HALF = 128


def measure(sheet: Sheet, plate: Iterable[tuple[int, Bytes]], names: Sequence[str]) -> Measurement:
    """``white-plate``: percent of the art that the customer's own white leaves bare; None without such a plate.

    Both are compared in cells of 4 px, and the art's own rim is left out: there white is pulled in on purpose, by
    everybody as far as he likes. Where their white reaches beyond the art it is drawn as white art, and counts as art.

    Parameters
    ----------
    sheet
        The artwork after the pass, with the white plate drawn below everything.
    plate
        First row and uint8 (rows, width), 255 = full white; pieces whose rows are a multiple of 4, the last may be
        less.
    names
        Of the white plates.
    """
    if not names:
        return Measurement("white-plate", None, "%")
    theirs = np.zeros_like(sheet.alpha4)
    for y, rows in plate:
        small = shrink(np.ascontiguousarray(rows))
        theirs[y // CELL : y // CELL + len(small)] = small
    pixels = sheet.cell_pixels()
    art = float((sheet.alpha4 * pixels).sum())
    covered = float((np.minimum(theirs, sheet.alpha4) * pixels).sum())
    inside = erode((sheet.alpha4 > _SOLID).astype(np.uint8), THREE) > 0
    whole = float(pixels[inside].sum())
    bare = float(pixels[inside & (theirs < _HALF)].sum())
    details = {"names": listed(names), "covers": f"{show_number(100.0 * covered / art if art else 0.0, 3)} %"}
    return Measurement("white-plate", 100.0 * bare / whole if whole else 0.0, "%", details=details)
