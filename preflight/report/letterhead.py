"""The shop's logo and colours, for every report that carries its letterhead."""

from __future__ import annotations

from preflight.records import dataclass
from preflight.shopdata import Letterhead
from preflight.shopfile import LARGEST_LOGO, logo_kind

#: What text must stand out by against the paper (WCAG 2.2, 1.4.3), and what stands in for a paler colour.
_LEAST_CONTRAST = 4.5
_DARK = "#1a1a1a"


@dataclass(frozen=True, slots=True)
class Logo:
    """A picture of the shop's own, PNG or JPEG, as it lies in its file."""

    kind: str  #: "image/png" or "image/jpeg"
    data: bytes


def read_logo(letterhead: Letterhead) -> Logo | None:
    """The logo's file; None when there is none, or it is no longer what the shop file was checked with."""
    if letterhead.logo is None:
        return None
    try:
        with letterhead.logo.open("rb") as stream:
            data = stream.read(LARGEST_LOGO + 1)
    except OSError:
        return None
    kind = logo_kind(data)
    return None if kind is None or len(data) > LARGEST_LOGO else Logo(kind, data)


def legible(colour: str) -> str:
    """The colour of text, ``#rrggbb``; a dark one in the place of one that is hard to read on white."""
    return colour if contrast_with_white(colour) >= _LEAST_CONTRAST else _DARK


def contrast_with_white(colour: str) -> float:
    """WCAG 2's contrast ratio of a colour, ``#rrggbb``, against white."""
    levels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (level / 12.92 if level <= 0.04045 else ((level + 0.055) / 1.055) ** 2.4 for level in levels)
    return 1.05 / (0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05)
