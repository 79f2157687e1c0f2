"""Content streams taken apart into instructions, within the budget, and never half of one in silence."""

from __future__ import annotations

import warnings
import zlib
from collections.abc import Sequence
from typing import Any

import pikepdf

from preflight.errors import IntakeError
from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.pdf import values
from preflight.intake.pdf.budget import Budget
from preflight.intake.pdf.library import ODD_VALUES
from preflight.intake.pdf.values import Key, Value

#: What the walk follows. Naming them halves the time: the rest is not made into objects (measured).
_OPERATORS = (
    "q Q cm w gs BDC BMC EMC m l c v y h re S s f F f* B B* b b* n W W* CS cs SC SCN sc scn G g RG rg K k sh Do "
    "BI ID EI d1 BT Tc Tw Tz TL Tf Tr Ts Td TD Tm T* Tj TJ ' \""
)
#: In the library's warnings: compressed data stop before they say that they end; too much of it makes no sense.
_ENDS_EARLY = "input stream is complete but output may still be valid"
_GAVE_UP = "too many errors"
#: Instructions of repeated streams that are kept: a form used a thousand times is taken apart once.
_KEPT_EACH = 20_000
_KEPT_ALL = 200_000
_MOST_TESTED = 64 << 20


class Contents:
    """Reads the content streams of one page.

    Parameters
    ----------
    pdf
        The open document.
    budget
        Of the page.
    """

    def __init__(self, pdf: pikepdf.Pdf, budget: Budget) -> None:
        self._pdf = pdf
        self._budget = budget
        self._kept: dict[Key, Sequence[Any]] = {}
        self._kept_count = 0
        self.slips = 0  #: things that made no sense and were passed over

    def of_page(self, page: Value) -> Sequence[Any]:
        """Instructions of a page. Raises IntakeError when they are damaged or too many."""
        content = values.get(page, "/Contents")
        parts = [content] if values.is_stream(content) else list(values.items(content))
        return self._parsed([part for part in parts if values.is_stream(part)], page)

    def of_stream(self, stream: Value) -> Sequence[Any]:
        """Instructions of a form, a pattern or an appearance. Raises as ``of_page``."""
        key = values.key_of(stream)
        kept = self._kept.get(key)
        if kept is not None:
            return kept
        found = self._parsed([stream], stream)
        if key != (0, 0) and len(found) <= _KEPT_EACH and self._kept_count + len(found) <= _KEPT_ALL:
            self._kept[key] = found
            self._kept_count += len(found)
        return found

    def data(self, stream: Value) -> bytes | None:
        """Decoded data of a stream that shows nothing itself, charged to the budget; None for damaged ones.

        Raises
        ------
        IntakeError
            When nothing is left of the budget.
        """
        self._budget.raw(stream)
        try:
            data = bytes(stream.read_bytes())
        except ODD_VALUES:
            return None
        self._budget.unpacked(data)
        return data

    def charge(self, work: int) -> None:
        """Other work, in instructions that cost as much. Raises IntakeError when nothing is left of the budget."""
        self._budget.play(work)

    def _parsed(self, streams: Sequence[Value], whole: Value) -> Sequence[Any]:
        self._pdf.get_warnings()
        for stream in streams:
            self._check(stream)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                found = pikepdf.parse_content_stream(whole, _OPERATORS)
        except ODD_VALUES as error:
            raise _damaged() from error
        for warning in self._pdf.get_warnings():
            if _GAVE_UP in str(warning):
                raise _damaged()
            self.slips += _ENDS_EARLY not in str(warning)
        return found

    def _check(self, stream: Value) -> None:
        """Decode a stream once to see that it is whole and not too much."""
        self._budget.raw(stream)
        try:
            data = stream.read_bytes()
        except ODD_VALUES as error:
            raise _damaged() from error
        self._budget.content(data)
        early = any(_ENDS_EARLY in str(warning) for warning in self._pdf.get_warnings())
        if early and not _is_all_there(stream):
            raise _damaged()


def _is_all_there(stream: Value) -> bool:
    """Whether deflated data that do not say that they end are whole all the same.

    Some programs leave out the check sum at the end; a common viewer ends with a flush instead of a last block, whose
    marks are the four bytes below (RFC 1951, 3.2.4: an empty stored block).
    """
    raw = stream.read_raw_bytes()
    if raw.rstrip(b"\r\n").endswith(b"\x00\x00\xff\xff"):
        return True
    decoder = zlib.decompressobj(-zlib.MAX_WBITS)
    try:
        decoder.decompress(raw[2:], _MOST_TESTED)
    except zlib.error:
        return False
    return decoder.eof


def _damaged() -> IntakeError:
    return unreadable("part of what the page shows is damaged", SAVE_AGAIN)
