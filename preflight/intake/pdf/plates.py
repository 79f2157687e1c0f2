"""A page's own inks as planes, through Ghostscript where that is installed."""

from __future__ import annotations

from collections.abc import Iterator

from preflight.errors import IntakeError
from preflight.intake import decode, ghostscript
from preflight.intake.head import Head, unreadable
from preflight.model import Bytes

#: Seconds: a start, and so much for each megapixel (an A3 sheet at 300 ppi, 17 megapixels, takes 3 to 5).
_SECONDS, _SECONDS_PER_MEGAPIXEL = 30.0, 2.0
_COMPOSITE = "inks.tif"


class Plates:
    """The inks of one page, in a folder that goes away with this object.

    Parameters
    ----------
    data
        A file of one page, without UserUnit.
    size_pt
        Of the page as it is shown, points of that file.
    width, height
        Of the drawing, pixels.

    Raises
    ------
    IntakeError
        When Ghostscript is not installed, stops, or takes too long.
    """

    def __init__(self, data: bytes, size_pt: tuple[float, float], width: int, height: int) -> None:
        self.width, self.height = width, height
        try:
            self._folder = ghostscript.Folder("inks-")
            (self._folder.path / "page.pdf").write_bytes(data)
        except OSError as error:
            raise _stopped("has no place for its files") from error
        self._run(72.0 * width / size_pt[0], 72.0 * height / size_pt[1])

    def pieces(self) -> Iterator[Bytes]:
        """Cyan, magenta, yellow and black from the top, 256 rows at a time: uint8 (rows, width, 4), 255 = full ink.

        Spot colours are in them, as the mixture that the file names for them.

        Raises
        ------
        IntakeError
            When Ghostscript drew another size than it was told.
        """
        head = Head("TIFF", self.width, self.height, "cmyk")
        return (piece for _, piece in decode.rows(self._folder.path / _COMPOSITE, head))

    def _run(self, across: float, down: float) -> None:
        program = ghostscript.command()
        if program is None:
            raise unreadable("its inks cannot be drawn without Ghostscript", "Install Ghostscript, and check again.")
        arguments = [
            "-q",
            "-sDEVICE=tiffsep",
            "-sCompression=lzw",
            f"-r{across:.6f}x{down:.6f}",
            f"-g{self.width}x{self.height}",
            "-dUseFastColor",  # the amounts as they stand in the file, not those that another press would need
            f"-sOutputFile={_COMPOSITE}",
            "page.pdf",
        ]
        seconds = _SECONDS + _SECONDS_PER_MEGAPIXEL * self.width * self.height / 1e6
        try:
            ghostscript.run(program, arguments, self._folder.path, seconds)
        except ghostscript.Stopped as stopped:
            raise _stopped(str(stopped)) from stopped
        if not (self._folder.path / _COMPOSITE).is_file():
            raise _stopped("drew nothing")


def _stopped(how: str) -> IntakeError:
    return unreadable(
        f"its inks cannot be drawn: Ghostscript {how}",
        "Send it as a TIFF or PNG at print size and 300 ppi.",
    )
