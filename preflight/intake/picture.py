"""A picture file as an artwork: facts from its head, strips from its pixels."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from preflight.intake import decode, density, memory, pixels, profile
from preflight.intake.head import Head, Reader, check_size, unreadable
from preflight.intake.heads import bmp, gif, jpeg, png, tiff, webp
from preflight.intake.reading import reading
from preflight.model import Artwork, PixelFacts, Strip
from preflight.records import dataclass

_HEADS: Mapping[str, Callable[[Reader], Head]] = {
    "PNG": png.read,
    "JPEG": jpeg.read,
    "TIFF": tiff.read,
    "WebP": webp.read,
    "GIF": gif.read,
    "BMP": bmp.read,
}
FORMATS = tuple(_HEADS)
#: Bits of a pixel at the pixel limit: four channels of 16.
_MOST_BITS = 64
_TURNED_NOTE = "The file carries an orientation tag; the picture is checked the way viewers show it."


@dataclass(frozen=True, slots=True)
class PictureFile:
    """One picture in one file. Holds no file open between calls."""

    path: Path
    head: Head
    facts: PixelFacts
    page: int = 1

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        return self.path.name

    @property
    def document(self) -> None:
        """A picture file has no objects."""
        return None

    @property
    def held(self) -> int:
        """Bytes that are kept while it is decoded, its rows apart."""
        return memory.held(self.head, self.path.stat().st_size)

    def strips(self) -> Iterator[Strip]:
        """Pieces of 256 rows (the last may be shorter) from top to bottom, each once per call.

        Yields
        ------
        Strip
            RGBA with straight alpha, and the ink planes of a CMYK file.

        Raises
        ------
        IntakeError
            When the file turns out to be damaged or cut short; what came before is then no answer.

        Notes
        -----
        PNG, JPEG and TIFF stream; WebP, GIF, BMP, interlaced or progressive files and turned ones are decoded whole.
        Take all strips of one call in one thread.
        """
        rows = decode.bitmap if self.head.format == "BMP" else decode.rows
        with reading(self.path):
            memory.check_again(self.facts, self.held)
            for y, samples in rows(self.path, self.head):
                yield pixels.strip(y, samples, self.head)


def open_picture(path: Path, pixel_limit: int, *, format: str) -> list[Artwork]:  # noqa: A002
    """Read the head of a picture file; no pixel is decoded.

    Parameters
    ----------
    path
        An ordinary file.
    pixel_limit
        Most pixels that are let through.
    format
        One of ``FORMATS``, found from the content.

    Returns
    -------
    list of Artwork
        One: of several frames or pages the first, and a note says so.

    Raises
    ------
    IntakeError
        When the file is not whole, not readable, larger than the limit, or takes more memory than there is.
    OSError
        When the file cannot be opened.
    """
    # Of a PNG's many small pieces only the first bytes of each are read: a buffer would read the whole file.
    with path.open("rb", buffering=0 if format == "PNG" else -1) as file:
        size = file.seek(0, 2)
        head = _HEADS[format](Reader(file, size))
    if not head.width:
        head = _completed(head, decode.open_image(path, head))
    facts = _checked(head, size, pixel_limit)
    if format not in ("BMP", "GIF"):
        decode.open_image(path, head)
    return [PictureFile(path, head, facts)]


def _checked(head: Head, size: int, pixel_limit: int) -> PixelFacts:
    """Facts for the report. Raises IntakeError for a picture that is too large."""
    _check_limit(head, pixel_limit)
    facts = _facts(head)
    memory.check(facts, memory.held(head, size))
    return facts


def _completed(head: Head, image: Any) -> Head:
    """The head of a GIF: size and transparency as its decoder sees the first picture."""
    check_size(image.width, image.height)
    alpha = image.bands == 4
    return dataclasses.replace(
        head, width=image.width, height=image.height, extras=int(alpha), alpha=0 if alpha else None
    )


def _facts(head: Head) -> PixelFacts:
    """Facts for the report, the orientation applied, and a note for each thing assumed."""
    ppi, source, density_note = density.choose(head.stated, turned=head.turned)
    icc, icc_name, profile_note = profile.check_profile(head.icc, head.colour, says_srgb=head.says_srgb)
    notes = [*head.notes]
    notes += [note for note in (profile_note, density_note) if note]
    if head.frames > 1:
        notes.append(f"The file holds {head.frames} {head.frame_word}; only the first is checked.")
    if head.orientation != 1:
        notes.append(_TURNED_NOTE)
    width, height = (head.height, head.width) if head.turned else (head.width, head.height)
    return PixelFacts(
        format=head.format,
        width=width,
        height=height,
        has_alpha=head.alpha is not None,
        colour=head.colour,
        bits=head.bits,
        density_ppi=ppi,
        density_from=source,
        icc=icc,
        icc_name=icc_name,
        frames=head.frames,
        interlaced=head.interlaced,
        notes=tuple(notes),
    )


def _check_limit(head: Head, pixel_limit: int) -> None:
    """Refuse what is too large to decode, by pixels and by the bytes that many channels take."""
    pixels_there = head.width * head.height
    if pixels_there > pixel_limit:
        raise unreadable(
            f"the picture is {head.width} × {head.height} px, {pixels_there / 1e6:.1f} megapixels; "
            f"the limit is {pixel_limit / 1e6:.1f} megapixels",
            "Send it smaller, or raise film.longest_print or film.finest_ppi in the shop file.",
        )
    channels = head.channels
    if pixels_there * channels * max(8, head.bits) > pixel_limit * _MOST_BITS:
        raise unreadable(
            f"the picture is {head.width} × {head.height} px with {channels} channels of {head.bits} bits: too much",
            "Save it again with 8 bits per colour and without extra channels.",
        )
