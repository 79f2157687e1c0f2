"""The rows of the merged picture, channel by channel as they lie in the file."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

from preflight.intake.head import Reader, cut_short, unreadable
from preflight.intake.psd.sections import Sections

ROWS = 256
_RAW, _RUNS, _ZIP, _ZIP_PREDICTED = 0, 1, 2, 3


def rows(path: Path, sections: Sections, channels: list[int]) -> Iterator[tuple[int, npt.NDArray[Any]]]:
    """Pieces of ``ROWS`` rows of some channels.

    Parameters
    ----------
    channels
        Numbers of the channels that are wanted, in the order in which they are wanted.

    Yields
    ------
    tuple
        The first row's number, and samples of shape (rows, width, channels): uint8, or uint16 for 16 bits; single
        bits come as 0 and 255.

    Raises
    ------
    IntakeError
        When the data end early, or are damaged, as soon as that row is reached.
    OSError
        When the file cannot be opened.
    """
    with path.open("rb") as file:
        source = _open(file, sections)
        for y in range(0, sections.height, ROWS):
            count = min(ROWS, sections.height - y)
            planes = [_samples(source.rows(channel, y, count), sections, count) for channel in channels]
            yield y, np.stack(planes, axis=-1)


class _Source:
    """Where the bytes of each row lie; unpacked already for the rare kinds that have no rows."""

    def __init__(self, reader: Reader, sections: Sections) -> None:
        self.reader, self.sections = reader, sections
        self.start = sections.picture_at + 2
        self.row_bytes = (sections.width * sections.bits + 7) // 8

    def rows(self, channel: int, y: int, count: int) -> bytes:
        """Unpacked bytes of some rows of one channel."""
        at = self.start + (channel * self.sections.height + y) * self.row_bytes
        return self.reader.at(at, count * self.row_bytes)


class _Runs(_Source):
    """Rows packed one by one (PackBits), a table of their lengths before them."""

    def __init__(self, reader: Reader, sections: Sections) -> None:
        super().__init__(reader, sections)
        kind = np.dtype(">u4" if sections.large else ">u2")
        total = sections.height * sections.channels
        table = np.frombuffer(reader.at(self.start, total * kind.itemsize), kind).astype(np.int64)
        self.places = self.start + total * kind.itemsize + np.concatenate([[0], np.cumsum(table)])

    def rows(self, channel: int, y: int, count: int) -> bytes:
        """See ``_Source``."""
        from PIL import Image

        first = channel * self.sections.height + y
        places = self.places[first : first + count + 1]
        start = int(places[0])
        packed = self.reader.at(start, int(places[-1]) - start)
        bounds = (places - start).tolist()
        try:
            # Row by row: a damaged one must not shift those below. The decoder raises when a row comes out short.
            return b"".join(
                Image.frombytes("L", (self.row_bytes, 1), packed[here:there], "packbits", "L").tobytes()
                for here, there in pairwise(bounds)
            )
        except ValueError:
            raise unreadable(f"its merged picture is damaged near row {y} of {self.sections.height}") from None


class _Unpacked(_Source):
    """All rows unpacked at once."""

    def __init__(self, reader: Reader, sections: Sections, predicted: bool) -> None:
        super().__init__(reader, sections)
        total = self.row_bytes * sections.height * sections.channels
        unpacker = zlib.decompressobj()
        try:
            self.data = unpacker.decompress(reader.at(self.start, reader.size - self.start), total)
        except zlib.error:
            raise unreadable("its merged picture is damaged") from None
        if len(self.data) < total:
            raise cut_short()
        if predicted:
            wide = np.frombuffer(self.data, ">u2" if sections.bits == 16 else np.uint8).reshape(-1, sections.width)
            summed = np.cumsum(wide, axis=1, dtype=np.uint16 if sections.bits == 16 else np.uint8)
            self.data = summed.astype(wide.dtype).tobytes()

    def rows(self, channel: int, y: int, count: int) -> bytes:
        """See ``_Source``."""
        at = (channel * self.sections.height + y) * self.row_bytes
        return self.data[at : at + count * self.row_bytes]


def held(reader: Reader, sections: Sections) -> float:
    """Bytes of each pixel that are held while the rows are read: those of the kinds that have no rows."""
    kind = int.from_bytes(reader.at(sections.picture_at, 2), "big")
    copies = {_ZIP: 1.0, _ZIP_PREDICTED: 3.0}.get(kind, 0.0)
    return copies * sections.channels * sections.bits / 8


def _open(file: BinaryIO, sections: Sections) -> _Source:
    reader = Reader(file, file.seek(0, 2))
    kind = int.from_bytes(reader.at(sections.picture_at, 2), "big")
    if kind == _RUNS:
        return _Runs(reader, sections)
    if kind in (_ZIP, _ZIP_PREDICTED):
        return _Unpacked(reader, sections, kind == _ZIP_PREDICTED)
    if kind != _RAW:
        raise unreadable(f"its merged picture is packed in a way that is not known ({kind})")
    return _Source(reader, sections)


def _samples(data: bytes, sections: Sections, count: int) -> npt.NDArray[Any]:
    if sections.bits == 16:
        return np.frombuffer(data, ">u2").reshape(count, sections.width).astype(np.uint16)
    plane = np.frombuffer(data, np.uint8).reshape(count, -1)
    if sections.bits == 1:  # a set bit is black
        return (1 - np.unpackbits(plane, axis=1)[:, : sections.width]) * np.uint8(255)
    return plane
