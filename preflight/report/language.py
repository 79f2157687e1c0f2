"""The language of a report for people: its words and how it writes figures.

Every sentence of the reports passes through ``say`` or ``many``, whose messages are the English ones; a catalogue in
the form of gettext puts others in their place.
"""

from __future__ import annotations

import gettext
from collections.abc import Sequence
from dataclasses import dataclass, field

from preflight.units import MM_PER_INCH, show_number

#: Numbers that are written as words; the translation is a list of the same length with commas between.
_NUMBERS = "no,one,two,three,four,five,six,seven,eight,nine,ten"


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
    catalogue: gettext.NullTranslations = field(default_factory=gettext.NullTranslations, repr=False)

    def say(self, message: str, **values: str) -> str:
        """A sentence, with the figures put in for the names in braces."""
        return self.catalogue.gettext(message).format(**values)

    def many(self, one: str, more: str, count: int, **values: str) -> str:
        """The sentence that fits the number; ``{count}`` is the number as a word, up to ten."""
        message = self.catalogue.ngettext(one, more, count)
        return message.format(count=self.number(count), **values)

    def number(self, count: int) -> str:
        """A whole number, as a word up to ten."""
        words: Sequence[str] = self.catalogue.gettext(_NUMBERS).split(",")
        return words[count] if 0 <= count < len(words) else str(count)

    def length(self, millimetres: float, digits: int = 3) -> str:
        """A length with its unit."""
        if self.inches:
            return f"{show_number(millimetres / MM_PER_INCH, digits)} in"
        return f"{show_number(millimetres, digits)} mm"

    def size(self, width_mm: float, height_mm: float) -> str:
        """Width × height with the unit."""
        unit, factor = ("in", MM_PER_INCH) if self.inches else ("mm", 1.0)
        return f"{show_number(width_mm / factor, 4)} × {show_number(height_mm / factor, 4)} {unit}"


ENGLISH = Language()
