"""Writing answers: to standard output as text, or to a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path
from typing import TextIO

from preflight.errors import PreflightError, UsageError
from preflight.report.words import STAND_IN

#: What a name's ending promises, and a name for each format.
_PROMISED = {".json": "json", ".html": "html", ".htm": "html", ".pdf": "pdf"}
_NAMES = {"text": "report.txt", "json": "report.json", "html": "report.html", "pdf": "report.pdf"}


def refuse_broken_promise(output: str | None, written: str) -> None:
    """Raise UsageError when the name of the report belongs to another format: nobody could open it."""
    promised = _PROMISED.get(Path(output or "").suffix.lower(), written)
    if promised != written:
        step = f"Add --format {promised}, or choose another name, such as {_NAMES[written]}."
        raise UsageError(f"this name is one for {promised}, and the report is {written}", step, file=output)


class OutputError(PreflightError):
    """The answer cannot be written: the tool failed, not the artwork."""


def standard_output() -> TextIO:
    """Standard output that never fails on a character: what its encoding lacks is written in plain letters."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors=STAND_IN)
    return sys.stdout


class WholeFile:
    """A file that appears under its name only when it is complete.

    Parameters
    ----------
    path
        Where it shall be. A file there is replaced.

    Raises
    ------
    UsageError
        When nothing can be written in that folder. This is tried at once, not after the work.
    """

    def __init__(self, path: Path) -> None:
        if path.is_dir():
            raise UsageError("this is a folder", "Add the name of the report file to --output.", file=str(path))
        if path.exists() and not path.is_file():
            raise UsageError("this is no ordinary file", "Leave --output away to print the report.", file=str(path))
        self.path = path = path.resolve() if path.is_symlink() else path  # the link stays a link
        self._part = path.with_name(f".{path.name}.{os.getpid()}.part")
        try:
            self._stream = self._part.open("xb")
        except FileNotFoundError:
            step = "Make the folder first, or name another one."
            raise UsageError(f"there is no folder '{path.parent}'", step, file=str(path)) from None
        except OSError as slip:
            what = f"nothing can be written there ({slip.strerror or slip})"
            raise UsageError(
                what, "Name another folder, or give your user the right to write there.", file=str(path)
            ) from None

    def write(self, whole: str | bytes) -> None:
        """Write everything, text in UTF-8, and put the file in place.

        Raises
        ------
        OutputError
            When the disk is full, or the file there may not be replaced; what was written then stays beside it.
        """
        try:
            with self._stream:
                self._stream.write(whole.encode("utf-8") if isinstance(whole, str) else whole)
        except OSError as slip:
            what = f"the report could not be written ({slip.strerror or slip})"
            raise OutputError(what, "Make room on the disk and run it again.", file=str(self.path)) from None
        try:
            self._part.replace(self.path)
        except OSError as slip:
            what = f"the report could not be put in place ({slip.strerror or slip})"
            step = f"It is complete in '{self._part}'. Close the old report where it is open, then rename that file."
            raise OutputError(what, step, file=str(self.path)) from None

    def give_up(self) -> None:
        """Leave nothing behind, unless ``write`` was called."""
        if not self._stream.closed:
            self._stream.close()
            with contextlib.suppress(OSError):
                self._part.unlink()
