"""Colours that people write: ``#1d1d1f``, ``#abc``, or a name of CSS."""

from __future__ import annotations

import re
from collections.abc import Collection

_HEX = r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})"

RGB = tuple[int, int, int]


def read_colour(text: str) -> RGB | None:
    """sRGB, 0…255 each, of a colour in hexadecimal or a CSS name in any case; None when it is neither.

    References
    ----------
    CSS Color Module Level 4, section 6.1 (148 named colours); Pillow carries the table.
    """
    text = text.strip()
    if not text.startswith("#"):
        text = _css_names().get(text.lower(), "")
    if not re.fullmatch(_HEX, text):
        return None
    digits = text[1:] if len(text) == 7 else "".join(digit * 2 for digit in text[1:])
    return int(digits[:2], 16), int(digits[2:4], 16), int(digits[4:], 16)


def colour_names() -> Collection[str]:
    """The names of CSS."""
    return _css_names().keys()


def _css_names() -> dict[str, str]:
    from PIL import ImageColor  # a check without a garment does not need it

    # Pillow replaces a name's code by its numbers once somebody in the process has asked for it.
    return {
        name: value if isinstance(value, str) else "#{:02x}{:02x}{:02x}".format(*value[:3])
        for name, value in ImageColor.colormap.items()
    }
