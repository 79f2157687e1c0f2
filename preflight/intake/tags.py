"""Tag directories as TIFF 6.0 and BigTIFF lay them out; EXIF uses the same."""

from __future__ import annotations

import io
import math
import struct
from collections.abc import Iterator

from preflight.errors import IntakeError
from preflight.intake.density import Stated, from_resolution
from preflight.intake.head import Reader, cut_short, unreadable
from preflight.records import dataclass

ORIENTATION, X_RESOLUTION, Y_RESOLUTION, RESOLUTION_UNIT = 0x0112, 0x011A, 0x011B, 0x0128
#: Field type → struct letter of one number; rationals are pairs (TIFF 6.0, p. 15; BigTIFF 16–18).
_LETTERS = {
    1: "B",
    3: "H",
    4: "I",
    6: "b",
    7: "B",
    8: "h",
    9: "i",
    11: "f",
    12: "d",
    13: "I",
    16: "Q",
    17: "q",
    18: "Q",
}
_RATIONALS = {5: "I", 10: "i"}
_TEXT = 2
#: Pages that are looked at; a chain this long is no artwork.
MOST_DIRECTORIES = 4096


@dataclass(frozen=True, slots=True)
class Field:
    """Where the values of one tag lie."""

    type: int
    count: int
    offset: int

    @property
    def length(self) -> int:
        """Bytes that the values take up; 0 for an unknown type."""
        if self.type in _RATIONALS:
            return 8 * self.count
        if self.type == _TEXT:
            return self.count
        letter = _LETTERS.get(self.type)
        return struct.calcsize(f"<{letter}") * self.count if letter else 0


class Directory:
    """The tags of one page."""

    def __init__(self, reader: Reader, order: str, fields: dict[int, Field], following: int) -> None:
        self._reader = reader
        self._order = order
        self._fields = fields
        self.following = following  #: offset of the next directory, 0 = none

    def __contains__(self, tag: int) -> bool:
        return tag in self._fields

    def raw(self, tag: int) -> bytes | None:
        """The bytes of a tag, or None where it is missing."""
        field = self._fields.get(tag)
        return None if field is None else self._reader.at(field.offset, field.length)

    def numbers(self, tag: int) -> list[float]:
        """The numbers of a tag; empty where it is missing or holds none. A rational over 0 is not a number (nan)."""
        field = self._fields.get(tag)
        if field is None:
            return []
        data = self._reader.at(field.offset, field.length)
        if field.type in _RATIONALS:
            pairs = struct.unpack(f"{self._order}{2 * field.count}{_RATIONALS[field.type]}", data)
            return [n / d if d else math.nan for n, d in zip(pairs[::2], pairs[1::2], strict=True)]
        letter = _LETTERS.get(field.type)
        return list(struct.unpack(f"{self._order}{field.count}{letter}", data)) if letter else []

    def number(self, tag: int, default: int) -> int:
        """The first number of a tag, whole."""
        values = self.numbers(tag)
        return int(values[0]) if values and math.isfinite(values[0]) else default

    def resolution(self, source: str) -> Stated | None:
        """The density from XResolution, YResolution and ResolutionUnit (inch where it is missing, TIFF 6.0)."""
        x, y = (next(iter(self.numbers(tag)), None) for tag in (X_RESOLUTION, Y_RESOLUTION))
        return from_resolution(x, y, self.number(RESOLUTION_UNIT, 2), source)

    def orientation(self) -> int:
        """1 … 8; 1 where the tag is missing or odd."""
        value = self.number(ORIENTATION, 1)
        return value if 1 <= value <= 8 else 1


class TagFile:
    """A TIFF file, or the block of an EXIF segment.

    Raises
    ------
    IntakeError
        When the header is not one of TIFF's, or anything lies beyond the end of the file.
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        header = reader.at(0, 8)
        self._order = {b"II": "<", b"MM": ">"}.get(header[:2], "")
        if not self._order:
            raise unreadable("its head is not that of a TIFF file")
        (version,) = struct.unpack(f"{self._order}H", header[2:4])
        self._big = version == 43
        if self._big:
            (self._first,) = struct.unpack(f"{self._order}Q", reader.at(8, 8))
        else:
            (self._first,) = struct.unpack(f"{self._order}I", header[4:])

    def directories(self) -> Iterator[Directory]:
        """One directory after another; a chain that bites its tail ends there."""
        offset = self._first
        seen: set[int] = set()
        while offset and offset not in seen and len(seen) < MOST_DIRECTORIES:
            seen.add(offset)
            directory = self._directory(offset)
            yield directory
            offset = directory.following

    def _directory(self, offset: int) -> Directory:
        entry, tiny = ("HHQ", 8) if self._big else ("HHI", 4)
        entry_size = 4 + 2 * tiny  # tag, type, count, and the value or where it lies
        count_letter = "Q" if self._big else "H"
        head = struct.calcsize(f"<{count_letter}")
        (count,) = struct.unpack(f"{self._order}{count_letter}", self._reader.at(offset, head))
        table = self._reader.at(offset + head, count * entry_size + tiny)
        pointer = f"{self._order}{'Q' if self._big else 'I'}"
        fields: dict[int, Field] = {}
        for place in range(0, count * entry_size, entry_size):
            tag, kind, values = struct.unpack_from(f"{self._order}{entry}", table, place)
            inline = Field(kind, values, offset + head + place + entry_size - tiny)
            (elsewhere,) = struct.unpack_from(pointer, table, place + entry_size - tiny)
            field = inline if inline.length <= tiny else Field(kind, values, elsewhere)
            if field.offset + field.length > self._reader.size:
                raise cut_short()
            fields.setdefault(tag, field)
        (following,) = struct.unpack_from(pointer, table, count * entry_size)
        return Directory(self._reader, self._order, fields, following)


def read_exif(block: bytes) -> tuple[int, Stated | None]:
    """Orientation and density of an EXIF block; 1 and None where it cannot be read: it is not the picture.

    Parameters
    ----------
    block
        With or without the six bytes ``Exif`` and two zeros before it.
    """
    data = block.removeprefix(b"Exif\x00\x00")
    try:
        first = next(TagFile(Reader(io.BytesIO(data), len(data))).directories(), None)
        return (1, None) if first is None else (first.orientation(), first.resolution("EXIF"))
    except IntakeError:
        return 1, None
