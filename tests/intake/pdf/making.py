"""Documents made in code for the tests of this folder, and short ways to look at them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from preflight.intake.pdf import open_pdf
from preflight.intake.pdf.facts import PageFacts
from preflight.intake.pdf.page import PdfPage

LIMIT = 50_000_000
BOX = (0, 0, 144, 72)  # 2 × 1 in
MM = 25.4 / 72
Resources = Callable[[Pdf], dict[str, Any]]


def add_page(
    pdf: Pdf, content: bytes, resources: Resources | None = None, box: tuple[float, ...] = BOX, **entries: Any
) -> pikepdf.Object:
    page = pdf.add_blank_page(page_size=(100, 100)).obj
    page.MediaBox = Array(list(box))
    page.Contents = pdf.make_stream(content)
    page.Resources = Dictionary(**(resources(pdf) if resources else {}))
    for key, value in entries.items():
        page[Name(f"/{key}")] = value
    return page


def make(
    path: Path,
    content: bytes = b"",
    resources: Resources | None = None,
    *,
    box: tuple[float, ...] = BOX,
    edit: Callable[[Pdf], None] | None = None,
    save: dict[str, Any] | None = None,
    **entries: Any,
) -> Path:
    """Write a document of one page."""
    pdf = Pdf.new()
    add_page(pdf, content, resources, box, **entries)
    if edit:
        edit(pdf)
    pdf.save(path, **(save or {}))
    return path


def opened(path: Path, page: int = 1) -> PdfPage:
    return open_pdf(path, pixel_limit=LIMIT)[page - 1]


def look(path: Path, page: int = 1) -> PageFacts:
    return opened(path, page)._file.look()


def drawn(page: PdfPage) -> np.ndarray:
    """All strips as one: uint8 (height, width, 4)."""
    strips = list(page.strips())
    assert [strip.y for strip in strips] == [256 * index for index in range(len(strips))]
    rgba = np.concatenate([strip.rgba for strip in strips])
    assert rgba.shape == (page.facts.height, page.facts.width, 4)
    assert rgba.dtype == np.uint8
    return rgba


def stream(pdf: Pdf, data: bytes, **entries: Any) -> Stream:
    made = pdf.make_stream(data)
    for key, value in entries.items():
        made[Name(f"/{key}")] = value
    return made


def picture(pdf: Pdf, width: int, height: int, data: bytes | None = None, **entries: Any) -> Stream:
    defaults = {"BitsPerComponent": 8, "ColorSpace": Name.DeviceGray}
    if data is None:
        data = bytes(width * height)
    return stream(
        pdf, data, Type=Name.XObject, Subtype=Name.Image, Width=width, Height=height, **{**defaults, **entries}
    )


def form(pdf: Pdf, content: bytes, box: tuple[float, ...] = (0, 0, 1000, 1000), **entries: Any) -> Stream:
    return stream(pdf, content, Type=Name.XObject, Subtype=Name.Form, BBox=Array(list(box)), **entries)


def separation(name: str, *, full: tuple[float, ...] = (0, 1, 0, 0)) -> Array:
    """A spot colour whose full tint looks like these amounts of cyan, magenta, yellow and black."""
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=list(full), N=1)
    return Array([Name.Separation, Name(f"/{name}"), Name.DeviceCMYK, tint])


def device_n(pdf: Pdf, *names: str) -> Array:
    """A mixed colour space; its looks: the sum of the inks as black."""
    code = "{ " + "add " * (len(names) - 1) + "dup 1 gt { pop 1 } if 0 0 0 4 3 roll }"
    function = stream(pdf, code.encode(), FunctionType=4, Domain=[0, 1] * len(names), Range=[0, 1] * 4)
    return Array([Name.DeviceN, Array([Name(f"/{name}") for name in names]), Name.DeviceCMYK, function])


def font(name: str = "Helvetica", **entries: Any) -> Dictionary:
    return Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name(f"/{name}"), **entries)


def embedded_font(pdf: Pdf, name: str = "ABCDEF+Own") -> Dictionary:
    """A font dictionary that carries a font file (of no letters: only its being there is looked at)."""
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name(f"/{name}"), Flags=32, FontFile2=pdf.make_stream(b"x"), Ascent=800,
        Descent=-200,
    )  # fmt: skip
    widths = Array([600] * 224)
    return Dictionary(
        Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name(f"/{name}"), FirstChar=32, LastChar=255, Widths=widths,
        FontDescriptor=descriptor, Encoding=Name.WinAnsiEncoding,
    )  # fmt: skip
