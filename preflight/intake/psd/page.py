"""A PSD or PSB file as an artwork."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from preflight.intake import density, memory, profile
from preflight.intake.head import AS_PNG, Head, Reader, unreadable
from preflight.intake.pdf.names import PROCESS, is_white
from preflight.intake.psd import colours, composed, merged
from preflight.intake.psd.layers import Layers, read_layers
from preflight.intake.psd.sections import BITMAP, CMYK, COLOURS, DUOTONE, GREY, INDEXED, LAB, Sections, read_sections
from preflight.intake.reading import reading
from preflight.model import Bytes, DocumentFacts, InkFact, PixelFacts, Strip
from preflight.records import dataclass
from preflight.units import MM_PER_INCH

FORMAT = "PSD"
#: Bits of a pixel at the pixel limit: four channels of 16.
_MOST_BITS = 64
#: Where nothing is stated, one pixel is taken as 1/72 in, as the program that the format comes from does (from memory).
_GUESSED_PPI = 72.0
_COLOUR_WORDS = {BITMAP: "grey", GREY: "grey", DUOTONE: "grey", CMYK: "cmyk"}
_COMPATIBLE = "Turn on 'Maximize compatibility' in the options for saving, save it again, and send the new file."


@dataclass(frozen=True, slots=True)
class PsdPage:
    """The picture of a layered file. Holds no file open between calls."""

    path: Path
    facts: PixelFacts
    document: DocumentFacts
    page: int
    _sections: Sections = field(repr=False)
    _head: Head = field(repr=False)
    _merged: bool  #: the merged picture is read, not the layers
    _clear: int | None  #: number of the channel that is the transparency
    _spots: tuple[tuple[str, int], ...]  #: names of spot channels as shown, and their numbers in the file

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        return self.path.name

    def strips(self) -> Iterator[Strip]:
        """Pieces of 256 rows (the last may be shorter) from top to bottom, each once per call.

        Yields
        ------
        Strip
            RGBA with straight alpha, and the inks of a CMYK file.

        Raises
        ------
        IntakeError
            When the file turns out to be damaged or cut short.
        """
        with reading(self.path):
            memory.check_again(self.facts, memory.held(self._head, 0))
            for y, samples in self._rows():
                yield colours.to_strip(y, samples, self._sections, self._head)

    def ink_shares(self) -> tuple[InkFact, ...]:
        """The file's inks, with the share of the canvas that each spot channel would cover at 100 %.

        Raises
        ------
        IntakeError
            As ``strips``.
        """
        known = {name: self._share(channel) for name, channel in self._spots}
        return tuple(replace(ink, share=known.get(ink.name)) for ink in self.document.inks)

    def white_plate(self) -> Iterator[tuple[int, Bytes]]:
        """The customer's own white plate in rows like ``strips``; nothing where there is none.

        Yields
        ------
        tuple
            The first row's number, and uint8 of shape (rows, width): 255 = full white.

        Raises
        ------
        IntakeError
            As ``strips``.
        """
        whites = [channel for name, channel in self._spots if is_white(name)]
        if whites:
            for y, plates in self._inks(whites):
                yield y, np.asarray(plates.max(axis=-1), np.uint8)

    def _rows(self) -> Iterator[tuple[int, npt.NDArray[Any]]]:
        if not self._merged:
            return composed.rows(self.path, self._sections)
        channels = list(range(COLOURS[self._sections.mode]))
        if self._clear is not None:
            channels.append(self._clear)
        return merged.rows(self.path, self._sections, channels)

    def _share(self, channel: int) -> float:
        total = sum(float(plates.sum(dtype=np.float64)) for _, plates in self._inks([channel]))
        return total / (255.0 * self.facts.width * self.facts.height)

    def _inks(self, channels: list[int]) -> Iterator[tuple[int, Bytes]]:
        """Spot channels with 255 = full ink; they are stored the other way round."""
        with reading(self.path):
            for y, samples in merged.rows(self.path, self._sections, channels):
                light = samples if samples.dtype == np.uint8 else (samples >> 8).astype(np.uint8)
                yield y, np.asarray(255 - light, np.uint8)


def open_page(path: Path, pixel_limit: int) -> PsdPage:
    """Read everything but the pixels. Raises as ``psd.open_psd``."""
    with path.open("rb") as file:
        reader = Reader(file, file.seek(0, 2))
        sections = read_sections(reader)
        _check_limit(sections, pixel_limit)
        layers = read_layers(reader, sections)
        held = merged.held(reader, sections)
    has_merged = sections.has_merged or not layers.count
    clear: int | None = None
    if has_merged:
        place = sections.clear_channel(layers.count, layers.clear_first)
        clear = None if place is None else COLOURS[sections.mode] + place
    else:
        _check_layers(sections, layers)
    spots = tuple(
        (one.name, channel)
        for channel, one in enumerate(sections.extras(), COLOURS[sections.mode])
        if one.spot and channel != clear
    )
    head = replace(_head(sections, see_through=clear is not None or not has_merged), held=held if has_merged else 0.0)
    facts = _facts(head, sections, layers, spots, has_merged)
    memory.check(facts, memory.held(head, 0))
    document = _document(facts, sections, layers, spots)
    return PsdPage(path, facts, document, 1, sections, head, has_merged, clear, spots)


def _head(sections: Sections, *, see_through: bool) -> Head:
    """The picture as its rows are read: the colours, then the transparency."""
    stated = sections.density
    return Head(
        format=FORMAT,
        width=sections.width,
        height=sections.height,
        colour=_COLOUR_WORDS.get(sections.mode, "rgb"),
        bits=sections.bits,
        extras=int(see_through),
        alpha=0 if see_through else None,
        inverted=sections.mode == CMYK,
        stated=(stated,) if stated is not None else (),
        icc=sections.icc,
    )


def _facts(
    head: Head, sections: Sections, layers: Layers, spots: tuple[tuple[str, int], ...], has_merged: bool
) -> PixelFacts:
    ppi, source, density_note = density.choose(head.stated, turned=False)
    if sections.mode == LAB:
        icc = icc_name = note = None  # it is turned into sRGB here
    else:
        icc, icc_name, note = profile.check_profile(head.icc, head.colour, says_srgb=False)
    clear_colour = sections.mode == INDEXED and sections.clear_index is not None
    return PixelFacts(
        format=FORMAT,
        width=head.width,
        height=head.height,
        has_alpha=head.alpha is not None or clear_colour,
        colour=head.colour,
        bits=head.bits,
        density_ppi=ppi,
        density_from=source,
        icc=icc,
        icc_name=icc_name,
        notes=tuple(one for one in (*_notes(sections, layers, spots, has_merged), note, density_note) if one),
    )


def _notes(sections: Sections, layers: Layers, spots: tuple[tuple[str, int], ...], has_merged: bool) -> Iterator[str]:
    if not has_merged:
        yield "The file was saved without its merged picture; it was put together from its layers."
    if sections.mode == DUOTONE:
        yield "The file is a duotone: its inks are not known here, and it is checked as a grey picture."
    if spots:
        names = ", ".join(name for name, _ in spots)
        yield f"The file has spot colour channels ({names}); they are not part of the picture that is checked."
    if layers.hidden:
        yield f"The file has {len(layers.hidden)} hidden layers or groups; they are not part of the picture."


def _document(
    facts: PixelFacts, sections: Sections, layers: Layers, spots: tuple[tuple[str, int], ...]
) -> DocumentFacts:
    across, down = facts.density_ppi or (_GUESSED_PPI, _GUESSED_PPI)
    process = PROCESS if sections.mode == CMYK else ()
    return DocumentFacts(
        pages=1,
        width_mm=facts.width * MM_PER_INCH / across,
        height_mm=facts.height * MM_PER_INCH / down,
        size_certain=facts.density_ppi is not None,
        inks=(
            *(InkFact(name, "process") for name in process),
            *(InkFact(name, "white" if is_white(name) else "spot") for name, _ in spots),
        ),
        hidden_layers=layers.hidden[:100],
        layers=layers.count,
        transparency=facts.has_alpha,
    )


def _check_limit(sections: Sections, pixel_limit: int) -> None:
    there = sections.width * sections.height
    if there > pixel_limit:
        raise unreadable(
            f"the picture is {sections.width} × {sections.height} px, {there / 1e6:.1f} megapixels; "
            f"the limit is {pixel_limit / 1e6:.1f} megapixels",
            "Send it smaller, or raise film.longest_print or film.finest_ppi in the shop file.",
        )
    if there * (COLOURS[sections.mode] + 1) * max(8, sections.bits) > pixel_limit * (_MOST_BITS + 16):
        raise unreadable("the picture has more bits for each pixel than can be read", AS_PNG)


def _check_layers(sections: Sections, layers: Layers) -> None:
    """Refuse layers that cannot be put together faithfully."""
    if sections.mode in (BITMAP, INDEXED, LAB, DUOTONE) or sections.bits != 8 or layers.more:
        with_what = f", and it has {', '.join(layers.more)}" if layers.more else ""
        raise unreadable(f"it was saved without its merged picture{with_what}", _COMPATIBLE)
