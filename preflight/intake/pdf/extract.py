"""One page written anew as a file of its own, for the programs that draw: they see what was read, and nothing else.

Boxes, unit and layers are settled on the way: the page is its print area, and each layer is plainly on or off.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterable
from io import BytesIO

import pikepdf
from pikepdf import Array, Dictionary, Name

from preflight.errors import IntakeError
from preflight.intake.head import SAVE_AGAIN, unreadable
from preflight.intake.pdf import values
from preflight.intake.pdf.annotations import printed
from preflight.intake.pdf.boxes import PageBox
from preflight.intake.pdf.layers import Layers
from preflight.intake.pdf.library import ODD_VALUES
from preflight.intake.pdf.values import Key
from preflight.intake.pdf.whole import check_streams

_SETTLED = ("/TrimBox", "/ArtBox", "/BleedBox", "/UserUnit", "/AA", "/PieceInfo", "/Metadata", "/Thumb", "/B")


def one_page(
    pdf: pikepdf.Pdf,
    index: int,
    box: PageBox,
    layers: Layers,
    edit: Callable[[pikepdf.Pdf], None] | None = None,
    drop: Iterable[Key] = (),
    *,
    check: bool = True,
) -> bytes:
    """Write a page as a file.

    Parameters
    ----------
    pdf
        The open document.
    index
        Of the page, from 0.
    box
        Its print area.
    layers
        Of the document.
    edit
        Changes the copy before it is written.
    drop
        Pictures, by their numbers in the document, that are to show nothing.
    check
        Whether to look if anything that the page needs is too large.

    Raises
    ------
    IntakeError
        When an object that the page needs is damaged, or too large.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # form fields without their form: they are drawn all the same
            copy = _copied(pdf, index, box, layers)
            if check:
                check_streams(copy)
            for number in drop:
                _empty(copy.copy_foreign(pdf.get_object(number)))
            if edit is not None:
                edit(copy)
            return _written(copy)
    except ODD_VALUES as error:
        raise _damaged() from error


def _copied(pdf: pikepdf.Pdf, index: int, box: PageBox, layers: Layers) -> pikepdf.Pdf:
    copy = pikepdf.new()
    copy.pages.append(pdf.pages[index])
    page = copy.pages[0].obj
    if "/Annots" in page:
        page.Annots = Array([copy.copy_foreign(_own(pdf, one)) for one in printed(pdf.pages[index].obj, layers, {})])
    page.MediaBox = page.CropBox = Array(list(box.box))
    page.Rotate = box.rotate
    for key in _SETTLED:
        if key in page:
            del page[key]
    if layers.names:
        copy.Root.OCProperties = _settled(pdf, copy, layers)
    return copy


def _written(copy: pikepdf.Pdf) -> bytes:
    out = BytesIO()
    copy.save(
        out,
        compress_streams=False,
        stream_decode_level=pikepdf.StreamDecodeLevel.none,
        object_stream_mode=pikepdf.ObjectStreamMode.disable,
    )
    return out.getvalue()


def _own(pdf: pikepdf.Pdf, thing: pikepdf.Object) -> pikepdf.Object:
    """An object that can be copied: it has to stand by itself for that."""
    return thing if thing.is_indirect else pdf.make_indirect(thing)


def _settled(pdf: pikepdf.Pdf, copy: pikepdf.Pdf, layers: Layers) -> pikepdf.Dictionary:
    """Layers without conditions: those that do not print are off, the others on."""
    groups = {key: copy.copy_foreign(pdf.get_object(key)) for key in layers.names}
    for group in groups.values():
        if values.is_dictionary(group) and "/Usage" in group:
            del group["/Usage"]
    off = Array([group for key, group in groups.items() if key in layers.off])
    default = Dictionary(Name="print", BaseState=Name.ON, OFF=off, Order=Array([]))
    return Dictionary(OCGs=Array(list(groups.values())), D=default)


def _empty(picture: pikepdf.Object) -> None:
    """Make a form that holds nothing out of a picture."""
    for key in list(picture.keys()):
        if key != "/Length":
            del picture[key]
    picture.Type, picture.Subtype, picture.BBox = Name.XObject, Name.Form, Array([0, 0, 1, 1])
    picture.write(b"")


def _damaged() -> IntakeError:
    return unreadable("part of what the page shows is damaged", SAVE_AGAIN)
