"""What is measured: the unit and the meaning of every measurement, and the details it carries for the words of rules.

Plain data, read by the rulebook, the reports and the documentation; the measuring itself lies in the modules beside.
Units: ``ppi % mm mm2 px count dE00 ratio pt``.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple


class Quantity(NamedTuple):
    """One thing that is measured.

    Parameters
    ----------
    unit
        Unit of the value.
    what
        What the value is, a clause for people who set limits.
    kinds
        The kinds it tells apart, each of which a rule may give limits of its own.
    details
        Key of each detail that comes with a value, and a made-up one for showing the words of a rule.
    extreme
        Whether the value is that of its worst place, so that each place can be held against the limit by itself.
    zero
        What a value of zero stands for, a clause after "it"; for a quantity that cannot truly be zero.
    on_opening
        Whether it is known from opening the file, and taken only when something is wrong.
    """

    unit: str
    what: str
    kinds: tuple[str, ...] = ()
    details: Mapping[str, str] = MappingProxyType({})
    extreme: bool = False
    zero: str = ""
    on_opening: bool = False


_REASON = {"reason": "it ends in the middle of the picture", "next_step": "Export the file again and send it anew."}
_LOCK = {
    "reason": "it opens only with a password",
    "next_step": "Ask for the file without a password: open it with the password, save it without one, and send that.",
}
_SLIP = {
    "reason": 'art.ticket.toml, line 1, garments: the garment colour "navi" is not known',
    "next_step": "Choose another colour, or tell us which one you mean.",
}

#: Stands between things that could act: the words for them hold commas themselves.
BETWEEN_THINGS = "; "

#: Every measurement by its id.
MEASURES: Mapping[str, Quantity] = {
    "effective-ppi": Quantity("ppi", "pixels per inch at the size of the print", kinds=("continuous-tone", "line-art")),
    "detail-ppi": Quantity(
        "ppi",
        "pixels per inch that the detail in the picture is worth",
        details={"pixels_ppi": "300 ppi", "factor": "2.7"},
    ),
    "size-missing": Quantity("count", "1 when no size was ordered and the file states none"),
    "proportion-difference": Quantity(
        "%",
        "how far the proportions of the artwork are from the ordered ones",
        details={"ordered": "200 x 200 mm", "artwork": "800 x 600 pixels"},
    ),
    "print-width": Quantity("mm", "the shorter side of the print, which lies across the film"),
    "printed-share": Quantity("%", "share of the canvas that prints"),
    "cut-edge": Quantity("mm", "length of artwork that the edge of the canvas cuts straight"),
    "fade-width": Quantity("mm", "width of the widest fade from solid to clear", extreme=True),
    "translucent-area": Quantity("mm2", "area of flat, partly see-through colour", details={"opacity": "50 %"}),
    "residue-area": Quantity("mm2", "area of nearly invisible leftovers, 0 to 5 % opaque"),
    "background-share": Quantity(
        "%",
        "share of the art that a plain box behind it covers",
        kinds=("white", "colour"),
        details={"colour": "white"},
    ),
    "checkerboard-cell": Quantity("px", "side of one square of a painted see-through pattern"),
    "fringe-share": Quantity(
        "%", "share of the art's edge that carries the colour of another background", details={"colour": "white"}
    ),
    "narrowest-line": Quantity("mm", "width of the narrowest printed line", details={"length": "12 mm"}, extreme=True),
    "narrowest-gap": Quantity(
        "mm", "width of the narrowest gap in the print", details={"length": "8 mm"}, extreme=True
    ),
    "area-without-white": Quantity(
        "mm2", "area of colour that the pulled-in white leaves bare", details={"choke": "0.18 mm"}
    ),
    "speck-count": Quantity("count", "number of loose specks", details={"largest": "0.4 mm"}),
    "total-ink": Quantity(
        "%",
        "sum of the four colour inks that at least the allowed area reaches, averaged over the shop's aperture",
        details={"area": "45 mm²"},
    ),
    "colour-shift": Quantity(
        "dE00",
        "colour difference on film that 5 % of the art exceeds",
        details={"share": "12 %", "worst_colour": "#00ff00", "printed_colour": "#4faf4d"},
    ),
    "contrast": Quantity(
        "ratio",
        "contrast with the garment that 20 % of the art stays under",
        details={"garment": "#1d1d1f", "share": "35 %"},
    ),
    "code-module": Quantity(
        "mm",
        "smallest square or bar of a code to scan; 0 when it does not scan",
        details={"text": "order 1042", "garment": "white", "kind": "QR code"},
        extreme=True,
        zero="could not be read",
    ),
    "smallest-text": Quantity(
        "pt",
        "height of the font of the smallest live text in print",
        details={"text": "Since 1987", "font": "Dovetail Sans"},
        extreme=True,
    ),
    "missing-fonts": Quantity("count", "number of fonts that are not in the file", details={"fonts": "Dovetail Sans"}),
    "thinnest-stroke": Quantity(
        "mm",
        "width of the thinnest stroked line in print, as the file states it",
        extreme=True,
        zero="has no width at all, which means: as thin as the printer can",
    ),
    "spot-inks": Quantity("count", "number of spot colours in the file", details={"names": "Warm Red"}),
    "white-plate": Quantity(
        "%",
        "share of the art that the customer's own white plate leaves bare",
        details={"names": "White", "covers": "92 %"},
    ),
    "overprinted-objects": Quantity("count", "number of objects that are set to print over what lies below them"),
    "linked-pictures": Quantity("count", "number of pictures that are not in the file", details={"names": "bird.tif"}),
    "active-content": Quantity(
        "count", "number of things in the file that could act by themselves", details={"names": "a script"}
    ),
    "file-lock": Quantity("count", "1 when the file carries a lock, 2 when it does not open", details=_LOCK),
    "surplus-pages": Quantity("count", "pages of the file beyond the first", details={"pages": "3"}, on_opening=True),
    "extension-mismatch": Quantity(
        "count",
        "1 when the file is of another format than its name says",
        details={"content": "JPEG", "ending": ".png"},
        on_opening=True,
    ),
    "file-unreadable": Quantity("count", "1 when the file cannot be read", details=_REASON, on_opening=True),
    "file-cut-short": Quantity(
        "count", "1 when the file ends before the picture does", details=_REASON, on_opening=True
    ),
    "ticket-unreadable": Quantity(
        "count", "1 when the order beside the file cannot be read", details=_SLIP, on_opening=True
    ),
}

#: Measurements that leave the artwork unchecked when they find something: the file or its order was not read.
UNREAD = ("file-unreadable", "file-cut-short", "ticket-unreadable")
