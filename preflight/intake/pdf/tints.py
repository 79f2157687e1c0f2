"""Spot colours in a copy of a page, shown differently: as nothing, or as a grey that tells how much there is.

Separation and DeviceN: ISO 32000-1, 8.6.6.4 and 8.6.6.5; functions: 7.10 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence

import pikepdf
from pikepdf import Array, Dictionary, Name

from preflight.intake.pdf import values
from preflight.intake.pdf.names import NONE
from preflight.intake.pdf.values import Value

_DEEPEST = 12
_MOST_OBJECTS = 200_000


def without(inks: Collection[str]) -> Callable[[pikepdf.Pdf], None]:
    """An edit after which these inks mark nothing. Pictures in them alone have to be dropped as well."""

    def edit(pdf: pikepdf.Pdf) -> None:
        for space in _spot_spaces(pdf):
            names = _names(space)
            if not set(inks) & set(names):
                continue
            if all(name in inks for name in names):
                _make_none(space)
            else:
                _keep(pdf, space, [name not in inks for name in names])

    return edit


def as_grey(inks: Collection[str], *, shown: bool) -> Callable[[pikepdf.Pdf], None]:
    """An edit after which these inks are white, or grey as deep as there is ink; everything else stays as it is.

    The difference of the two drawings is the coverage.
    """

    def edit(pdf: pikepdf.Pdf) -> None:
        for space in _spot_spaces(pdf):
            places = [index for index, name in enumerate(_names(space)) if name in inks]
            if places:
                space[2] = Name.DeviceGray
                space[3] = _grey(pdf, len(_names(space)), places if shown else [])

    return edit


def _spot_spaces(pdf: pikepdf.Pdf) -> Iterator[Value]:
    """Every Separation and DeviceN colour space of a file, wherever it stands."""
    for index, thing in enumerate(pdf.objects):
        if index >= _MOST_OBJECTS:
            return
        yield from _within(thing, _DEEPEST, top=True)


def _within(thing: Value, depth: int, *, top: bool = False) -> Iterator[Value]:
    """Colour spaces in an object and in what stands in it directly; what it refers to has its own turn."""
    if depth == 0 or (not top and values.key_of(thing) != (0, 0)):
        return
    if isinstance(thing, pikepdf.Array):
        if len(thing) >= 4 and values.name(thing[0]) in ("Separation", "DeviceN"):
            yield thing
            return
        for item in values.items(thing):
            yield from _within(item, depth - 1)
        return
    for _, item in values.entries(thing):
        yield from _within(item, depth - 1)


def _names(space: Value) -> list[str]:
    if values.name(space[0]) == "Separation":
        return [values.name(space[1]) or ""]
    return [values.name(one) or "" for one in values.items(space[1], 64)]


def _make_none(space: Value) -> None:
    none = Name(f"/{NONE}")
    if values.name(space[0]) == "Separation":
        space[1] = none
    else:
        space[1] = Array([none] * len(_names(space)))


def _keep(pdf: pikepdf.Pdf, space: Value, kept: Sequence[bool]) -> None:
    """Feed a mixed colour space's function with zero in the place of the inks that are to vanish.

    A function of type 0 is told to read its first sample there, one of type 4 is given an opening that sets the value.
    """
    function = space[3]
    kind = values.whole(values.get(function, "/FunctionType"))
    if kind == 0:
        changed = pdf.make_stream(function.read_raw_bytes())
        for key, value in values.entries(function):
            if key != "/Length":
                changed[key] = value
        sizes = [values.whole(size) for size in values.items(values.get(function, "/Size"), 64)]
        ranges = values.numbers(values.get(function, "/Encode"), 2 * len(kept))
        encode = list(ranges or [bound for size in sizes for bound in (0, size - 1)])
        for place, keep in enumerate(kept):
            if not keep:
                encode[2 * place + 1] = encode[2 * place]
        changed.Encode = Array(encode)
        space[3] = changed
    elif kind == 4:
        opening = " ".join(_set_to_zero(len(kept), place) for place, keep in enumerate(kept) if not keep)
        code = bytes(function.read_bytes()).strip()
        changed = pdf.make_stream(b"{ " + opening.encode() + b" " + code[1:])
        for key, value in values.entries(function):
            if key not in ("/Length", "/Filter", "/DecodeParms"):
                changed[key] = value
        space[3] = changed


def _set_to_zero(count: int, place: int) -> str:
    """Calculator code: bring one of ``count`` values to the top, replace it by 0, put it back."""
    depth = count - place
    return f"{depth} -1 roll pop 0 {depth} 1 roll"


def _grey(pdf: pikepdf.Pdf, count: int, places: Sequence[int]) -> Value:
    """A function of ``count`` inks: white less those at ``places``."""
    bounds = [0, 1] * count
    if count == 1:
        return Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([1]), C1=Array([0 if places else 1]), N=1)
    # Each value is copied from below the sum so far, which lies on top of them.
    code = " ".join(f"{count - place} index sub" for place in places)
    clean = f"{count + 1} 1 roll {'pop ' * count}"
    stream = pdf.make_stream(f"{{ 1 {code} {clean}}}".encode())
    stream.FunctionType, stream.Domain, stream.Range = 4, Array(bounds), Array([0, 1])
    return stream
