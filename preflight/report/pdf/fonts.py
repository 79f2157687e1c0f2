"""The fonts inside a PDF: Bitstream Vera, which comes with reportlab.

Its licence lets anyone embed and pass it on (bitstream-vera-license.txt beside the font files in reportlab). It has the
letters of Western and Central European languages; what it lacks is shown by number rather than as an empty box.
"""

from __future__ import annotations

from functools import lru_cache

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from preflight.report.words import plain, spelled, unbroken

# Data as bytes, not as letters: a quarter smaller, and a fifth of the time of a page (measured).
rl_config.useA85 = 0

REGULAR, BOLD = "Report", "ReportBold"
_FILES = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf"}


@lru_cache(maxsize=1)
def known() -> frozenset[str]:
    """The letters that both fonts have; makes the fonts ready for use."""
    letters: list[set[str]] = []
    for name, file in _FILES.items():
        font = TTFont(name, file)
        pdfmetrics.registerFont(font)
        letters.append({chr(code) for code in font.face.charToGlyph})
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)
    return frozenset.intersection(*map(frozenset, letters))


def written(text: str) -> str:
    """Any text as these fonts can show it, each figure on one line with its unit. Not yet escaped."""
    return unbroken(spelled(plain(text), known()))


def width(text: str, size: float, font: str = REGULAR) -> float:
    """How wide ``written`` text is, pt."""
    known()
    return float(pdfmetrics.stringWidth(text, font, size))


def clipped(text: str, size: float, most: float, font: str = REGULAR) -> str:
    """``written`` text, cut to ``most`` pt with an ellipsis."""
    if width(text, size, font) <= most:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if width(f"{text[:middle]}…", size, font) <= most else (low, middle - 1)
    return f"{text[:low]}…"
