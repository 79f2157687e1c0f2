"""All that is asked of the alpha plane at print scale, in one walk over its spans."""

from __future__ import annotations

from dataclasses import dataclass

from preflight.measure import edgecut
from preflight.measure.choke import ChokedWhite
from preflight.measure.lines import narrowest, sort_parts, without_white
from preflight.measure.opacity import HALO, Opacity
from preflight.measure.places import Scale
from preflight.measure.sheet import Sheet
from preflight.measure.spans import Span, cut, spans
from preflight.measure.specks import specks
from preflight.measure.thin import Search, ThinParts
from preflight.model import Measurement
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
#: How narrow to look for where the shop does not ask for more: a tenth above the usual limits, mm.
_LINE_MM, _GAP_MM = 0.55, 0.55


@dataclass(frozen=True, slots=True)
class Edges:
    """The answers, and what other measures need from the walk."""

    measurements: dict[str, Measurement]
    opacity: Opacity
    spans: list[Span]
    white_px: float


def examine_edges(sheet: Sheet, scale: Scale, shop: Shop) -> Edges:
    """Walk over a sheet's spans once and answer everything in ``IDS``."""
    lines = ThinParts(Search(scale.px(_search_mm(shop, "thin-line", _LINE_MM)), gaps=False))
    gaps = ThinParts(Search(scale.px(_search_mm(shop, "thin-gap", _GAP_MM)), gaps=True))
    opacity = Opacity(sheet)
    white = ChokedWhite(sheet, scale.px(shop.choke_mm))
    looked_at: list[Span] = []
    if sheet.alpha is not None:
        looked_at = spans(sheet.alpha4, sheet.width, sheet.height)
        halo = max(lines.search.halo, gaps.search.halo, white.halo, HALO)
        for span in looked_at:
            piece = cut(sheet.alpha, span, halo)
            for observer in (lines, gaps, opacity, white):
                observer.see(piece)
    narrow_lines = sort_parts(lines.parts(), lines.search.stroke, scale)
    found = [
        narrowest("narrowest-line", narrow_lines, scale),
        narrowest("narrowest-gap", sort_parts(gaps.parts(), gaps.search.stroke, scale), scale),
        without_white(narrow_lines, shop.choke_mm, scale),
        specks(sheet, scale),
        edgecut.measure(sheet, scale),
        *opacity.answer(scale),
    ]
    return Edges({one.id: one for one in found}, opacity, looked_at, white.pixels(looked_at))


def _search_mm(shop: Shop, rule: str, default: float) -> float:
    """Where a shop asks for wider lines than usual, the search goes a tenth beyond its limit."""
    change = shop.rules.get(rule)
    limits = [] if change is None else [limit for limit in change.limits.values() if limit is not None]
    return max([default, *(1.1 * limit for limit in limits)])
