"""Names of inks: process inks, and the customer's own white plate in many languages."""

from __future__ import annotations

import re
import unicodedata

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
#: The colorant that means every plate at once, for register marks; ISO 32000-1, 8.6.6.4 (from memory).
ALL = "All"
#: The colorant that never marks anything; ibid.
NONE = "None"

_SEPARATOR = re.compile(r"[\s\d_\-–./,:;+&()\[\]]+")
_HUMP = re.compile(r"(?<=[a-z])(?=[A-Z])")


def is_white(name: str) -> bool:
    """Whether an ink's name says that it is a plate of white ink.

    "White", "WHITE_INK", "Spot White 1" and "Weiß" are; "Warm White", "Off-White" and "White Gold" are colours.
    """
    words = {_plain(word) for word in _SEPARATOR.split(_HUMP.sub(" ", name)) if word}
    return bool(words & (_WHITE | _PLATES)) and words <= _WHITE | _PLATES | _BESIDE


def _plain(word: str) -> str:
    """A word without capitals and accents; ß is ss, ł is l."""
    folded = unicodedata.normalize("NFKD", word.casefold()).replace("ł", "l")
    plain = "".join(letter for letter in folded if not unicodedata.combining(letter))
    return unicodedata.normalize("NFC", plain)


def _words(text: str) -> frozenset[str]:
    return frozenset(_plain(word) for word in text.split())


#: White in the languages of shops and customers. Dictionary words, no standard.
_WHITE = _words(
    "white blanc blanche blanco blanca bianco bianca branco branca weiß weiss wit hvid hvit vit valkoinen valko "
    "biały biała biel bílý bílá biela biely fehér alb beyaz bijela bijelo bela belo balta baltas balts valge "
    "putih trắng белый белая бял бяла білий біла бела бело λευκό άσπρο 白 白色 ホワイト 흰색 화이트 백색 أبيض לבן सफेद "
    "ขาว"
)
#: Words that may stand beside it and leave it a plate of white ink.
_BESIDE = _words(
    "ink inks spot plate base under layer colour color couleur farbe tinte encre tinta цвет print printing druck "
    "flood full solid opaque opak choke channel kanal film underprint back backing dtf 版 インク 墨"
)
#: Words for the plate itself.
_PLATES = _words(
    "underbase whitebase whiteink whiteunderbase weißdruck deckweiß unterweiß 白インク 白版 白墨 ホワイトインク"
)
