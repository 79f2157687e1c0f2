"""All that is asked of the alpha plane at print scale, in one walk over its spans."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from preflight.measure import edgecut
from preflight.measure.choke import white_pixels
from preflight.measure.lines import narrowest, sort_parts, without_white
from preflight.measure.opacity import HALO, Opacity
from preflight.measure.places import Scale
from preflight.measure.sheet import CELL, Sheet
from preflight.measure.spans import cut, spans
from preflight.measure.specks import specks
from preflight.measure.thin import Search, ThinParts, normalised_ink
from preflight.model import Bytes, Measurement
from preflight.shop import Shop

#: Ids answered here.
IDS = {
    "fade-width": "mm",
    "translucent-area": "mm2",
    "residue-area": "mm2",
    "narrowest-line": "mm",
    "narrowest-gap": "mm",
    "area-without-white": "mm2",
    "speck-count": "count",
    "cut-edge": "mm",
}
#: How narrow to look for at least: a tenth above the usual limits, mm.
_SEARCH_MM = 0.55


class Edges(NamedTuple):
    """The answers, and what other measures need from the walk."""

    measurements: dict[str, Measurement]
    opacity: Opacity
    white_px: float


def examine_edges(sheet: Sheet, scale: Scale, shop: Shop, reach: Mapping[str, float]) -> Edges:
    """Walk over a sheet's spans once and answer everything in ``IDS``.

    Parameters
    ----------
    reach
        The widest limit, mm, that some rule sets on ``narrowest-line`` and ``narrowest-gap``; the search goes further.
    """
    lines = ThinParts(Search(scale.px(_search_mm(reach, "narrowest-line")), gaps=False))
    gaps = ThinParts(Search(scale.px(_search_mm(reach, "narrowest-gap")), gaps=True))
    opacity = Opacity(sheet)
    if sheet.alpha is not None:
        halo = max(lines.search.halo, gaps.search.halo, HALO)
        for span in spans(sheet.alpha4, sheet.width, sheet.height):
            piece = cut(sheet.alpha, span, halo)
            ink = normalised_ink(piece)
            lines.see(piece, ink)
            gaps.see(piece, ink)
            opacity.see(piece)
    veils = opacity.answer(scale)
    veil = _told(opacity.soft_cells() | opacity.flat_cells(), veils)
    narrow_lines = sort_parts(lines.parts(veil), lines.search.stroke, shop.choke_mm, scale)
    narrow_gaps = sort_parts(gaps.parts(veil), gaps.search.stroke, 0.0, scale)
    found = [
        narrowest("narrowest-line", narrow_lines, scale),
        narrowest("narrowest-gap", narrow_gaps, scale),
        without_white(narrow_lines, shop.choke_mm, scale),
        specks(sheet, scale),
        edgecut.measure(sheet, scale),
        *veils,
    ]
    return Edges({one.id: one for one in found}, opacity, white_pixels(sheet, scale.px(shop.choke_mm)))


def _told(cells: Bytes, veils: Iterable[Measurement]) -> Bytes:
    """Cells of the fades and fills that have a place: what is too small to be told of hides no line, uint8 0/1."""
    told = np.zeros_like(cells)
    for spot in (spot for one in veils for spot in one.spots):
        y, x = int(spot.y) // CELL, int(spot.x) // CELL
        told[y : y + int(spot.height) // CELL, x : x + int(spot.width) // CELL] = 1
    return cells & told


def fade_width(sheet: Sheet, scale: Scale) -> Measurement:
    """``fade-width`` alone, of a sheet of which nothing else is asked."""
    opacity = Opacity(sheet)
    if sheet.alpha is not None:
        for span in spans(sheet.alpha4, sheet.width, sheet.height):
            opacity.see(cut(sheet.alpha, span, HALO))
    return next(one for one in opacity.answer(scale) if one.id == "fade-width")


def _search_mm(reach: Mapping[str, float], measure: str) -> float:
    """Where a rule asks for wider strokes than usual, the search goes a tenth beyond its limit."""
    return max(_SEARCH_MM, 1.1 * reach.get(measure, 0.0))
