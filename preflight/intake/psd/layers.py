"""The layers of a PSD or PSB file: their names, which are hidden, and what they are. No pixel of them is read.

Layout as in ``sections``, from memory.
"""

from __future__ import annotations

import struct

from preflight.errors import IntakeError
from preflight.intake.head import AS_PNG, Reader, unreadable
from preflight.intake.psd.sections import Sections
from preflight.records import dataclass

_MOST_LAYERS = 8_000
_MOST_EXTRA = 256 << 20
_HIDDEN = 1 << 1
_DIVIDER = 3  #: section divider that ends a group; below it lie the group's layers
_GROUPS = (1, 2)
#: Blocks whose length takes eight bytes in a PSB file.
_LONG = (
    b"LMsk", b"Lr16", b"Lr32", b"Layr", b"Mt16", b"Mt32", b"Mtrn", b"Alph", b"FMsk", b"lnk2", b"FEid", b"FXid", b"PxSD",
)  # fmt: skip
_CLEAR = (b"Mtrn", b"Mt16", b"Mt32")
_DEEP = (b"Lr16", b"Lr32")
#: Blocks that make a layer more than its pixels: effects, filling layers, adjustments, outlines.
_MORE = {
    b"lfx2": "layer effects", b"lrFX": "layer effects", b"lmfx": "layer effects",
    b"SoCo": "filling layers", b"GdFl": "filling layers", b"PtFl": "filling layers",
    b"vmsk": "vector shapes", b"vsms": "vector shapes",
}  # fmt: skip
_ADJUSTMENTS = (
    b"levl", b"curv", b"brit", b"blnc", b"blwh", b"hue ", b"hue2", b"selc", b"mixr", b"grdm", b"phfl", b"expA",
    b"thrs", b"nvrt", b"post", b"vibA", b"clrL",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Layers:
    """What is known of all layers together."""

    count: int = 0  #: without groups
    hidden: tuple[str, ...] = ()  #: names of layers and groups that are switched off
    more: tuple[str, ...] = ()  #: what some of them are besides pixels
    clear_first: bool = False  #: the first extra channel is the transparency of the merged picture


@dataclass(frozen=True, slots=True)
class _Record:
    name: str
    hidden: bool
    section: int  #: 0 = a layer, 1 and 2 = a group, 3 = the end of a group
    blocks: frozenset[bytes]


def read_layers(reader: Reader, sections: Sections) -> Layers:
    """Read the layer section.

    Raises
    ------
    IntakeError
        When it does not hold together.
    """
    wide = 8 if sections.large else 4
    end = sections.picture_at
    at = sections.layers_at + wide
    if at + wide > end:
        return Layers()
    size = int.from_bytes(reader.at(at, wide), "big")
    at += wide
    if size:
        return _read(reader, sections, at, min(at + size, end))
    at = _after_mask(reader, at, end)
    return _in_blocks(reader, sections, at, end)


def _after_mask(reader: Reader, at: int, end: int) -> int:
    """Where the blocks after the layers' own part and the global mask start."""
    return at if at + 4 > end else at + 4 + int.from_bytes(reader.at(at, 4), "big")


def _in_blocks(reader: Reader, sections: Sections, at: int, end: int) -> Layers:
    """Layers of 16 bits lie in a block of their own."""
    clear = False
    found = Layers()
    for key, start, size in _blocks(reader, sections.large, at, end):
        clear = clear or key in _CLEAR
        if key in _DEEP:
            found = _read(reader, sections, start, start + size)
    return Layers(found.count, found.hidden, found.more, found.clear_first or clear)


def _read(reader: Reader, sections: Sections, at: int, end: int) -> Layers:
    (count,) = struct.unpack(">h", reader.at(at, 2))
    if abs(count) > _MOST_LAYERS:
        raise unreadable(f"it has more than {_MOST_LAYERS:,} layers", AS_PNG)
    at += 2
    records = []
    for _ in range(abs(count)):
        record, at = _record(reader, sections.large, at, end)
        records.append(record)
    shown = [record for record in _unfolded(records) if record.section != _DIVIDER]
    hidden = tuple(record.name for record in shown if record.hidden)
    more = dict.fromkeys(what for record in shown if not record.hidden for what in _kinds(record))
    return Layers(
        count=sum(record.section not in _GROUPS for record in shown),
        hidden=tuple(dict.fromkeys(hidden)),
        more=tuple(more),
        clear_first=count < 0,
    )


def _unfolded(records: list[_Record]) -> list[_Record]:
    """Layers from the top; those inside a hidden group are left out: the group stands for them."""
    shown: list[_Record] = []
    inside: list[bool] = []
    for record in reversed(records):
        if record.section == _DIVIDER:
            if inside:
                inside.pop()
            continue
        if not any(inside):
            shown.append(record)
        if record.section in _GROUPS:
            inside.append(record.hidden)
    return shown


def _kinds(record: _Record) -> list[str]:
    kinds = [what for key, what in _MORE.items() if key in record.blocks]
    if any(key in record.blocks for key in _ADJUSTMENTS):
        kinds.append("adjustment layers")
    return kinds


def _record(reader: Reader, large: bool, at: int, end: int) -> tuple[_Record, int]:
    (channels,) = struct.unpack(">H", reader.at(at + 16, 2))
    at += 18 + channels * (10 if large else 6)
    signature, _blend, _opacity, _clipping, flags, extra = struct.unpack(">4s4sBBBxI", reader.at(at, 16))
    at += 16
    if signature not in (b"8BIM", b"8B64") or at + extra > end or extra > _MOST_EXTRA:
        raise unreadable("its layers do not hold together")
    stop = at + extra
    place = at
    for _ in range(2):  # the mask and the ranges for blending
        place += 4 + int.from_bytes(reader.at(place, 4), "big")
    size = reader.at(place, 1)[0]
    name = reader.at(place + 1, size).decode("mac_roman", "replace")
    place += (size + 4) // 4 * 4  # the name with its length is padded to a multiple of four
    section, blocks = 0, set()
    for key, start, length in _blocks(reader, large, place, stop):
        blocks.add(key)
        if key == b"luni" and length >= 4:
            letters = min(2 * int.from_bytes(reader.at(start, 4), "big"), length - 4)
            name = reader.at(start + 4, letters).decode("utf-16-be", "replace").rstrip("\0")
        elif key in (b"lsct", b"lsdk") and length >= 4:
            section = int.from_bytes(reader.at(start, 4), "big")
    shown = " ".join("".join(letter if letter.isprintable() else " " for letter in name).split())[:80]
    return _Record(shown or "a layer without a name", bool(flags & _HIDDEN), section, frozenset(blocks)), stop


def _blocks(reader: Reader, large: bool, at: int, end: int) -> list[tuple[bytes, int, int]]:
    """Key, place and length of each tagged block; a damaged end of the list is left out."""
    found: list[tuple[bytes, int, int]] = []
    while at + 12 <= end and len(found) < _MOST_LAYERS:
        signature, key = struct.unpack(">4s4s", reader.at(at, 8))
        if signature not in (b"8BIM", b"8B64"):
            break
        wide = 8 if large and key in _LONG else 4
        size = int.from_bytes(reader.at(at + 8, wide), "big")
        start = at + 8 + wide
        if start + size > end:
            break
        found.append((key, start, size))
        at = start + (size + 1) // 2 * 2
        at = _next_block(reader, at, end)
    return found


def _next_block(reader: Reader, at: int, end: int) -> int:
    """Some writers pad to four bytes, not two."""
    for step in range(4):
        try:
            if at + step + 4 <= end and reader.at(at + step, 4) in (b"8BIM", b"8B64"):
                return at + step
        except IntakeError:
            break
    return at
