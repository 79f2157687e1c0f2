"""The parts of a PSD or PSB file before its merged picture: header, palette, resources, layers.

Layout: the published "Photoshop File Formats Specification", from memory. All numbers are big-endian. PSB files
(version 2) have longer lengths in places.
"""

from __future__ import annotations

import struct
from dataclasses import field

from preflight.intake.density import Stated
from preflight.intake.head import AS_PNG, SAVE_AGAIN, Reader, check_size, unreadable
from preflight.records import dataclass

BITMAP, GREY, INDEXED, RGB, CMYK, MULTICHANNEL, DUOTONE, LAB = 0, 1, 2, 3, 4, 7, 8, 9
#: Channels of colour in each mode.
COLOURS = {BITMAP: 1, GREY: 1, INDEXED: 1, RGB: 3, CMYK: 4, DUOTONE: 1, LAB: 3}
_RESOLUTION, _NAMES, _NAMES_WIDE, _DISPLAY, _DISPLAY_NEW = 0x03ED, 0x03EE, 0x0415, 0x03EF, 0x0435
_ICC, _IDENTIFIERS, _VERSION, _CLEAR_INDEX = 0x040F, 0x041D, 0x0421, 0x0417
_KEPT = (_RESOLUTION, _NAMES, _NAMES_WIDE, _DISPLAY, _DISPLAY_NEW, _ICC, _IDENTIFIERS, _VERSION, _CLEAR_INDEX)
_MOST_RESOURCES = 5_000
_MOST_KEPT_BYTES = 16 << 20
_MOST_CHANNELS = 56
_SPOT = 2  #: kind of a channel that is an ink of its own


@dataclass(frozen=True, slots=True)
class Extra:
    """A channel beyond the colours."""

    name: str
    spot: bool


