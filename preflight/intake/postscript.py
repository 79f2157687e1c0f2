"""EPS, PS and AI without PDF inside: made into a PDF by Ghostscript, and from there read and drawn as one.

The comments that are looked at are those of the Document Structuring Conventions 3.0, the head of files with a
preview that of the EPSF 3.0 specification (both from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from preflight.errors import IntakeError
from preflight.intake import ghostscript
from preflight.intake.head import AS_PNG, SAVE_AGAIN, Reader, cut_short, unreadable
from preflight.intake.pdf.page import PdfPage, open_pages
from preflight.intake.reading import reading
from preflight.model import Bytes, DocumentFacts, InkFact, PixelFacts, Strip
from preflight.records import dataclass

FORMAT = "PostScript"
_PREVIEW = b"\xc5\xd0\xd3\xc6"
_CONTROL_D = b"\x04"
_MOST_BYTES = 256 << 20
#: Bytes at the start and at the end in which the comments are looked for.
_HEAD, _TAIL = 1 << 16, 1 << 16
#: On the clock. An honest drawing takes up to 1; the child in which it runs has 20 of the processor.
_SECONDS = 12.0
#: The page of a file that states none: true A4, which the operator ``a4`` of the language (595 × 842) is not.
_DEFAULT_PAGE = (595.28, 841.89)
_MOST_PAGE_MM = 100_000.0
#: Lines end in either sign, or both.
_BOX = re.compile(rb"(?<![^\r\n])%%(HiRes)?BoundingBox:[ \t]*([^\r\n]*)")
_AT_END = b"(atend)"
_EPS = re.compile(rb"%!PS-Adobe-[\d.]+ EPSF-[\d.]+")
_CLAIMS_COMMENTS = b"%!PS-Adobe-"
_ENDS = (b"%%EOF", b"%%Trailer", b"showpage")
_PAGES = re.compile(rb"(?<![^\r\n])%%Pages:\s*(\d+)")
_PAGE_ASKED = (b"setpagedevice", b"PageSize")
_LOADED = re.compile(r"^Loading (\S+) font from", re.MULTILINE)
_REPLACED = re.compile(r"^Substituting font (\S+) for (\S+?)\.?$", re.MULTILINE)
_SUBSET = re.compile(r"^[A-Z]{6}\+")
_COMPRESSED = b"%AI12_CompressedData"
_GET_IT = (
    "Ask for the artwork as a PDF, or as a PNG with a transparent background at print size and 300 ppi; "
    "or install Ghostscript on this computer, which opens such files."
)
_NO_PAGE = (
    "The file states no size (no bounding box): an A4 page was assumed, and what lies outside of it is missing. Ask."
)
_FONTS = "Fonts that are not in the file were replaced by others: {names}."
_ARGUMENTS = [
    "-sDEVICE=pdfwrite",
    "-dCompatibilityLevel=1.7",
    "-dAutoRotatePages=/None",
    "-dColorConversionStrategy=/LeaveColorUnchanged",
    "-dDownsampleColorImages=false",
    "-dDownsampleGrayImages=false",
    "-dDownsampleMonoImages=false",
    "-dAutoFilterColorImages=false",
    "-dAutoFilterGrayImages=false",
    "-dColorImageFilter=/FlateEncode",
    "-dGrayImageFilter=/FlateEncode",
    f"-dDEVICEWIDTHPOINTS={_DEFAULT_PAGE[0]}",
    f"-dDEVICEHEIGHTPOINTS={_DEFAULT_PAGE[1]}",
]
Got = TypeVar("Got")


def open_postscript(path: Path, *, pixel_limit: int) -> list[PostScriptPage]:
    """The pages of a PostScript file; nothing is drawn yet, but Ghostscript has read it.

    Parameters
    ----------
    path
        An ordinary file.
    pixel_limit
        Most pixels (width × height) that a page is drawn with.

    Raises
    ------
    IntakeError
        When Ghostscript is not installed, cannot read the file, or takes too long.
    OSError
        When the file cannot be opened.
    """
    data = _program_text(path)
    _check_end(data)
    box = _bounding_box(data)
    cropped = box is not None and (_EPS.match(data) is not None or _is_one_drawing(data))
    program = ghostscript.command()
    if program is None:
        raise unreadable(
            "it is a PostScript drawing, and Ghostscript, which reads such files, is not installed", _GET_IT
        )
    made = _Made(_marked(data, box) if box is not None and cropped else data)
    said = made.run(program, cropped=cropped)
    pages = open_pages(made.pdf, pixel_limit)
    missing = _missing_fonts(said)
    return [PostScriptPage(path, page, made, missing, stated=cropped) for page in pages]


class _Made:
    """The PDF that was made, in a folder that goes away with the last page."""

    def __init__(self, data: bytes) -> None:
        try:
            self._folder = ghostscript.Folder("drawing-")
            self._input = self._folder.path / "drawing.ps"
            self.pdf = self._folder.path / "drawing.pdf"
            self._input.write_bytes(data)
        except OSError as error:
            raise unreadable("there is no place for the files that opening it needs", AS_PNG) from error

    def run(self, program: str, *, cropped: bool) -> str:
        """Make it; gives what Ghostscript said."""
        arguments = [*_ARGUMENTS, *(["-dEPSCrop"] if cropped else []), "-sOutputFile=drawing.pdf", "drawing.ps"]
        try:
            said = ghostscript.run(program, arguments, self._folder.path, _SECONDS)
        except ghostscript.Stopped as stopped:
            raise _refused(stopped, self._input) from stopped
        finally:
            self._input.unlink(missing_ok=True)
        if not self.pdf.is_file():
            raise unreadable("nothing in it can be drawn", SAVE_AGAIN)
        return said


@dataclass(frozen=True, slots=True)
class _Shared:
    """What is the same for a page at every resolution."""

    path: Path
    made: _Made
    missing: frozenset[str]
    stated: bool


class PostScriptPage:
    """One page of a PostScript file: that of the PDF which was made of it, under the file's own name.

    Parameters
    ----------
    path
        The customer's file.
    page
        Of the PDF.
    made
        Keeps the PDF where it is.
    missing
        Fonts that were not in the file.
    stated
        The file states its bounding box.
    """

    def __init__(self, path: Path, page: PdfPage, made: _Made, missing: frozenset[str], *, stated: bool) -> None:
        self._shared = _Shared(path, made, missing, stated)
        self._page = page

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        return self._shared.path.name

    @property
    def page(self) -> int:
        """Number of the page, from 1."""
        return self._page.page

    @property
    def document(self) -> DocumentFacts:
        """What the page's own objects say; fonts that Ghostscript put in are not taken for the file's own.

        Raises
        ------
        IntakeError
            As ``PdfPage.document``.
        """
        found = self._named(lambda: self._page.document)
        missing = self._shared.missing
        texts = tuple(replace(run, embedded=run.embedded and _plain(run.font) not in missing) for run in found.texts)
        return replace(found, texts=texts)

    @property
    def facts(self) -> PixelFacts:
        """The page as a picture of the size at which it is drawn.

        Raises
        ------
        IntakeError
            As ``PdfPage.facts``.
        """
        found = self._named(lambda: self._page.facts)
        return replace(found, format=FORMAT, notes=(*found.notes, *self._notes()))

    @property
    def wants_program(self) -> bool:
        """It is made by one."""
        return True

    def at_ppi(self, ppi: float) -> PostScriptPage:
        """The same page, drawn with so many pixels per inch of its own size, as far as the pixel limit allows."""
        return self._with(self._page.at_ppi(ppi))

    def for_print(self, width_mm: float | None, height_mm: float | None, size_of: str = "artwork") -> PostScriptPage:
        """The same page, drawn so finely that a print of the ordered size comes to 300 ppi; see ``PdfPage``."""
        return self._with(self._named(lambda: self._page.for_print(width_mm, height_mm, size_of)))

    def strips(self) -> Iterator[Strip]:
        """Draw the page; see ``PdfPage``.

        Yields
        ------
        Strip
            RGBA, and the inks where ``facts.colour`` is "cmyk".

        Raises
        ------
        IntakeError
            When the page cannot be drawn.
        """
        with self._naming():
            yield from self._page.strips()

    def ink_shares(self) -> tuple[InkFact, ...]:
        """The page's inks with their shares; see ``PdfPage``."""
        return self._named(self._page.ink_shares)

    def white_plate(self) -> Iterator[tuple[int, Bytes]]:
        """The customer's own white plate; see ``PdfPage``.

        Yields
        ------
        tuple
            The first row's number, and uint8 of shape (rows, width): 255 = full white.
        """
        with self._naming():
            yield from self._page.white_plate()

    def _notes(self) -> Iterator[str]:
        if not self._shared.stated and _is_default(self._page.document):
            yield _NO_PAGE
        others = sorted({run.font for run in self.document.texts if not run.embedded})
        if others:
            yield _FONTS.format(names=", ".join(others[:10]))

    def _with(self, page: PdfPage) -> PostScriptPage:
        shared = self._shared
        return PostScriptPage(shared.path, page, shared.made, shared.missing, stated=shared.stated)

    def _named(self, ask: Callable[[], Got]) -> Got:
        with self._naming():
            return ask()

    @contextmanager
    def _naming(self) -> Iterator[None]:
        """Put the customer's file on what is raised, not the PDF that was made of it."""
        with reading(self._shared.path):
            yield


