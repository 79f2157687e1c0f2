"""Pictures placed on a page, with what their pixels come to there."""

from __future__ import annotations

import math

from preflight.intake.pdf import values
from preflight.intake.pdf.budget import MOST_PIXELS, too_complex
from preflight.intake.pdf.found import area
from preflight.intake.pdf.frame import Frame
from preflight.intake.pdf.inks import UNKNOWN, Space, whole_space
from preflight.intake.pdf.matrix import box_after, sides
from preflight.intake.pdf.values import Value
from preflight.model import PlacedPicture
from preflight.units import ppi

_UNIT = (0.0, 0.0, 1.0, 1.0)
_MOST_PIXELS = 1_000_000
_MOST_CHECKED = 1_000
#: A picture of so few pixels a side holds a flat colour; the shape then lies in its mask.
_FLAT = 2


def place(frame: Frame, picture: Value) -> None:
    """A picture is painted on the unit square of the current matrix; ISO 32000-1, 8.9.5 (from memory)."""
    outside = _elsewhere(picture)
    if outside is not None:
        if frame.visible(box_after(_UNIT, frame.state.ctm)) is not None:
            frame.page.found.linked.setdefault(outside)
        if values.get(picture, "/F") is not None:
            return
    stencil = values.get(picture, "/ImageMask") is True
    space = None if stencil else _space(frame, picture)
    paint = None if space is None else whole_space(space)
    seen = frame.mark(box_after(_UNIT, frame.state.ctm), paint=paint)
    if seen is None:
        return
    found = frame.page.found
    for part in (picture, values.get(picture, "/SMask")):
        if values.key_of(part) != (0, 0) and len(found.picture_keys) < _MOST_CHECKED:
            found.picture_keys.setdefault(values.key_of(part))
    if values.is_stream(values.get(picture, "/SMask")) or values.whole(values.get(picture, "/SMaskInData")):
        found.transparency = True
    pixels = _pixels(picture)
    _check_pixels(picture)
    _weigh(frame, picture, space)
    density = _density(pixels, sides(frame.state.ctm))
    if density is not None:
        found.pictures.add(PlacedPicture(area(seen), pixels, density))
    if paint is not None and paint.inks and all(found.inks.get(ink) == "white" for ink in paint.inks):
        found.white_pictures.add(values.key_of(picture))


def _check_pixels(picture: Value) -> None:
    """Refuse a picture that the drawing library could not hold."""
    for part in (picture, values.get(picture, "/SMask"), values.get(picture, "/Mask")):
        across, down = _size(part) if values.is_stream(part) else (0, 0)
        if across * down > MOST_PIXELS:
            raise too_complex(f"a picture on it has {across:,} × {down:,} pixels")


def _weigh(frame: Frame, picture: Value, space: Space | None) -> None:
    """Add what its colours cost where each pixel is calculated: of a single ink, the drawing library keeps a table."""
    if space is not None and space.components > 1 and space.program:
        frame.page.work.again += space.program * math.prod(_size(picture))


def _space(frame: Frame, picture: Value) -> Space:
    space = values.get(picture, "/ColorSpace")
    return UNKNOWN if space is None else frame.space(space)


def _elsewhere(picture: Value) -> str | None:
    """The file that a picture is kept in, or that it only stands for (OPI); None when it is all here."""
    file = values.get(picture, "/F")
    for version in ("/1.3", "/2.0"):
        file = file or values.get(values.get(values.get(picture, "/OPI"), version), "/F")
    return None if file is None else file_name(file)


def file_name(specification: Value) -> str:
    """What a file specification calls its file: text to show, never a path to open."""
    if values.is_dictionary(specification):
        specification = values.get(specification, "/UF") or values.get(specification, "/F")
    return values.text(specification) or "a file without a name"


def _pixels(picture: Value) -> tuple[int, int]:
    """Pixels that carry the detail: the picture's own, or its mask's where the picture is a mere colour."""
    own = _size(picture)
    if max(own) > _FLAT:
        return own
    masks = [values.get(picture, key) for key in ("/SMask", "/Mask")]
    return max([own, *(_size(mask) for mask in masks if values.is_stream(mask))])


def _size(picture: Value) -> tuple[int, int]:
    width, height = (values.whole(values.get(picture, key)) for key in ("/Width", "/Height"))
    return min(max(0, width), _MOST_PIXELS), min(max(0, height), _MOST_PIXELS)


def _density(pixels: tuple[int, int], lengths: tuple[float, float]) -> float | None:
    """The lower of the two densities; None for a flat colour.

    A side of one pixel holds no detail that could be too coarse: programs write ramps and fills like that.
    """
    if min(pixels) < 1:
        return None
    found = [ppi(count, length) for count, length in zip(pixels, lengths, strict=True) if count > 1 and length > 0.0]
    return min(found, default=None)
