"""The library that reads a document's objects: its limits, opening, and its refusals in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pikepdf

from preflight.errors import IntakeError
from preflight.intake.head import SAVE_AGAIN, SEND_AGAIN, cut_short, unreadable
from preflight.records import dataclass

#: Bytes that a stream unpacks to at the most.
UNPACKED = 64 << 20
#: Set for the whole process: nothing else in the program reads documents.
pikepdf.settings.set_qpdf_limits(
    flate_max_memory=UNPACKED,
    run_length_max_memory=UNPACKED,
    png_max_memory=UNPACKED,
    tiff_max_memory=UNPACKED,
    dct_max_memory=UNPACKED,
    dct_max_progressive_scans=50,
    max_stream_filters=3,
    doc_max_warnings=200,
    parser_max_errors=1000,
    parser_max_container_size=1_000_000,
)

#: Pages of one file. A document of more is no artwork, and the list alone would cost.
MOST_PAGES = 2_000
#: How far from the end the mark that closes a document may lie: ISO 32000-1, annex H.3.18, from memory.
_TAIL = 1024
_END = b"%%EOF"

#: What objects of a damaged or hostile file raise where they are not of the kind they should be.
ODD_VALUES: tuple[type[Exception], ...] = (
    pikepdf.PikepdfError,
    TypeError,
    ValueError,
    LookupError,
    AttributeError,
    ArithmeticError,
    NotImplementedError,
)
_UNLOCK = "Ask for the file without a password: open it with the password, save it without one, and send that."
#: In the library's warnings: the table of objects or the length of a stream had to be found by searching.
_RECOVERY = ("reconstruct", "file is damaged", "xref not found", "can't find startxref", "recover stream length")
_NO_SIZE = "MediaBox is undefined"


@dataclass(frozen=True, slots=True)
class Opened:
    """A document while it is open."""

    pdf: pikepdf.Pdf
    pages: int
    repaired: bool  #: damage was found and mended by searching
    size_guessed: bool  #: a page states no size; the library puts one in


@contextmanager
def opened(path: Path) -> Iterator[Opened]:
    """A document, open for reading.

    Raises
    ------
    IntakeError
        When it is locked, not whole, damaged beyond repair, or holds no page or too many.
    OSError
        When the file cannot be opened.
    """
    with _open(path) as pdf:
        pages = _count(pdf)
        warnings = [str(warning) for warning in pdf.get_warnings()]
        repaired = any(sign in warning for warning in warnings for sign in _RECOVERY)
        if (repaired or not pages) and not _is_whole(path):
            raise cut_short("the document ends before its closing mark")
        if not pages:
            raise _no_page()
        if pages > MOST_PAGES:
            raise unreadable(
                f"the document has {pages:,} pages; at most {MOST_PAGES:,} are opened",
                "Send only the pages that are to be printed.",
            )
        yield Opened(pdf, pages, repaired, any(_NO_SIZE in warning for warning in warnings))


def _open(path: Path) -> pikepdf.Pdf:
    try:
        return pikepdf.Pdf.open(path)
    except pikepdf.PasswordError:
        raise _locked() from None
    except ODD_VALUES as error:
        raise _refused(path, str(error)) from error


def _count(pdf: pikepdf.Pdf) -> int:
    try:
        return len(pdf.pages)
    except ODD_VALUES as error:
        raise unreadable("the list of its pages is damaged", SAVE_AGAIN) from error


def _refused(path: Path, why: str) -> IntakeError:
    if "encrypt" in why or "security handler" in why:
        return _locked()
    if not _is_whole(path):
        return cut_short("the document ends before its closing mark")
    if "no pages found" in why:
        return _no_page()
    return unreadable("the document is damaged and cannot be repaired", SAVE_AGAIN)


def _locked() -> IntakeError:
    return IntakeError("it opens only with a password", _UNLOCK, rule="locked-file")


def _no_page() -> IntakeError:
    return unreadable("the document has no page", SEND_AGAIN)


def _is_whole(path: Path) -> bool:
    """Whether the mark that closes a document stands near the end."""
    with path.open("rb") as file:
        file.seek(max(0, file.seek(0, 2) - _TAIL))
        return _END in file.read()