def _program_text(path: Path) -> bytes:
    """The PostScript in a file: all of it, or the part beside a preview."""
    with path.open("rb") as file:
        reader = Reader(file, file.seek(0, 2))
        if reader.size > _MOST_BYTES:
            raise unreadable(f"the drawing is larger than {_MOST_BYTES >> 20} MB", AS_PNG)
        start, size = 0, reader.size
        if reader.size >= 4 and reader.at(0, 4) == _PREVIEW:
            head = reader.at(4, 8)
            start, size = int.from_bytes(head[:4], "little"), int.from_bytes(head[4:], "little")
        data = reader.at(start, size)
    data = data.removeprefix(_CONTROL_D)
    if not data.startswith(b"%!"):
        raise cut_short("the drawing's own part is not in the file")
    return data


def _bounding_box(data: bytes) -> tuple[float, float, float, float] | None:
    """Left, bottom, right, top in points; None where none is stated or it has no area.

    Raises
    ------
    IntakeError
        When it is larger than any film.
    """
    found = [match.groups() for part in (data[:_HEAD], data[-_TAIL:]) for match in _BOX.finditer(part)]
    for _, text in sorted(found, key=lambda one: one[0] is None):  # the exact ones first
        if text.strip() == _AT_END:
            continue
        try:
            left, bottom, right, top = (float(word) for word in text.split()[:4])
        except ValueError:
            continue
        if right > left and top > bottom:
            if max(right - left, top - bottom) > _MOST_PAGE_MM * 72 / 25.4:
                raise unreadable("its bounding box is larger than any film", SAVE_AGAIN)
            return left, bottom, right, top
    return None


