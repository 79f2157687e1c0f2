"""The words of a rule, filled with the figures of one finding.

A placeholder is a name in braces, such as ``{value}``. ``{value|speck|specks}`` adds the noun that fits the number.
A sentence whose placeholder has no figure this time is left out, so that nobody reads a half sentence.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from enum import IntEnum

from preflight.language import ENGLISH, Language
from preflight.measure.catalogue import BETWEEN_THINGS, MEASURES
from preflight.model import Measurement, PrintSize
from preflight.units import MM_PER_INCH, show_number

#: Placeholders of every rule: what was found, the limit it passed, the limit that must be kept for silence, the room
#: for the error of measuring, how many places, pixels per inch of the print, and the size of the print.
GENERAL = ("value", "limit", "aim", "tolerance", "places", "ppi", "print_size")
#: More of them for a rule in ppi: pixels the print needs, and the size that the pixels at hand are good for.
FOR_PPI = ("aim_pixels", "aim_size")

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_NAME = re.compile(r"[a-z][a-z0-9_]*(\|[^{}|]+\|[^{}|]+)?")
_SENTENCE_END = r"(?<=[.!?])\s+"


class Reader(IntEnum):
    """Who reads a figure: an index into ``_UNITS``."""

    CUSTOMER = 0
    OPERATOR = 1


#: The unit as the customer and the operator read it, and how many decimals mean something.
_UNITS: Mapping[str, tuple[tuple[str, str], int]] = {
    "ppi": (("pixels per inch", "ppi"), 0),
    "%": (("%", "%"), 1),
    "mm": (("mm", "mm"), 2),
    "mm2": (("mm²", "mm²"), 1),
    "in": (("in", "in"), 3),
    "in2": (("in²", "in²"), 3),
    "px": (("pixels", "px"), 0),
    "count": (("", ""), 0),
    "dE00": (("points", "ΔE00"), 1),
    "ratio": ((": 1", ": 1"), 2),
    "pt": (("pt", "pt"), 1),
}
#: Units that are words: one of them, and several.
UNIT_WORDS: Mapping[str, tuple[str, str]] = {
    "pixels per inch": ("pixel per inch", "pixels per inch"),
    "pixels": ("pixel", "pixels"),
    "points": ("point", "points"),
    "ppi": ("ppi", "ppi"),
    "px": ("px", "px"),
    "pt": ("pt", "pt"),
}
#: The next step of a file that was not read, where a language has no words for the one that is known.
ASK_US = "Ask us what we need."
#: Details that are figures, and those that list names.
_DETAIL_FIGURES = frozenset(
    ("length", "largest", "area", "choke", "share", "opacity", "ordered", "artwork", "pixels_ppi", "factor", "covers")
)
_DETAIL_NAMES = frozenset(("names", "fonts"))
#: Details that are words of this program, at least sometimes.
_DETAIL_WORDS = frozenset(("colour", "garment"))
_MORE_NAMES = r"(.*) and (\d+) more"
#: Details that are put together in English, and the context of their translation.
_RETOLD: Mapping[str, str] = {"reason": "clause", "next_step": "sentence"}
#: A ticket's name, and a line and a setting of it; then what is wrong there.
_PLACE = r"(.+?\.toml)(?:, line (\d+))?(?:, ([^:\s]+))?: (.+)"
_MEANT = r"Did you mean (.+?)\? (.+)"
_IN_INCHES: Mapping[str, tuple[str, float]] = {"mm": ("in", MM_PER_INCH), "mm2": ("in2", MM_PER_INCH**2)}


def rule_context(rule: str, name: str) -> str:
    """The context of a rule's text in the catalogues of translations; ``name`` is a field of ``Words``, or "source"."""
    return f"rule {rule} {name.replace('operator_', 'operator ')}"


def show(
    value: float, unit: str, reader: Reader = Reader.OPERATOR, *, more: int = 0, language: Language = ENGLISH
) -> str:
    """A figure with its unit as people read it, such as ``0.31 mm`` or ``240 pixels per inch``.

    ``more`` decimals are shown than usual, to tell two figures apart.
    """
    if language.inches and unit in _IN_INCHES:
        unit, factor = _IN_INCHES[unit]
        value /= factor
    names, decimals = _UNITS[unit]
    name, decimals = names[reader], decimals + more
    rounded = round(value, decimals)
    text = show_number(rounded, 3 + more) if rounded or not value else show_number(value, 1)
    if name in UNIT_WORDS:
        name = language.words("unit", *UNIT_WORDS[name], 1 if text == "1" else 2)
    return f"{language.point(text)} {name}".rstrip()


def show_apart(
    value: float, limit: float, unit: str, reader: Reader = Reader.OPERATOR, language: Language = ENGLISH
) -> tuple[str, str]:
    """Both figures; with more decimals when they would look alike and are not."""
    for more in range(6):
        shown = show(value, unit, reader, more=more, language=language)
        shown_limit = show(limit, unit, reader, language=language)
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


