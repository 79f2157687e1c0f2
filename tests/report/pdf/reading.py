"""A PDF as a reader sees it: its words, its pictures on the sheet, its drawings."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pypdfium2.raw as raw

from preflight.model import Bytes

MM = 72 / 25.4


def words(data: bytes) -> str:
    """All text, without spaces: where a line ends is nobody's business here."""
    return tight("".join(sheet.get_textpage().get_text_range() for sheet in pypdfium2.PdfDocument(data)))


def tight(text: str) -> str:
    return re.sub(r"[\s\u00a0\ufffe]", "", text)


def sheets(data: bytes) -> int:
    return len(pypdfium2.PdfDocument(data))


def rendered(data: bytes, sheet: int, ppi: float) -> Bytes:
    """A sheet as pixels, uint8 (h, w, 3)."""
    page = pypdfium2.PdfDocument(data)[sheet]
    return np.asarray(page.render(scale=ppi / 72).to_pil().convert("RGB"))


def pictures(data: bytes) -> Iterator[tuple[int, tuple[int, int], tuple[float, float, float, float]]]:
    """Sheet, pixels (w, h) and place (left, bottom, right, top in mm) of every picture."""
    for number, page in enumerate(pypdfium2.PdfDocument(data)):
        for each in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE], max_depth=4):
            left, bottom, right, top = (side / MM for side in each.get_bounds())
            yield number, each.get_px_size(), (left, bottom, right, top)


def drawings(data: bytes, sheet: int) -> list[tuple[float, float, float, float]]:
    """Place (left, bottom, right, top in mm) of every path of a sheet."""
    page = pypdfium2.PdfDocument(data)[sheet]
    found = page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH], max_depth=4)
    return [tuple(side / MM for side in each.get_bounds()) for each in found]  # type: ignore[misc]


def fonts(data: bytes) -> dict[str, bool]:
    """Name of every font that any sheet names, and whether it is inside the file."""
    found: dict[str, bool] = {}
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            for font in page.resources.get("/Font", {}).values():
                inner: Any = font.DescendantFonts[0] if "/DescendantFonts" in font else font
                descriptor = inner.get("/FontDescriptor", {})
                found[str(font.BaseFont)] = any(f"/FontFile{kind}" in descriptor for kind in ("", "2", "3"))
    return found


def alternatives(data: bytes) -> list[str]:
    """The words in the place of what is drawn."""
    found = []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) == "BDC" and "/Alt" in operands[1]:
                    found.append(str(operands[1].Alt))
    return found


def active(data: bytes) -> set[str]:
    """Keys of anything that acts, anywhere in the file."""
    acts = {
        "/JavaScript",
        "/JS",
        "/OpenAction",
        "/AA",
        "/A",
        "/URI",
        "/Launch",
        "/EmbeddedFiles",
        "/Annots",
        "/AcroForm",
    }
    found: set[str] = set()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for each in pdf.objects:
            if isinstance(each, pikepdf.Dictionary | pikepdf.Stream):
                found |= acts & set(each.keys())
    return found
