"""TIFF 6.0 and BigTIFF: the tags of the first page, and whether all pages are whole.

What the decoder would turn into black, or into wrong colours without a word, is refused here by its tag: compressions
that it was built without, YCbCr outside JPEG (it hands on the raw values), 16 bit inks with premultiplied transparency
(it divides by the wrong full scale). All measured with libvips 8.18.
"""

from __future__ import annotations

from preflight.intake.head import SAMPLES, Head, Reader, check_size, cut_short, unreadable
from preflight.intake.tags import Directory, TagFile
from preflight.records import dataclass

_SUBFILE, _WIDTH, _HEIGHT, _BITS, _COMPRESSION, _PHOTOMETRIC = 254, 256, 257, 258, 259, 262
_SAMPLES, _ROWS, _PLANAR, _SUB_IFDS, _EXTRA, _FORMAT, _INK_SET, _ICC = 277, 278, 284, 330, 338, 339, 332, 34675
_TILE_WIDTH, _RAW_VERSION = 322, 50706
_NO_PAGE = 0b101  # NewSubfileType: a smaller copy, a mask
#: Where the pixels lie and how long each piece is: strips, tiles.
_STRIPS = 273
_PIECES = ((_STRIPS, 279), (324, 325))
#: Compressions that are decoded. Baseline, TIFF 6.0 and its technical notes.
_DECODED = {1, 2, 3, 4, 5, 7, 8, 32773, 32946}
_JPEG = 7
_COMPRESSIONS = {
    6: "old-style JPEG",
    34661: "JBIG",
    34712: "JPEG 2000",
    34887: "LERC",
    34925: "LZMA",
    50000: "Zstandard",
    50001: "WebP",
    50002: "JPEG XL",
}
_COLOURS = {0: "grey", 1: "grey", 2: "rgb", 3: "rgb", 5: "cmyk", 6: "rgb", 8: "rgb"}
_PALETTE, _INKS, _YCBCR, _LAB, _SENSOR = 3, 5, 6, 8, 32803
_UNSIGNED, _FLOAT = 1, 3
_PREMULTIPLIED, _STRAIGHT = 1, 2
#: Bits per sample that are decoded, by photometric interpretation.
_DEPTHS = {0: (1, 2, 4, 8, 16), 1: (1, 2, 4, 8, 16), 2: (8, 16), 3: (1, 2, 4, 8, 16), 5: (8, 16), 6: (8,), 8: (16,)}
_SAVE_PLAIN = "Save it again as TIFF with LZW or ZIP compression or none, 8 bits per colour, channels interleaved."
_SAVE_RGB = "Save it again as RGB with 8 bits per colour."
_SAVE_CMYK = "Save it again as RGB, or as CMYK without extra inks."
_RAW_STEP = "Develop it in a camera raw program and send the result as a TIFF or PNG."


@dataclass(frozen=True, slots=True)
class _Page:
    """What the tags of a page say about its pixels."""

    photometric: int
    compression: int
    bits: int
    format: int
    samples: int
    extra: tuple[int, ...] | None
    tiled: bool
    planar: bool


def read(reader: Reader) -> Head:
    """Read the first page's tags and check that the pieces of every page lie inside the file.

    Raises
    ------
    IntakeError
        ``cut-short`` when anything lies beyond the end; ``unreadable-file`` with the reason for what cannot be decoded.
    """
    pages = list(TagFile(reader).directories())
    if not pages:
        raise unreadable("it is a TIFF file without a picture in it")
    first = pages[0]
    _refuse_raw(first)
    page = _page(first)
    width, height = first.number(_WIDTH, 0), first.number(_HEIGHT, 0)
    check_size(width, height)
    _refuse_odd(page, first)
    for one in pages:
        _check_whole(reader, one)
    colour = _COLOURS[page.photometric]
    extras, alpha, notes = _beyond_colour(page, colour)
    converted = page.photometric == _LAB or page.format == _FLOAT
    if converted:
        notes += ("The file's colours are stored as floating-point or Lab values; they were turned into sRGB.",)
    density = first.resolution("TIFF")
    return Head(
        "TIFF",
        width,
        height,
        colour,
        bits=8 if page.photometric == _PALETTE else page.bits,
        extras=extras,
        alpha=alpha,
        convert=converted,
        orientation=first.orientation(),
        stated=(density,) if density else (),
        icc=None if converted else first.raw(_ICC),
        says_srgb=converted,
        frames=max(1, sum(not one.number(_SUBFILE, 0) & _NO_PAGE for one in pages)),
        frame_word="pages",
        unlimited=not page.tiled,  # one strip may hold the whole picture; a tile never has to
        notes=notes,
    )


def _page(tags: Directory) -> _Page:
    samples = tags.number(_SAMPLES, 1)
    extra = tuple(int(kind) for kind in tags.numbers(_EXTRA)) if _EXTRA in tags else None
    return _Page(
        photometric=tags.number(_PHOTOMETRIC, -1),
        compression=tags.number(_COMPRESSION, 1),
        bits=_same(tags.numbers(_BITS)[:samples], 1),
        format=_same(tags.numbers(_FORMAT)[:samples], _UNSIGNED),
        samples=samples,
        extra=extra,
        tiled=_TILE_WIDTH in tags,
        planar=tags.number(_PLANAR, 1) == 2,
    )


