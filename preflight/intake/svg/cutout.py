"""A part of a drawing as a drawing of its own."""

from __future__ import annotations

import re

from preflight.intake.pdf.matrix import Rect
from preflight.intake.svg.source import first_tag

#: Attributes that mean another thing, or another size, to an element inside than to the root.
_PLACED = re.compile(rb"""\s(?:x|y|width|height|transform)\s*=\s*(?:"[^"]*"|'[^']*')""")


def cut_out(data: bytes, root_at: int, size: tuple[float, float], part: Rect) -> bytes:
    """The drawing, laid into another one that shows only a part of it.

    What is inside keeps its own viewport, so that lengths in percent stay what they were.

    Parameters
    ----------
    root_at
        Where the first tag begins.
    size
        Width and height of the whole drawing, px at 96 px per inch.
    part
        Left, top, right and bottom in the same px.
    """
    tag = first_tag(data, root_at)
    if tag is None:
        return data
    left, top, right, bottom = part
    box = f"{left:.6f} {top:.6f} {right - left:.6f} {bottom - top:.6f}"
    around = f'<svg xmlns="http://www.w3.org/2000/svg" width="{right - left:.6f}" height="{bottom - top:.6f}" '
    name, rest = tag
    start = f'{around}viewBox="{box}">'.encode()
    own_size = f' width="{size[0]:.6f}" height="{size[1]:.6f}"'.encode()
    inner = name + own_size + _PLACED.sub(b"", rest)
    return b"".join((data[:root_at], start, inner, data[root_at + len(name) + len(rest) :], b"</svg>"))