def sentences_of(template: str) -> list[str]:
    """The sentences that are kept or left out as a whole. An abbreviation with a full stop and a space splits too."""
    return re.split(_SENTENCE_END, template)


def fill(template: str, figures: Mapping[str, str]) -> str:
    """The words with their figures; sentences that lack one are left out."""

    def figure(match: re.Match[str]) -> str:
        name, _, nouns = match.group(1).partition("|")
        one, _, many = nouns.partition("|")
        text = figures[name]
        return f"{text} {one if text == '1' else many}" if nouns else text

    whole = [part for part in sentences_of(template) if all(name in figures for name in placeholders(part))]
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
    language: Language = ENGLISH,
) -> dict[str, str]:
    """The figures that the words of one finding may use, by placeholder, ready to be read."""
    unit = measurement.unit
    figures = _details(measurement, reader, language)
    value = measurement.value
    if value is not None:
        figures["value"] = show(value, unit, reader, language=language)
        if limit is not None:
            figures["value"], figures["limit"] = show_apart(value, limit, unit, reader, language)
        zero = MEASURES[measurement.id].zero
        if zero and value == 0:
            figures["zero"] = language.word("zero", zero)
            del figures["value"]
    if aim is not None:
        figures["aim"] = show(aim, unit, reader, language=language)
    if tolerance:
        figures["tolerance"] = show(tolerance, unit, reader, language=language)
    if places:
        figures["places"] = language.words("figure", "{count} place", "{count} places", places).format(count=places)
    if size is not None and size.ppi is not None and size.width_mm and size.height_mm:
        figures["ppi"] = show(size.ppi, "ppi", reader, language=language)
        figures["print_size"] = language.size(round(size.width_mm, 1), round(size.height_mm, 1))
        if unit == "ppi" and aim and value:
            figures["aim_pixels"] = " × ".join(
                str(round(side * aim / MM_PER_INCH)) for side in (size.width_mm, size.height_mm)
            )
            # Rounded down: the advice must hold when it is followed.
            step = MM_PER_INCH / 10 if language.inches else 1.0
            good = (side * value / aim for side in (size.width_mm, size.height_mm))
            figures["aim_size"] = language.size(*(int(side / step) * step for side in good))
    return figures


def _details(measurement: Measurement, reader: Reader, language: Language) -> dict[str, str]:
    """The details of a measurement as they are read here; the customer's are left out where there are no words."""
    told = (
        (key, _detail(measurement.id, key, _printable(text), language)) for key, text in measurement.details.items()
    )
    figures = {key: text for key, text in told if text is not None}
    missing = measurement.details.keys() - figures.keys()
    if missing and reader is Reader.OPERATOR:
        figures |= {key: _printable(measurement.details[key]) for key in missing}
    elif "next_step" in missing:
        figures["next_step"] = language.word("sentence", ASK_US)
    return figures


def _detail(measure: str, key: str, text: str, language: Language) -> str | None:
    if key in _DETAIL_FIGURES:
        return language.detail(text)
    if language.code == "en":
        return text
    if key in _RETOLD:
        ticket = measure == "ticket-unreadable"
        return _of_ticket(key, text, language) if ticket else language.retell(_RETOLD[key], text)
    if key in _DETAIL_NAMES:
        return _names(text, language, of_things=measure == "active-content")
    return language.word("clause", text) if key in _DETAIL_WORDS or text.startswith("(") else text


def _of_ticket(key: str, text: str, language: Language) -> str | None:
    """What is wrong with a ticket, or the next step. File, line and setting come before the words, and stay."""
    found = re.fullmatch(_PLACE if key == "reason" else _MEANT, text, re.DOTALL)
    *before, rest = found.groups() if found else (text,)
    told = language.retell("slip", rest)
    if found is None or told is None:
        return told
    if key == "next_step":
        return f"{language.word('slip', 'Did you mean {word}?').format(word=before[0])} {told}"
    file, line, setting = before
    numbered = line and language.word("slip", "line {number}").format(number=line)
    return f"{', '.join(part for part in (file, numbered, setting) if part)}: {told}"


def _names(text: str, language: Language, *, of_things: bool) -> str:
    """A list of names from the customer's file, or of things in it that could act."""
    found = re.fullmatch(_MORE_NAMES, text, re.DOTALL)
    between = BETWEEN_THINGS if of_things else ", "
    names = (found[1] if found else text).split(between)
    told = [(language.retell("thing", name) if of_things else None) or language.word("clause", name) for name in names]
    if found is None:
        return between.join(told)
    return language.word("figure", "{names} and {number} more").format(names=between.join(told), number=found[2])


def _printable(text: str) -> str:
    """Text without control characters: some of it stood in the customer's file."""
    return "".join(letter if letter.isprintable() else " " for letter in text)
