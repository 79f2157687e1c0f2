"""The fonts inside a PDF: DejaVu Sans, cut down to the letters that need no shaping.

Its licence lets anyone embed and pass it on; it stands with the rest of its story in ``data/report-fonts.txt``. It has
Latin, Greek, Cyrillic, Armenian and Georgian letters. What it lacks is shown by number rather than as an empty box.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from preflight.report.words import plain, spelled, unbroken

# Data as bytes, not as letters: a quarter smaller, and a fifth of the time of a page (measured).
rl_config.useA85 = 0

REGULAR, BOLD = "Report", "ReportBold"
_DATA = Path(__file__).parents[2] / "data"
_FILES = {REGULAR: "report-regular.ttf", BOLD: "report-bold.ttf"}


@lru_cache(maxsize=1)
def known() -> frozenset[str]:
    """The letters that both fonts have; makes the fonts ready for use."""
    letters: list[set[str]] = []
    for name, file in _FILES.items():
        font = TTFont(name, str(_DATA / file))
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