def _check_end(data: bytes) -> None:
    """Refuse a drawing that has the comments of a whole file at its head and none at its end.

    Raises
    ------
    IntakeError
        ``cut-short``: the language itself has no end by which that could be told.
    """
    if data.startswith(_CLAIMS_COMMENTS) and not any(sign in data[-_TAIL:] for sign in _ENDS):
        raise cut_short("the drawing ends before its closing mark")


def _marked(data: bytes, box: tuple[float, float, float, float]) -> bytes:
    """The drawing with its box at its head and called an EPS: only then is the box heeded.

    Ghostscript stops at a box that is only stated at the end, and heeds none in a drawing that is not called so.
    """
    exact = " ".join(f"{side:.6g}" for side in box)
    whole = " ".join(str(side) for side in (*map(math.floor, box[:2]), *map(math.ceil, box[2:])))
    head = f"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: {whole}\n%%HiResBoundingBox: {exact}\n%%EndComments\n"
    return head.encode("ascii") + data


def _is_one_drawing(data: bytes) -> bool:
    """Whether it is one page that asks for no paper of its own."""
    pages = _PAGES.search(data[:_HEAD]) or _PAGES.search(data[-_TAIL:])
    return (pages is None or int(pages[1]) <= 1) and not any(word in data for word in _PAGE_ASKED)


def _missing_fonts(said: str) -> frozenset[str]:
    """Names of fonts that came from this computer, as far as Ghostscript tells."""
    replaced = _REPLACED.findall(said)
    stood_in = {name for name, _ in replaced}
    loaded = {name for name in _LOADED.findall(said) if name not in stood_in}
    return frozenset({_plain(name) for _, name in replaced} | {_plain(name) for name in loaded})


def _plain(font: str) -> str:
    return _SUBSET.sub("", font)


def _is_default(document: DocumentFacts) -> bool:
    size = (document.width_mm, document.height_mm)
    return all(abs(mm - pt * 25.4 / 72) < 0.01 for mm, pt in zip(size, _DEFAULT_PAGE, strict=True))


def _refused(stopped: ghostscript.Stopped, text: Path) -> IntakeError:
    """What Ghostscript's end means to people."""
    if "invalidfileaccess" in stopped.said:
        return unreadable("the drawing wants to read another file, which is not allowed", SAVE_AGAIN)
    if _COMPRESSED in _first(text):
        return unreadable("it was saved without the part that other programs read", "Save it with PDF compatibility.")
    if "Error: /" in stopped.said:
        return unreadable("its PostScript is damaged or unusual: Ghostscript stopped half-way", AS_PNG)
    return unreadable(f"it cannot be read: Ghostscript {stopped}", AS_PNG)


def _first(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(_MOST_BYTES)
    except OSError:
        return b""
