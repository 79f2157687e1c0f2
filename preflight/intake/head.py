"""What the head of a picture file says, as it is stored, and the careful reading of its bytes."""

from __future__ import annotations

from typing import BinaryIO

from preflight.errors import IntakeError
from preflight.intake.density import Stated
from preflight.records import dataclass

#: What to do about a file that lost its end, or whose inside does not hold together.
SEND_AGAIN = "Send the file again: a copy or an upload stopped half-way."
SAVE_AGAIN = "Open it in the program it was made in, save it again, and send the new file."
AS_PNG = "Send it as a PNG with a transparent background, at print size and 300 ppi."

#: Pixels of a side: 42 m at 600 ppi. A strip of 256 rows of a narrower picture costs as much as one that is wide.
_LONGEST_SIDE = 1_000_000
#: Colour samples of a pixel, without transparency.
SAMPLES = {"grey": 1, "rgb": 3, "cmyk": 4}


def cut_short(what: str = "the file ends before the picture does") -> IntakeError:
    """The error for a file that is not whole. The caller adds the file's name."""
    return IntakeError(what, SEND_AGAIN, rule="cut-short")


def unreadable(what: str, next_step: str = SAVE_AGAIN) -> IntakeError:
    """The error for a file that cannot be read. The caller adds the file's name."""
    return IntakeError(what, next_step, rule="unreadable-file")


@dataclass(frozen=True, slots=True)
class Head:
    """A picture file before its orientation is applied and before a pixel is decoded.

    ``extras`` counts the samples of a pixel beyond its colour; ``alpha`` says which of them is the transparency,
    from 0. Width, height and ``extras`` are 0 where only the decoder knows them (GIF).
    """

    format: str
    width: int
    height: int
    colour: str  #: "rgb", "grey" or "cmyk"
    bits: int = 8
    extras: int = 0
    alpha: int | None = None
    inverted: bool = False  #: inks come out of the decoder with 255 = no ink
    convert: bool = False  #: the decoder must turn the colours into sRGB (float, Lab)
    orientation: int = 1  #: EXIF 2.32, tag 0x0112: 1 … 8
    stated: tuple[Stated, ...] = ()  #: densities, the most trusted first
    icc: bytes | None = None
    says_srgb: bool = False  #: the file names sRGB itself, without a profile
    frames: int = 1
    frame_word: str = "frames"
    interlaced: bool = False  #: stored in several passes: has to be decoded whole
    held: float = 0.0  #: bytes of each pixel that decoding keeps: 0 where it streams (measured, see ``memory``)
    unlimited: bool = False  #: the decoder's own limit on one allocation is in the way of an honest file
    notes: tuple[str, ...] = ()

    @property
    def channels(self) -> int:
        """Samples of a pixel."""
        return SAMPLES[self.colour] + self.extras

    @property
    def turned(self) -> bool:
        """Whether the orientation swaps width and height."""
        return self.orientation >= 5


class Reader:
    """Bytes of a file at a place, never fewer than asked for.

    Parameters
    ----------
    file
        Open for reading, in binary.
    size
        Bytes in the file.
    """

    def __init__(self, file: BinaryIO, size: int) -> None:
        self._file = file
        self.size = size

    def at(self, offset: int, count: int) -> bytes:
        """``count`` bytes from ``offset``.

        Raises
        ------
        IntakeError
            ``cut-short`` when the file ends before.
        """
        if offset < 0 or count < 0 or offset + count > self.size:
            raise cut_short()
        self._file.seek(offset)
        data = self._file.read(count)
        if len(data) < count:  # it shrank since its size was taken
            raise cut_short()
        return data


def check_size(width: int, height: int) -> None:
    """Refuse a picture without pixels, and one like a thread.

    Raises
    ------
    IntakeError
        When a side is 0, or longer than any print.
    """
    if max(width, height) > _LONGEST_SIDE:
        raise unreadable(f"the picture is {width} × {height} px: no print is that long")
    if width <= 0 or height <= 0:
        raise unreadable(f"the picture is {width} × {height} px: it has no pixels")
