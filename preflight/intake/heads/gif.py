"""GIF 87a and 89a: a walk over the blocks. The size of the first picture is left to the decoder."""

from __future__ import annotations

from preflight.intake.head import Head, Reader, unreadable

#: The decoder holds the whole picture, red, green, blue and transparency.
_HELD = 4.5
_TRAILER, _EXTENSION, _IMAGE = 0x3B, 0x21, 0x2C


def read(reader: Reader) -> Head:
    """Walk all blocks to the trailer, so that a cut file is found.

    Raises
    ------
    IntakeError
        ``cut-short`` when the trailer is missing; ``unreadable-file`` when there is no picture before it.
    """
    offset = 13 + _table(reader.at(10, 1)[0])
    frames, interlaced = 0, False
    while (kind := reader.at(offset, 1)[0]) != _TRAILER:
        offset += 1
        if kind == _EXTENSION:
            offset = _skip_blocks(reader, offset + 1)
        elif kind == _IMAGE:
            flags = reader.at(offset, 9)[8]
            interlaced = interlaced or (frames == 0 and bool(flags & 0x40))
            frames += 1
            offset = _skip_blocks(reader, offset + 9 + _table(flags) + 1)
    if not frames:
        raise unreadable("it is a GIF file without a picture in it")
    return Head("GIF", 0, 0, "rgb", frames=frames, interlaced=interlaced, held=_HELD)


def _table(flags: int) -> int:
    """Bytes of the colour table that the flags announce."""
    return 3 * 2 ** ((flags & 7) + 1) if flags & 0x80 else 0


def _skip_blocks(reader: Reader, offset: int) -> int:
    """The place after a chain of sub-blocks; each starts with its length and the last has none."""
    while length := reader.at(offset, 1)[0]:
        offset += 1 + length
    return offset + 1
