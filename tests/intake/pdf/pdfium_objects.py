"""A page's pictures, text and strokes as the drawing library lists them: an independent look at the same page.

It knows no soft masks, patterns or letters drawn by the document itself, and it lists what is clipped away.
"""

from __future__ import annotations

import ctypes
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pypdfium2.raw as pdfium

IDENTITY = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def after(first, second):
    a, b, c, d, e, f = first
    p, q, r, s, t, u = second
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


@dataclass
class Thing:
    kind: str  # "picture", "text" or "stroke"
    box: tuple[float, float, float, float]  # left, bottom, right, top in page units
    pixels: tuple[int, int] = (0, 0)
    density: float = 0.0  # pixels per page unit, the lower direction
    size: float = 0.0  # of text, page units
    font: str = ""
    embedded: bool = False
    width: float = 0.0  # of a stroke, page units


def matrix_of(thing) -> tuple[float, ...]:
    m = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(thing, m)
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def bounds_of(thing, matrix):
    left, bottom, right, top = (ctypes.c_float() for _ in range(4))
    pdfium.FPDFPageObj_GetBounds(thing, left, bottom, right, top)
    return moved((left.value, bottom.value, right.value, top.value), matrix)


def moved(box, matrix):
    a, b, c, d, e, f = matrix
    corners = [(x, y) for x in box[0::2] for y in box[1::2]]
    xs = [a * x + c * y + e for x, y in corners]
    ys = [b * x + d * y + f for x, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def is_hidden(thing) -> bool:
    for index in range(pdfium.FPDFPageObj_CountMarks(thing)):
        mark = pdfium.FPDFPageObj_GetMark(thing, index)
        buffer, length = ctypes.create_string_buffer(64), ctypes.c_ulong()
        pdfium.FPDFPageObjMark_GetName(mark, ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)), 64, length)
        if buffer.raw[: length.value].decode("utf-16-le").rstrip("\0") == "OC":
            return True  # a layer of either state: this list does not tell, so the comparison leaves it out
    return False


def things(page) -> Iterator[Thing]:
    for index in range(pdfium.FPDFPage_CountObjects(page)):
        yield from within(pdfium.FPDFPage_GetObject(page, index), IDENTITY, 0)


def within(thing, outer, depth) -> Iterator[Thing]:
    kind = pdfium.FPDFPageObj_GetType(thing)
    if is_hidden(thing):
        return
    if kind == pdfium.FPDF_PAGEOBJ_FORM and depth < 20:
        matrix = after(matrix_of(thing), outer)
        for index in range(pdfium.FPDFFormObj_CountObjects(thing)):
            yield from within(pdfium.FPDFFormObj_GetObject(thing, index), matrix, depth + 1)
    elif kind == pdfium.FPDF_PAGEOBJ_IMAGE:
        yield picture(thing, outer)
    elif kind == pdfium.FPDF_PAGEOBJ_TEXT:
        yield text(thing, outer)
    elif kind == pdfium.FPDF_PAGEOBJ_PATH:
        yield from stroke(thing, outer)


def picture(thing, outer) -> Thing:
    a, b, c, d, *_ = matrix = after(matrix_of(thing), outer)
    width, height = ctypes.c_uint(), ctypes.c_uint()
    pdfium.FPDFImageObj_GetImagePixelSize(thing, width, height)
    pixels, lengths = (width.value, height.value), (math.hypot(a, b), math.hypot(c, d))
    densities = [n / length for n, length in zip(pixels, lengths, strict=True) if n > 1 and length > 0]
    return Thing("picture", moved((0, 0, 1, 1), matrix), pixels=pixels, density=min(densities, default=0.0))


def text(thing, outer) -> Thing:
    size = ctypes.c_float()
    pdfium.FPDFTextObj_GetFontSize(thing, size)
    a, b, c, d, *_ = after(matrix_of(thing), outer)
    base = math.hypot(a, b)
    height = abs(a * d - b * c) / base * abs(size.value) if base else 0.0
    font = pdfium.FPDFTextObj_GetFont(thing)
    buffer = ctypes.create_string_buffer(256)
    pdfium.FPDFFont_GetBaseFontName(font, buffer, 256)
    mode = pdfium.FPDFTextObj_GetTextRenderMode(thing)
    return Thing(
        "invisible" if mode == 3 else "text",
        bounds_of(thing, outer),
        size=height,
        font=buffer.value.decode("utf-8", "replace"),
        embedded=bool(pdfium.FPDFFont_GetIsEmbedded(font)),
    )


def stroke(thing, outer) -> Iterator[Thing]:
    mode, strokes = ctypes.c_int(), ctypes.c_int()
    pdfium.FPDFPath_GetDrawMode(thing, mode, strokes)
    if not strokes.value:
        return
    width = ctypes.c_float()
    pdfium.FPDFPageObj_GetStrokeWidth(thing, width)
    a, b, c, d, *_ = after(matrix_of(thing), outer)
    yield Thing("stroke", bounds_of(thing, outer), width=width.value * math.sqrt(abs(a * d - b * c)))


class Listed:
    """A document opened by the drawing library."""

    def __init__(self, path: Path) -> None:
        pdfium.FPDF_InitLibrary()
        self._data = path.read_bytes()
        self._document = pdfium.FPDF_LoadMemDocument64(self._data, len(self._data), None)

    def __enter__(self) -> Listed:
        return self

    def __exit__(self, *_) -> None:
        if self._document:
            pdfium.FPDF_CloseDocument(self._document)

    @property
    def pages(self) -> int:
        return pdfium.FPDF_GetPageCount(self._document) if self._document else 0

    def page(self, index: int) -> list[Thing]:
        page = pdfium.FPDF_LoadPage(self._document, index)
        try:
            return list(things(page))
        finally:
            pdfium.FPDF_ClosePage(page)
