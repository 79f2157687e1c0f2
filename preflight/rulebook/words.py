"""The words of a rule, filled with the figures of one finding.

A placeholder is a name in braces, such as ``{value}``. ``{value|speck|specks}`` adds the noun that fits the number.
A sentence whose placeholder has no figure this time is left out, so that nobody reads a half sentence.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from enum import IntEnum

from preflight.measure.catalogue import MEASURES
from preflight.model import Measurement, PrintSize
from preflight.units import MM_PER_INCH, show_number

#: Placeholders of every rule: what was found, the limit it passed, the limit that must be kept for silence, the room
#: for the error of measuring, how many places, pixels per inch of the print, and the size of the print.
GENERAL = ("value", "limit", "aim", "tolerance", "places", "ppi", "print_size")
#: More of them for a rule in ppi: pixels the print needs, and the size that the pixels at hand are good for.
FOR_PPI = ("aim_pixels", "aim_size")

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_NAME = re.compile(r"[a-z][a-z0-9_]*(\|[^{}|]+\|[^{}|]+)?")
_SENTENCE_END = re.compile(r"(?<=[.!?])\s+")


class Reader(IntEnum):
    """Who reads a figure: an index into ``_UNITS``."""

    CUSTOMER = 0
    OPERATOR = 1


#: The unit as the customer and the operator read it, and how many decimals mean something.
_UNITS: Mapping[str, tuple[tuple[str, str], int]] = {
    "ppi": ((" pixels per inch", " ppi"), 0),
    "%": ((" %", " %"), 1),
    "mm": ((" mm", " mm"), 2),
    "mm2": ((" mm²", " mm²"), 1),
    "px": ((" pixels", " px"), 0),
    "count": (("", ""), 0),
    "dE00": ((" points", " ΔE00"), 1),
    "ratio": ((" : 1", " : 1"), 2),
    "pt": ((" pt", " pt"), 1),
}


def show(value: float, unit: str, reader: Reader = Reader.OPERATOR, *, more: int = 0) -> str:
    """A figure with its unit as people read it, such as ``0.31 mm`` or ``240 pixels per inch``.

    ``more`` decimals are shown than usual, to tell two figures apart.
    """
    names, decimals = _UNITS[unit]
    name, decimals = names[reader], decimals + more
    rounded = round(value, decimals)
    text = show_number(rounded, 3 + more) if rounded or not value else show_number(value, 1)
    return text + (name.replace("pixels", "pixel").replace("points", "point") if text == "1" else name)


def show_apart(value: float, limit: float, unit: str, reader: Reader = Reader.OPERATOR) -> tuple[str, str]:
    """Both figures; with more decimals when they would look alike and are not."""
    for more in range(6):
        shown = show(value, unit, reader, more=more)
        shown_limit = show(limit, unit, reader)
        if shown != shown_limit:
            break
    return shown, shown_limit


def placeholders(template: str) -> Iterator[str]:
    """The name inside each pair of braces, without the nouns."""
    for found in _PLACEHOLDER.findall(template):
        yield found.partition("|")[0]


def slip_in(template: str, known: Collection[str]) -> str | None:
    """What is wrong with the placeholders of ``template``, a clause; None when all is well."""
    bare = _PLACEHOLDER.sub("", template)
    if "{" in bare or "}" in bare:
        return "a brace has no partner"
    for found in _PLACEHOLDER.findall(template):
        if not _NAME.fullmatch(found):
            return f"{{{found}}} is no placeholder"
        if found.partition("|")[0] not in known:
            return f"{{{found}}} is not known here"
    return None


def fill(template: str, figures: Mapping[str, str]) -> str:
    """The words with their figures; sentences that lack one are left out."""

    def figure(match: re.Match[str]) -> str:
        name, _, nouns = match.group(1).partition("|")
        one, _, many = nouns.partition("|")
        text = figures[name]
        return f"{text} {one if text == '1' else many}" if nouns else text

    whole = [part for part in _SENTENCE_END.split(template) if all(name in figures for name in placeholders(part))]
    return " ".join(_PLACEHOLDER.sub(figure, part) for part in whole)


def figures_of(
    measurement: Measurement,
    size: PrintSize | None,
    reader: Reader,
    *,
    limit: float | None = None,
    aim: float | None = None,
    tolerance: float = 0.0,
    places: int = 0,
) -> dict[str, str]:
    """The figures that the words of one finding may use, by placeholder, ready to be read."""
    unit = measurement.unit
    figures = {key: _printable(text) for key, text in measurement.details.items()}
    value = measurement.value
    if value is not None:
        figures["value"] = show(value, unit, reader)
        if limit is not None:
            figures["value"], figures["limit"] = show_apart(value, limit, unit, reader)
        zero = MEASURES[measurement.id].zero
        if zero and value == 0:
            figures["zero"] = zero
            del figures["value"]
    if aim is not None:
        figures["aim"] = show(aim, unit, reader)
    if tolerance:
        figures["tolerance"] = show(tolerance, unit, reader)
    if places:
        figures["places"] = "1 place" if places == 1 else f"{places} places"
    if size is not None and size.ppi is not None and size.width_mm and size.height_mm:
        figures["ppi"] = show(size.ppi, "ppi", reader)
        figures["print_size"] = _size(size.width_mm, size.height_mm)
        if unit == "ppi" and aim and value:
            figures["aim_pixels"] = " × ".join(
                str(round(side * aim / MM_PER_INCH)) for side in (size.width_mm, size.height_mm)
            )
            # Whole millimetres, rounded down: the advice must hold when it is followed.
            figures["aim_size"] = _size(*(int(side * value / aim) for side in (size.width_mm, size.height_mm)))
    return figures


def _size(width: float, height: float) -> str:
    return f"{show_number(round(width, 1), 4)} × {show_number(round(height, 1), 4)} mm"


def _printable(text: str) -> str:
    """Text without control characters: some of it stood in the customer's file."""
    return "".join(letter if letter.isprintable() else " " for letter in text)
