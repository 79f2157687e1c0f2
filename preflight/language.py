"""The language of a report for people: its words and how it writes figures.

Every sentence of the reports passes through ``say`` or ``many``, whose messages are the English ones; a catalogue in
the form of gettext puts others in their place. The words of the rules stand in the same catalogue, each in a context of
its own.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import cached_property
from pathlib import Path

from preflight.records import dataclass
from preflight.units import MM_PER_INCH, show_number

#: Every language there is, and its own name.
LANGUAGES: Mapping[str, str] = {
    "en": "English",
    "es": "Español",
    "pt": "Português",
    "de": "Deutsch",
    "fr": "Français",
}
#: What lengths may be written in.
UNITS = ("mm", "in")
#: Numbers that are written as words; the translation is a list of the same length with commas between.
NUMBERS = "no,one,two,three,four,five,six,seven,eight,nine,ten"
_DECIMAL_COMMA = frozenset({"es", "pt", "de", "fr"})
_HOLE = r"\{(\w+)\}"
_THOUSANDS = r"\d{1,3}(?:,\d{3})+"
#: A figure with its unit, as details of measurements hold them: "12 mm", "200 x 150 mm", "35 %".
_FIGURE = r"(\d+(?:\.\d+)?)(?: [x×] (\d+(?:\.\d+)?))? ?(mm²|mm|%|ppi|pixels|px|)"
#: More than one small word: not a figure, a format or a name's ending.
_ENGLISH = r"\b[a-z]+ [a-z]+\b"
_DEEPEST = 3
#: Contexts of what is put together in English before a language is known: reasons, whole sentences, what in a file
#: could act, and what is wrong with a ticket.
RETOLD = ("clause", "sentence", "thing", "slip")


@dataclass(frozen=True)
class Language:
    """One language.

    Parameters
    ----------
    code
        As HTML and PDF name it, such as "en".
    inches
        Whether lengths are written in inches.
    """

    code: str = "en"
    inches: bool = False
    catalogue: gettext.NullTranslations = field(default_factory=gettext.NullTranslations, repr=False, compare=False)

    def say(self, message: str, **values: str) -> str:
        """A sentence, with the figures put in for the names in braces."""
        return self.catalogue.gettext(message).format(**values)

    def many(self, one: str, more: str, count: int, **values: str) -> str:
        """The sentence that fits the number; ``{count}`` is the number as a word, up to ten."""
        message = self.catalogue.ngettext(one, more, count)
        return message.format(count=self.number(count), **values)

    def word(self, context: str, message: str) -> str:
        """A word or a text of a context, such as the words of a rule; it is not filled with figures."""
        return self.catalogue.pgettext(context, message)

    def words(self, context: str, one: str, more: str, count: int) -> str:
        """The word that fits the number, such as a unit."""
        return self.catalogue.npgettext(context, one, more, count)

    def number(self, count: int) -> str:
        """A whole number, as a word up to ten."""
        words: Sequence[str] = self.catalogue.gettext(NUMBERS).split(",")
        return words[count] if 0 <= count < len(words) else str(count)

    def point(self, text: str) -> str:
        """A number that is written with a decimal point, as it is written here."""
        return text.replace(".", ",") if self.code in _DECIMAL_COMMA else text

    def figure(self, value: float, digits: int = 3) -> str:
        """A number as people write it, see ``preflight.units.show_number``."""
        return self.point(show_number(value, digits))

    def amount(self, value: float, decimals: int) -> str:
        """A number with so many decimals."""
        return self.point(f"{value:.{decimals}f}")

    def length(self, millimetres: float, digits: int = 3) -> str:
        """A length with its unit."""
        if self.inches:
            return f"{self.figure(millimetres / MM_PER_INCH, digits)} in"
        return f"{self.figure(millimetres, digits)} mm"

    def size(self, width_mm: float, height_mm: float) -> str:
        """Width × height with the unit."""
        unit, factor, digits = ("in", MM_PER_INCH, 3) if self.inches else ("mm", 1.0, 4)
        return f"{self.figure(width_mm / factor, digits)} × {self.figure(height_mm / factor, digits)} {unit}"

    def detail(self, text: str) -> str:
        """A figure that was written in English when it was measured ("0.4 mm", "200 x 150 mm"), as it is written here.

        Anything else comes back as it is.
        """
        found = re.fullmatch(_FIGURE, text)
        if found is None or self == ENGLISH:
            return text
        first, second, unit = found.groups()
        factor = 1.0
        if self.inches and unit in ("mm", "mm²"):
            factor, unit = (MM_PER_INCH, "in") if unit == "mm" else (MM_PER_INCH**2, "in²")
        numbers = [
            self.point(each) if factor == 1.0 else self.figure(float(each) / factor)
            for each in (first, second)
            if each is not None
        ]
        if unit == "pixels":
            unit = self.words("unit", "pixel", "pixels", 1 if numbers == ["1"] else 2)
        return f"{' × '.join(numbers)} {unit}".rstrip()

    def retell(self, context: str, text: str) -> str | None:
        """What an English text says in this language.

        Parameters
        ----------
        context
            One of ``RETOLD``.
        text
            It was put together where a file was read or measured, where no language is known.

        Returns
        -------
        str or None
            None when the text is not one of those that the catalogue knows.
        """
        if self.code == "en":
            return text
        return self._retold(context, text, _DEEPEST)

    def _retold(self, context: str, text: str, depth: int) -> str | None:
        whole = self.catalogue.pgettext(context, text)
        if whole != text:
            return whole
        for pattern, names, message in self._patterns.get(context, ()) if depth else ():
            found = pattern.fullmatch(text)
            if found is not None:
                parts = {name: self._part(context, found[name], depth - 1) for name in names}
                if context == "clause" and any(
                    re.search(_ENGLISH, found[name]) and parts[name] == found[name] for name in names
                ):
                    continue  # words of ours that nobody translated: better a general sentence than a mixed one
                return re.sub(_HOLE, lambda hole: parts.get(hole[1], hole[0]), message)  # noqa: B023 - used at once
        return None

    def _part(self, context: str, text: str, depth: int) -> str:
        told = self._retold("clause" if context == "sentence" else context, text, depth)
        if told is not None:
            return told
        if context == "slip":
            return text  # what stands in a ticket, or what to write there: letter by letter
        if re.fullmatch(_THOUSANDS, text):
            return text.replace(",", "\u00a0")
        return self.detail(text)

    @cached_property
    def _patterns(self) -> Mapping[str, list[tuple[re.Pattern[str], tuple[str, ...], str]]]:
        """For each context, the texts with figures in them: how to know one, its figures, and the translation."""
        from preflight.pofile import CONTEXT_END, Catalogue

        patterns: dict[str, list[tuple[re.Pattern[str], tuple[str, ...], str]]] = {}
        if isinstance(self.catalogue, Catalogue):
            for name, (told, *_) in self.catalogue.told.items():
                context, _, message = name.rpartition(CONTEXT_END)
                if context in RETOLD and "{" in message:
                    patterns.setdefault(context, []).append((*_pattern(message), told))
        for listed in patterns.values():  # the one with the most words of its own first
            listed.sort(key=lambda one: -len(re.sub(_HOLE, "", one[0].pattern)))
        return patterns


def _pattern(message: str) -> tuple[re.Pattern[str], tuple[str, ...]]:
    names: list[str] = []
    parts: list[str] = []
    for at, part in enumerate(re.split(_HOLE, message)):
        if at % 2 == 0:
            parts.append(re.escape(part))
        else:
            names.append(part)
            parts.append(f"(?P<{part}>.*?)")
    return re.compile("".join(parts), re.DOTALL), tuple(names)


ENGLISH = Language()


def catalogue_path(code: str) -> Path:
    """The file of a language's translations."""
    return Path(__file__).parent / "languages" / code / "LC_MESSAGES" / "preflight.po"


def load_language(code: str, *, inches: bool = False) -> Language:
    """A language by its code, one of ``LANGUAGES``.

    Raises
    ------
    OSError
        When its catalogue is not there: the installation is not whole.
    KeyError
        For a language that there is not.
    """
    if code not in LANGUAGES:
        raise KeyError(code)
    if code == "en":
        return Language(inches=True) if inches else ENGLISH
    from preflight.pofile import read_catalogue

    return Language(code, inches, read_catalogue(catalogue_path(code)))
