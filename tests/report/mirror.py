"""A made-up language for tests: capitals for every message of the catalogues. What stays small is not translated."""

from __future__ import annotations

import re
from functools import cache

from docs.messages import everything
from preflight.language import NUMBERS, Language
from preflight.pofile import Catalogue, Entry

_HOLE = re.compile(r"(\{[^{}|]*(?:\|[^{}]*)?\})")


def capitals(text: str) -> str:
    """The text in capitals; names in braces stay, the nouns in them do not."""
    return "".join(_of_hole(part) if at % 2 else part.upper() for at, part in enumerate(_HOLE.split(text)))


def _of_hole(hole: str) -> str:
    name, bar, nouns = hole.partition("|")
    return name + bar + nouns.upper()


def joined(text: str, long: int) -> str:
    """The text with words run together until each is at least so long; names in braces stand alone."""
    words = [""]
    for word in text.split():
        alone = bool(re.search(r"[{}|]", word + words[-1])) or words[-1].endswith(".")
        if alone or len(words[-1]) >= long:
            words.append(word)
        else:
            words[-1] += word
    return " ".join(word for word in words if word)


@cache
def mirror(code: str = "de", *, inches: bool = False) -> Language:
    """The made-up language, with the figures of a real one."""
    entries = [Entry("", "", "", ("Plural-Forms: nplurals=2; plural=(n != 1);\n",), False)]
    for told in everything():
        texts = (told.message, told.plural) if told.plural else (told.message,)
        if told.message != NUMBERS:
            entries.append(Entry(told.context, told.message, told.plural, tuple(map(capitals, texts)), False))
    numbers = "NO,ONE,TWO,THREE,FOUR,FIVE,SIX,SEVEN,EIGHT,NINE,TEN"
    return Language(code, inches, Catalogue([*entries, Entry("", NUMBERS, "", (numbers,), False)]))
