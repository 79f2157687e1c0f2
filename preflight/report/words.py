"""The words and figures that every report shares. What came from a customer passes through ``plain`` first."""

from __future__ import annotations

import codecs
import re
import unicodedata
from collections import Counter
from collections.abc import Container, Iterable, Mapping
from itertools import groupby

from preflight.language import ENGLISH, Language
from preflight.model import Report, Severity, Verdict
from preflight.units import show_number

VERDICT_WORDS: Mapping[Verdict, str] = {
    Verdict.READY: "READY",
    Verdict.ASK: "ASK",
    Verdict.STOP: "STOP",
    Verdict.UNCHECKED: "NOT CHECKED",
}
VERDICT_SENTENCES: Mapping[Verdict, str] = {
    Verdict.READY: "It can be printed as it is.",
    Verdict.ASK: "Talk to the customer before printing.",
    Verdict.STOP: "The customer must change the file.",
    Verdict.UNCHECKED: "Do not print it on this answer.",
}
SEVERITY_WORDS: Mapping[Severity, str] = {Severity.STOP: "STOP", Severity.ASK: "ASK", Severity.NOTE: "NOTE"}

#: What runs together into one space; a hard space stays.
_SPACES = re.compile(r"[ \t\r\n\f\v]+")
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm²|mm|cm²|cm|m|in|ppi|%|g|ΔE00)(?![\w²]))")
#: Joins the parts of one emoji, so it may stay; every other invisible character is shown by its number.
_JOINER = "\u200d"
_INVISIBLE = {"Cc", "Cf", "Cs", "Zl", "Zp"}
#: For a console that cannot show the character: a plain stand-in reads better than a question mark.
_STAND_INS = {"²": "2", "Δ": "d", "×": "x", "–": "-", "—": "-", "─": "-", "…": "...", "·": "-", "’": "'", "°": " deg"}


def plain(text: str) -> str:
    r"""Text that came from outside, with every character shown that could steer a terminal or hide itself.

    Parameters
    ----------
    text
        Any text: a file's name (also one that is no proper Unicode), words read out of a picture.

    Returns
    -------
    str
        The same text; control, direction and half characters stand as ``\x1b`` or ``\u202e``.
    """
    return "".join(letter if _visible(letter) else _numbered(letter) for letter in text)


def sentence(text: str) -> str:
    """``plain`` for running text: line breaks and runs of spaces become one space; a hard space stays."""
    return plain(_SPACES.sub(" ", text).strip(" "))


def capital(text: str) -> str:
    """The text with a capital letter at its start."""
    return text[:1].upper() + text[1:]


def unbroken(text: str) -> str:
    """The text with a hard space between each figure and its unit: they stay on one line."""
    return _BEFORE_UNIT.sub("\u00a0", text)


def spelled(text: str, known: Container[str]) -> str:
    """The text for a font that knows these letters only.

    Another letter has a stand-in, or is shown by its number in Unicode, a run of them in one pair of brackets:
    ``[U+6F22 U+5B57].png``.
    """
    parts: list[str] = []
    for lacking, run in groupby(unicodedata.normalize("NFC", text), lambda each: not _shown(each, known)):
        letters = "".join(run)
        if lacking:
            parts.append(f"[{' '.join(f'U+{ord(each):04X}' for each in letters)}]")
        else:
            parts += [each if each in known else _STAND_INS[each] for each in letters]
    return "".join(parts)


def _shown(letter: str, known: Container[str]) -> bool:
    return letter in known or letter in _STAND_INS


def size(width_mm: float, height_mm: float) -> str:
    """Width × height, in millimetres."""
    return f"{show_number(width_mm, 4)} × {show_number(height_mm, 4)} mm"


def hex_code(rgb: tuple[int, int, int]) -> str:
    """A colour as ``#rrggbb``."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def percent(share: float, language: Language = ENGLISH) -> str:
    """A share of 0…1 in percent, as people read it."""
    return f"{language.figure(100 * share, 2)} %"


def money(value: float, currency: str, language: Language = ENGLISH) -> str:
    """An amount with two decimals; below a tenth with three, so that an ink price does not become nothing."""
    decimals = 3 if 0 < abs(value) < 0.1 else 2
    return f"{language.amount(value, decimals)} {plain(currency)}"


def many(count: int, one: str, more: str | None = None) -> str:
    """``1 file``, ``2 files``."""
    return f"{count} {one if count == 1 else more or one + 's'}"


def order_known(report: Report) -> bool:
    """Whether the order was read: where its ticket was not, nothing of it is told, since nothing was guessed."""
    return "ticket-unreadable" not in report.measures


def ordered(report: Report) -> str:
    """What was ordered, apart from the size: ``12 copies, on #1d1d1f and navy, mode fine``; "" when nobody knows."""
    if not order_known(report):
        return ""
    ticket = report.ticket
    parts = [many(ticket.copies, "copy", "copies")]
    if ticket.garments:
        parts.append("on " + " and ".join(plain(garment) for garment in ticket.garments))
    if ticket.mode is not None:
        parts.append(f"mode {plain(ticket.mode)}")
    if ticket.reference is not None:
        parts.append(f"reference {plain(ticket.reference)}")
    return ", ".join(parts)


def tally(verdicts: Iterable[Verdict]) -> str:
    """One line for a run: ``6 artworks: 2 ready, 1 ask, 3 stop.``"""
    counts = Counter(verdicts)
    told = [f"{counts[verdict]} {VERDICT_WORDS[verdict].lower()}" for verdict in Verdict if counts[verdict]]
    return f"{many(counts.total(), 'artwork')}: {', '.join(told)}."


def _visible(letter: str) -> bool:
    return letter == _JOINER or unicodedata.category(letter) not in _INVISIBLE


def _numbered(letter: str) -> str:
    number = ord(letter)
    return f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"


def _stand_in(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(_STAND_INS.get(letter, "?") for letter in lost), error.end


#: Error handler for a stream whose encoding lacks a character, as Windows consoles do.
STAND_IN = "preflight.stand-in"
codecs.register_error(STAND_IN, _stand_in)
