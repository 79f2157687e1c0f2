"""A customer's file → its artworks. Nothing else in the program ever touches that file.

``open_pages`` finds out what a file is by its content and hands it to the opener of that format. An opener takes
the path and the pixel limit and gives the pages of the file; a new format is one more entry in ``OPENERS``. The
openers of documents bring their libraries along only when they are called.
"""

from __future__ import annotations

import stat
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Protocol

from preflight.errors import IntakeError
from preflight.intake.picture import FORMATS as _PICTURES
from preflight.intake.picture import open_picture
from preflight.intake.sniff import FORMATS, HEAD_BYTES, ending_of_another, sniff
from preflight.model import Artwork

__all__ = ["OPENERS", "Opener", "ending_of_another", "needs_program", "one_page", "open_artwork", "open_pages"]


class Opener(Protocol):
    """From a file of one format to its pages."""

    def __call__(self, path: Path, *, pixel_limit: int) -> Sequence[Artwork]:
        """See ``open_pages``."""
        ...


def _pdf(path: Path, *, pixel_limit: int) -> Sequence[Artwork]:
    from preflight.intake.pdf import open_pdf

    return open_pdf(path, pixel_limit=pixel_limit)


def _postscript(path: Path, *, pixel_limit: int) -> Sequence[Artwork]:
    from preflight.intake.postscript import open_postscript

    return open_postscript(path, pixel_limit=pixel_limit)


def _svg(path: Path, *, pixel_limit: int) -> Sequence[Artwork]:
    from preflight.intake.svg import open_svg

    return open_svg(path, pixel_limit=pixel_limit)


def _psd(path: Path, *, pixel_limit: int) -> Sequence[Artwork]:
    from preflight.intake.psd import open_psd

    return open_psd(path, pixel_limit=pixel_limit)


def _heic(path: Path, *, pixel_limit: int) -> Sequence[Artwork]:
    from preflight.intake.heif import open_heic

    return open_heic(path, pixel_limit=pixel_limit)


def _avif(path: Path, *, pixel_limit: int) -> Sequence[Artwork]:
    from preflight.intake.heif import open_avif

    return open_avif(path, pixel_limit=pixel_limit)


OPENERS: dict[str, Opener] = {
    **{name: partial(open_picture, format=name) for name in _PICTURES},
    "PDF": _pdf,
    "PostScript": _postscript,
    "SVG": _svg,
    "PSD": _psd,
    "HEIC": _heic,
    "AVIF": _avif,
}

_AS_PNG = "Send the artwork as a PNG with a transparent background, at print size and 300 ppi."
_CHECK_NAME = "Check the name and the folder."


def open_artwork(path: Path, *, pixel_limit: int) -> Artwork:
    """Open a customer's file: its first page. No pixel is decoded yet.

    Parameters
    ----------
    path
        The file, as the person named it.
    pixel_limit
        Most pixels (width × height) that are let through; from film width, longest print and resolution.

    Returns
    -------
    Artwork
        Facts from the file's head, and ``strips()``.

    Raises
    ------
    IntakeError
        With the file's name, what is wrong and the next step; its ``rule`` is ``cut-short`` or ``unreadable-file``.
    """
    return open_pages(path, pixel_limit=pixel_limit)[0]


def open_pages(path: Path, *, pixel_limit: int) -> list[Artwork]:
    """All pages of a file, at least one; otherwise the same as ``open_artwork``.

    Raises
    ------
    IntakeError
        As ``open_artwork``.
    """
    try:
        name = _named(path)
        return list(OPENERS[name](path, pixel_limit=pixel_limit))
    except IntakeError as error:
        error.file = str(path)
        raise
    except OSError as error:
        raise _not_opened(path, error) from error


def _named(path: Path) -> str:
    """As ``_known``, also for a path that is no file name: one with a zero in it."""
    try:
        return _known(path)
    except ValueError as error:
        raise _not_opened(path, error) from error


def one_page(pages: Sequence[Artwork], number: int) -> Artwork:
    """The page of that number, from 1.

    Raises
    ------
    IntakeError
        When there is none.
    """
    if number > len(pages):
        count = "1 page" if len(pages) == 1 else f"{len(pages)} pages"
        raise IntakeError(f"it has {count}, and there is no page {number}", "Name other pages with --pages.")
    return pages[number - 1]


def needs_program(path: Path) -> bool:
    """Whether a file is opened by another program, and that is installed. False for what is no file."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return False
        with path.open("rb") as file:
            name = sniff(file.read(HEAD_BYTES))
    except (OSError, ValueError):
        return False
    if name != "PostScript":
        return False
    from preflight.intake import ghostscript

    return ghostscript.command() is not None


def _known(path: Path) -> str:
    """The format of a file that can be opened.

    Raises
    ------
    IntakeError
        When it is no ordinary file, or of a kind that is not opened.
    """
    _check_kind(path)
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if not head:
        raise IntakeError("the file is empty", "Send it again: the copy or the upload did not arrive.")
    name = sniff(head)
    if name in OPENERS:
        return name
    if name is None:
        raise IntakeError("this is not a picture that this program knows", _AS_PNG)
    known = FORMATS[name]
    raise IntakeError(f"it is {known.what}{_despite(path, name)}", known.instead or _AS_PNG)


def _despite(path: Path, name: str) -> str:
    """A clause for a name that promises something else."""
    return f", though its name ends in {path.suffix}" if ending_of_another(path.name, name) else ""


def _check_kind(path: Path) -> None:
    """Look at what the path is before opening it: opening a pipe waits for ever."""
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise IntakeError("this is a folder, not a file", "Name the files in it, one by one.")
    if not stat.S_ISREG(mode):
        raise IntakeError("this is a device or a pipe, not a file", "Copy the artwork into a file and check that.")


def _not_opened(path: Path, error: Exception) -> IntakeError:
    """Say why the system did not open a file."""
    if isinstance(error, (FileNotFoundError, NotADirectoryError)):
        what, step = "there is no such file", _CHECK_NAME
    elif isinstance(error, PermissionError):
        what = "the file may not be read"
        step = "Give this program the right to read it, and close it in other programs."
    else:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "the name is not a file name"
        what, step = f"the file cannot be opened ({reason.lower()})", _CHECK_NAME
    return IntakeError(what, step, file=str(path))