@dataclass(frozen=True, slots=True)
class Sections:
    """What stands before the merged picture, and where each part lies."""

    version: int  #: 1 = PSD, 2 = PSB
    width: int
    height: int
    channels: int
    bits: int
    mode: int
    palette: bytes  #: 256 reds, 256 greens, 256 blues
    clear_index: int | None  #: the colour of a palette that is transparent
    resources: dict[int, bytes] = field(repr=False)
    layers_at: int  #: the length of the layer section stands there
    picture_at: int  #: the merged picture starts there

    @property
    def large(self) -> bool:
        """Whether it is a PSB file."""
        return self.version == 2

    @property
    def icc(self) -> bytes | None:
        """The colour profile."""
        return self.resources.get(_ICC)

    @property
    def has_merged(self) -> bool:
        """Whether the merged picture shows what the layers do; files that do not say so have it."""
        data = self.resources.get(_VERSION, b"")
        return len(data) < 5 or data[4] != 0

    @property
    def density(self) -> Stated | None:
        """Resource 0x03ED: 16.16 fixed point, pixels per inch whatever unit is shown."""
        data = self.resources.get(_RESOLUTION, b"")
        if len(data) < 12:
            return None
        x, y = struct.unpack(">I4xI", data[:12])
        return Stated(x / 65536.0, y / 65536.0, "PSD") if x and y else None

    def clear_channel(self, layers: int, layers_say: bool) -> int | None:
        """Which of the extra channels is the transparency of the merged picture.

        Parameters
        ----------
        layers
            How many layers there are.
        layers_say
            The layer section says that the first is.
        """
        extras = self.channels - COLOURS[self.mode]
        if extras <= 0:
            return None
        if layers_say:
            return 0
        numbers = self.resources.get(_IDENTIFIERS, b"")
        identifiers = [number for (number,) in struct.iter_unpack(">I", numbers[: len(numbers) // 4 * 4])]
        if 0 in identifiers and len(identifiers) <= extras:
            return extras - len(identifiers) + identifiers.index(0)
        # Programs without channels of their own write one more for the transparency and say nothing.
        silent = not identifiers and not self._names() and not self._kinds()
        return 0 if silent and extras == 1 and not layers else None

    def extras(self) -> list[Extra]:
        """The channels beyond the colours, in their order in the file."""
        count = max(0, self.channels - COLOURS[self.mode])
        names, kinds = self._names(), self._kinds()
        # The lists may leave out the transparency, which then comes first.
        names = [""] * (count - len(names)) + names[:count]
        kinds = [0] * (count - len(kinds)) + kinds[:count]
        return [
            Extra(" ".join(name.split()) or f"channel {COLOURS[self.mode] + at + 1}", kind == _SPOT)
            for at, (name, kind) in enumerate(zip(names, kinds, strict=True))
        ]

    def _names(self) -> list[str]:
        wide = self.resources.get(_NAMES_WIDE)
        names: list[str] = []
        data, at = wide if wide is not None else self.resources.get(_NAMES, b""), 0
        while at < len(data) and len(names) < _MOST_CHANNELS:
            if wide is None:
                size = data[at]
                names.append(data[at + 1 : at + 1 + size].decode("mac_roman", "replace"))
                at += 1 + size
            else:
                size = 2 * int.from_bytes(data[at : at + 4], "big")
                names.append(data[at + 4 : at + 4 + size].decode("utf-16-be", "replace").rstrip("\0"))
                at += 4 + size
        return names

    def _kinds(self) -> list[int]:
        if _DISPLAY_NEW in self.resources:
            data, size = self.resources[_DISPLAY_NEW][4:], 13
        else:
            data, size = self.resources.get(_DISPLAY, b""), 14
        return [data[at + 12] for at in range(0, len(data) - 12, size)]


def read_sections(reader: Reader) -> Sections:
    """Read everything before the merged picture but the layers.

    Raises
    ------
    IntakeError
        When the file ends before, or is not laid out like one.
    """
    version, channels, height, width, bits, mode = struct.unpack(">H6xHIIHH", reader.at(4, 22))
    check_size(width, height)
    if mode == MULTICHANNEL:
        raise unreadable(
            "its colours are separate ink channels (multichannel), and nothing says how they look together",
            "Change it to RGB or CMYK in the program that it was made in, save it again, and send the new file.",
        )
    if mode not in COLOURS or not COLOURS[mode] <= channels <= _MOST_CHANNELS:
        raise unreadable(f"its head does not hold together: {channels} channels in colour mode {mode}")
    if bits not in ((1,) if mode == BITMAP else (8, 16)):
        raise unreadable(
            f"it has {bits} bits for each colour, which cannot be read here",
            "Change it to 8 bits for each channel, save it again, and send the new file.",
        )
    palette_at, palette_size = _block(reader, 26)
    resources_at, resources_size = _block(reader, palette_at + palette_size)
    resources = _resources(reader, resources_at, resources_at + resources_size)
    layers_at = resources_at + resources_size
    width_of_length = 8 if version == 2 else 4
    length = int.from_bytes(reader.at(layers_at, width_of_length), "big")
    picture_at = layers_at + width_of_length + length
    reader.at(picture_at, 2)
    palette = reader.at(palette_at, 768) if mode == INDEXED and palette_size >= 768 else b""
    if mode == INDEXED and not palette:
        raise unreadable("its palette is missing", SAVE_AGAIN)
    clear = resources.get(_CLEAR_INDEX, b"")
    return Sections(
        version=version,
        width=width,
        height=height,
        channels=channels,
        bits=bits,
        mode=mode,
        palette=palette,
        clear_index=int.from_bytes(clear[:2], "big") if len(clear) >= 2 else None,
        resources=resources,
        layers_at=layers_at,
        picture_at=picture_at,
    )


def _block(reader: Reader, at: int) -> tuple[int, int]:
    """Where a block with a length before it starts, and that length; it lies inside the file."""
    size = int.from_bytes(reader.at(at, 4), "big")
    reader.at(at + 4 + size, 0)
    return at + 4, size


def _resources(reader: Reader, at: int, end: int) -> dict[int, bytes]:
    """The resources that are looked at; of two with one number the first."""
    found: dict[int, bytes] = {}
    kept = 0
    for _ in range(_MOST_RESOURCES):
        if at + 12 > end:
            return found
        number, name_size = struct.unpack(">4xHB", reader.at(at, 7))
        at += 6 + (name_size + 2) // 2 * 2  # the name with its length is padded to an even number
        size = int.from_bytes(reader.at(at, 4), "big")
        if at + 4 + size > end:
            raise unreadable("its resources do not hold together", SAVE_AGAIN)
        if number in _KEPT and number not in found:
            kept += size
            if kept > _MOST_KEPT_BYTES:
                raise unreadable("its resources are larger than they can be", AS_PNG)
            found[number] = reader.at(at + 4, size)
        at += 4 + (size + 1) // 2 * 2
    raise unreadable("it has more resources than it can have", AS_PNG)
