"""A drawing's pixels: at what resolution, and in strips."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

import numpy as np

from preflight.errors import IntakeError
from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.svg.cost import Cost
from preflight.intake.svg.lengths import PX_PER_INCH
from preflight.intake.svg.limits import too_complex
from preflight.intake.svg.size import Page
from preflight.intake.svg.source import first_tag
from preflight.intake.vips import ERRORS, pyvips
from preflight.model import Strip
from preflight.units import show_number

#: ppi at which a drawing of known size is drawn; common practice for line art, no source.
WANTED = 300.0
#: px of the longer side of a drawing whose size is not certain: 300 mm at 300 ppi.
_LONGER_SIDE = 3543.0
_MOST_PIXELS = 60e6
_MOST_SECONDS = 3.5
_MOST_MEMORY = 350e6
#: A drawing that has to be drawn with fewer px, and coarser than a screen, is not judged.
_LEAST_SIDE, _LEAST_SCALE = 500.0, 50.0 / PX_PER_INCH
#: No roll of film is longer.
_LONGEST_MM = 100_000.0
ROWS = 256
#: The library takes the resolution into its scale as well; this takes it out again (measured).
_TWICE = 72.0 / PX_PER_INCH
_SIZES = re.compile(rb"""\s(?:width|height|viewBox)\s*=\s*(?:"[^"]*"|'[^']*')""")


def scale_for(page: Page, cost: Cost, pixel_limit: int, ppi: float | None) -> float:
    """Px to draw for each px of the page at 96 ppi.

    Parameters
    ----------
    pixel_limit
        Most pixels that are let through.
    ppi
        Wanted, of the drawing's own size; None for what is usual.

    Returns
    -------
    float
        Less than wanted where that is too large or too dear.

    Raises
    ------
    IntakeError
        When not even a coarse drawing can be afforded.
    """
    wanted = _usual(page) if ppi is None else ppi / PX_PER_INCH
    most = math.sqrt(min(pixel_limit, _MOST_PIXELS) / (page.width * page.height))
    if page.certain and (most < min(wanted, _LEAST_SCALE) or max(page.size_mm) > _LONGEST_MM):
        shown = " × ".join(show_number(side) for side in page.size_mm)
        raise unreadable(
            f"the drawing is {shown} mm: too large to draw",
            "Set the drawing to the size of the print and send it again.",
        )
    scale = min(wanted, most)
    while cost.seconds(scale, page.width, page.height) > _MOST_SECONDS or (
        cost.memory(scale, page.width, page.height) > _MOST_MEMORY
    ):
        scale *= 0.9
        if scale * max(page.width, page.height) < 1:
            raise too_complex("drawing it would take too long")
    if scale < min(wanted, _LEAST_SCALE) and scale * max(page.width, page.height) < _LEAST_SIDE:
        raise too_complex("drawing it would take too long")
    return scale


def _usual(page: Page) -> float:
    return WANTED / PX_PER_INCH if page.certain else _LONGER_SIDE / max(page.width, page.height)


def bounded(data: bytes, root_at: int, page: Page) -> bytes:
    """The drawing with a size in its first tag, for one that states none.

    Parameters
    ----------
    root_at
        Where that tag begins.
    """
    if page.stated or page.box is None:
        return data
    tag = first_tag(data, root_at)
    if tag is None:
        return data
    name, rest = tag
    box = " ".join(f"{side:.6f}" for side in page.box)
    size = f' width="{page.width:.6f}" height="{page.height:.6f}" viewBox="{box}"'
    kept = _SIZES.sub(b"", rest)
    return data[:root_at] + name + size.encode() + kept + data[root_at + len(name) + len(rest) :]


def open_drawing(data: bytes, scale: float) -> Any:
    """The library's image of a drawing; nothing is drawn yet.

    Raises
    ------
    IntakeError
        When the library cannot read it.
    """
    options: dict[str, Any] = {"dpi": PX_PER_INCH, "scale": scale * _TWICE, "access": "sequential"}
    if len(data) > 8 << 20:
        options["unlimited"] = True  # the limits of the reader before have held
    try:
        return pyvips.Image.svgload_buffer(data, **options)
    except ERRORS as error:
        raise _refused(error) from error


def draw(data: bytes, scale: float) -> Iterator[Strip]:
    """Draw in pieces of 256 rows.

    Yields
    ------
    Strip
        RGBA, straight alpha.

    Raises
    ------
    IntakeError
        When the library gives up.
    """
    image = open_drawing(data, scale)
    try:
        region = pyvips.Region.new(image)
        for y in range(0, image.height, ROWS):
            count = min(ROWS, image.height - y)
            pixels = np.frombuffer(region.fetch(0, y, image.width, count), np.uint8)
            yield Strip(y, pixels.reshape(count, image.width, image.bands))
    except ERRORS as error:
        raise _refused(error) from error


def _refused(error: Exception) -> IntakeError:
    text = str(error).lower()
    if "instancing" in text or "limit" in text:
        return too_complex("its pieces are repeated too often")
    return unreadable("the drawing cannot be drawn: a part of it is not as SVG has it", SAVE_AGAIN)