def _same(values: list[float], default: int) -> int:
    """The one value of all channels; 0 where they differ."""
    return int(values[0]) if len(set(values)) == 1 else 0 if values else default


def _refuse_raw(tags: Directory) -> None:
    """Camera raw files are TIFF files whose first page is only a preview."""
    preview = tags.number(_SUBFILE, 0) & 1 and _SUB_IFDS in tags
    if _RAW_VERSION in tags or preview or tags.number(_PHOTOMETRIC, -1) == _SENSOR:
        raise unreadable("it is a camera raw file", _RAW_STEP)


def _refuse_odd(page: _Page, tags: Directory) -> None:
    """Say why a page cannot be decoded rightly, by its tags."""
    if page.compression not in _DECODED:
        name = _COMPRESSIONS.get(page.compression, f"number {page.compression}")
        raise unreadable(f"its TIFF compression ({name}) cannot be read here", _SAVE_PLAIN)
    if page.photometric not in _COLOURS:
        raise unreadable(
            f"its TIFF colours (photometric interpretation {page.photometric}) cannot be read here", _SAVE_RGB
        )
    if page.photometric == _YCBCR and page.compression != _JPEG:
        raise unreadable("its TIFF colours (YCbCr without JPEG) cannot be read here", _SAVE_PLAIN)
    if page.photometric == _LAB and page.bits != 16:
        raise unreadable(f"its TIFF colours (Lab with {page.bits} bits) cannot be read here", _SAVE_RGB)
    floating = page.format == _FLOAT and page.photometric == 2 and page.bits in (16, 32)
    if not floating and (page.format != _UNSIGNED or page.bits not in _DEPTHS[page.photometric]):
        raise unreadable(f"its TIFF samples ({_sample_words(page)}) cannot be read here", _SAVE_PLAIN)
    if page.tiled and page.planar:
        raise unreadable("its TIFF layout (tiles of separate channels) cannot be read here", _SAVE_PLAIN)
    if page.photometric == _INKS and tags.number(_INK_SET, 1) != 1:
        raise unreadable("its inks are not cyan, magenta, yellow and black", _SAVE_CMYK)


def _sample_words(page: _Page) -> str:
    kind = {_UNSIGNED: "whole numbers", 2: "signed numbers", _FLOAT: "floating-point numbers"}.get(page.format, "mixed")
    return f"{page.bits} bits, {kind}"


def _beyond_colour(page: _Page, colour: str) -> tuple[int, int | None, tuple[str, ...]]:
    """How many samples a pixel has beyond its colour, which is the transparency, and what to say about the others.

    ExtraSamples (TIFF 6.0, p. 31): 0 unspecified, 1 premultiplied, 2 straight. Where the tag is missing, one more
    sample than grey or RGB needs is taken as transparency (common practice, no source).
    """
    stored = 1 if page.photometric == _PALETTE else SAMPLES[colour]
    extras = page.samples - stored
    if extras < 0 or (page.extra is not None and len(page.extra) > extras):
        raise unreadable(f"its TIFF head is damaged: {page.samples} channels for {colour} colours")
    kinds = page.extra if page.extra is not None else (0,) * extras
    notes: tuple[str, ...] = ()
    if page.extra is None and extras == 1 and colour != "cmyk":
        kinds = (_STRAIGHT,)
        notes = ("The file does not say what its last channel is; it is taken as transparency.",)
    alpha = next((at for at, kind in enumerate(kinds) if kind in (_PREMULTIPLIED, _STRAIGHT)), None)
    if page.bits == 16 and colour == "cmyk" and _PREMULTIPLIED in kinds:
        raise unreadable("its transparency (premultiplied, with 16 bit inks) cannot be read here", _SAVE_PLAIN)
    unread = extras - (alpha is not None)
    if unread:
        channels = "1 channel" if unread == 1 else f"{unread} channels"
        notes += (f"The file holds {channels} beyond its colours (spot inks or masks); not read, not printed.",)
    return extras, alpha, notes


def _check_whole(reader: Reader, tags: Directory) -> None:
    """All strips or tiles of a page lie inside the file.

    What an uncompressed strip needs counts, not what it claims: some writers claim a full strip for the last, short
    one, and old files claim nothing.
    """
    for offsets_tag, counts_tag in _PIECES:
        offsets, counts = tags.numbers(offsets_tag), tags.numbers(counts_tag)
        if offsets_tag == _STRIPS and tags.number(_COMPRESSION, 1) == 1:
            needed = _plain_strips(tags, len(offsets))
            counts = [min(pair) for pair in zip(counts, needed, strict=False)] or [*needed]
        if any(at + count > reader.size for at, count in zip(offsets, counts, strict=False)):
            raise cut_short()


def _plain_strips(tags: Directory, strips: int) -> list[float]:
    """Bytes of each uncompressed strip, plane after plane where the channels lie apart."""
    page, height = _page(tags), tags.number(_HEIGHT, 0)
    rows = min(max(1, tags.number(_ROWS, height)), max(1, height))
    per_plane = -(-height // rows)
    row = (tags.number(_WIDTH, 0) * page.bits * (1 if page.planar else page.samples) + 7) // 8
    return [row * min(rows, height - at % max(1, per_plane) * rows) for at in range(strips)]
