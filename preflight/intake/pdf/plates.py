"""A page's own inks as planes, through Ghostscript where that is installed. It is run, never linked.

It gets the page as a file in a folder of its own, and that folder as its place for temporary files: with all its
precautions on, it still reads and writes anything under that place (measured).
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import weakref
from collections.abc import Iterator
from pathlib import Path

from preflight.errors import IntakeError
from preflight.intake import decode
from preflight.intake.head import Head, unreadable
from preflight.model import Bytes

#: Names of the program's command, by system.
_COMMANDS = ("gswin64c", "gswin32c") if sys.platform == "win32" else ("gs",)
#: Seconds: a start, and so much for each megapixel (an A3 sheet at 300 ppi, 17 megapixels, takes 3 to 5).
_SECONDS, _SECONDS_PER_MEGAPIXEL = 30.0, 2.0
_COMPOSITE = "inks.tif"
_PASSED_ON = ("PATH", "SYSTEMROOT", "LANG", "LC_ALL", "LD_LIBRARY_PATH")


def command() -> str | None:
    """Where Ghostscript is; None where it is not installed."""
    return next((found for name in _COMMANDS if (found := shutil.which(name))), None)


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
            self.folder = Path(tempfile.mkdtemp(prefix="inks-"))
        except OSError as error:
            raise _stopped("has no place for its files") from error
        self._away = weakref.finalize(self, shutil.rmtree, self.folder, ignore_errors=True)
        try:
            (self.folder / "page.pdf").write_bytes(data)
            self._run(72.0 * width / size_pt[0], 72.0 * height / size_pt[1])
        except OSError as error:
            self.close()
            raise _stopped("does not start") from error
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Remove the folder."""
        self._away()

    def pieces(self) -> Iterator[Bytes]:
        """Cyan, magenta, yellow and black from the top, 256 rows at a time: uint8 (rows, width, 4), 255 = full ink.

        Spot colours are in them, as the mixture that the file names for them.

        Raises
        ------
        IntakeError
            When Ghostscript drew another size than it was told.
        """
        head = Head("TIFF", self.width, self.height, "cmyk")
        return (piece for _, piece in decode.rows(self.folder / _COMPOSITE, head))

    def _run(self, across: float, down: float) -> None:
        program = command()
        if program is None:
            raise unreadable("its inks cannot be drawn without Ghostscript", "Install Ghostscript, and check again.")
        arguments = [
            program,
            "-dSAFER",
            "-dBATCH",
            "-dNOPAUSE",
            "-dNOPROMPT",
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
            done = subprocess.run(
                arguments,
                cwd=self.folder,
                env=self._surroundings(),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                timeout=seconds,
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise _stopped(f"took more than {seconds:.0f} seconds") from None
        if done.returncode or not (self.folder / _COMPOSITE).is_file():
            raise _stopped("stopped")

    def _surroundings(self) -> dict[str, str]:
        kept = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
        return kept | {name: str(self.folder) for name in ("TMPDIR", "TEMP", "TMP", "HOME")}


def _stopped(how: str) -> IntakeError:
    return unreadable(
        f"its inks cannot be drawn: Ghostscript {how}",
        "Send it as a TIFF or PNG at print size and 300 ppi.",
    )
