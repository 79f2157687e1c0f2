"""What to draw of an artwork, read off its report."""

from __future__ import annotations

from preflight.colours import read_colour
from preflight.errors import UsageError
from preflight.model import Finding, Place, Report
from preflight.shop import Shop
from preflight.ticket import garment_rgb
from preflight.views.model import RGB, Cloth, Look, Wanted

#: How the places of a measurement are looked at (see ``Look.what``); those of the others speak for themselves in the
#: picture of the whole artwork.
WHAT = {
    "narrowest-line": "line",
    "narrowest-gap": "gap",
    "fade-width": "fade",
    "area-without-white": "",
    "speck-count": "",
    "residue-area": "faint",
    "translucent-area": "",
    "fringe-share": "",
    "cut-edge": "",
    "checkerboard-cell": "",
    "code-module": "whole",
    "smallest-text": "",
    "thinnest-stroke": "",
    "overprinted-objects": "",
    "effective-ppi": "busiest",
    "detail-ppi": "busiest",
}
#: Most close-ups of one report: the worst findings come first.
MOST_LOOKS = 12
#: Where no garment was ordered: a middle grey, on which white art shows and black art too.
NO_GARMENT = Cloth("", (176, 176, 176))


def wanted(report: Report, shop: Shop, *, ink_tolerance: float = 0.0) -> Wanted | None:
    """What to draw, or None when the artwork was not read.

    Parameters
    ----------
    ink_tolerance
        What the rule of heavy ink allows beyond its limit, %.
    """
    size = report.print_size
    if size is None:
        return None
    limits = {finding.measure: finding.limit for finding in report.findings}
    ink, shift = limits.get("total-ink"), limits.get("colour-shift")
    return Wanted(
        canvas=size.canvas,
        box=size.artwork,
        mm_per_px=size.mm_per_px,
        cloths=_cloths(report, shop),
        looks=_looks(report.findings) if size.mm_per_px is not None else (),
        choke_mm=shop.choke_mm,
        ink_limit=None if ink is None else ink + ink_tolerance,
        aperture_mm=shop.heavy_ink.aperture_mm,
        shift_limit=shift,
        keyed=_keyed(report),
    )


def _cloths(report: Report, shop: Shop) -> tuple[Cloth, ...]:
    """The garments; first the one on which the artwork hardly shows, if there is such a one."""
    found = []
    for name in report.ticket.garments:
        try:
            found.append(Cloth(name, garment_rgb(name, shop)))
        except UsageError:  # a ticket that is wrong is a finding already
            continue
    contrast = report.measures.get("contrast")
    if contrast is not None and any(finding.measure == "contrast" for finding in report.findings):
        worst = contrast.details.get("garment")
        found.sort(key=lambda cloth: cloth.name != worst)
    return tuple(found) or (NO_GARMENT,)


def _looks(findings: tuple[Finding, ...]) -> tuple[Look, ...]:
    found: list[Look] = []
    searched = False
    for number, finding in enumerate(findings, 1):
        what = WHAT.get(finding.measure)
        if what is None or len(found) == MOST_LOOKS:
            continue
        if what == "busiest":
            if not searched:
                found.append(Look(number, None, what))
            searched = True
        elif finding.places:
            place: Place = finding.places[0]
            found.append(Look(number, place, what, place.value if what in ("line", "gap", "fade") else None))
    return tuple(found)


def _keyed(report: Report) -> RGB | None:
    """Colour of the background that was measured as if it were removed."""
    if not any("keyed" in measure.details for measure in report.measures.values()):
        return None
    ground = report.measures.get("background-share")
    colour = "" if ground is None else ground.details.get("colour", "")
    return read_colour(colour) if colour else None
