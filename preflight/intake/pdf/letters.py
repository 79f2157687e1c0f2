"""Which letters the codes of a font stand for, as far as the file tells. Only for showing people a few of them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from preflight.intake.pdf import values
from preflight.intake.pdf.content import Contents
from preflight.intake.pdf.values import Value

_MOST_BYTES = 256 << 10
_MOST_CODES = 20_000
_SYMBOLIC = 4
_SECTION = re.compile(rb"beginbf(char|range)(.*?)endbf", re.DOTALL)
_TOKEN = re.compile(rb"<([0-9a-fA-F\s]*)>|(\[)|(\])")
_ENCODINGS = {"WinAnsiEncoding": "cp1252", "MacRomanEncoding": "mac_roman", "StandardEncoding": "cp1252"}
_NAMES = (
    "zero one two three four five six seven eight nine space period comma hyphen colon semicolon exclam question "
    "slash ampersand at quotesingle quoteright quoteleft parenleft parenright plus fi fl ff germandbls adieresis "
    "odieresis udieresis eacute egrave"
)
_LETTERS = [*"0123456789 .,-:;!?/&@'’‘()+", "fi", "fl", "ff", *"ßäöüéè"]
_NAMED: Mapping[str, str] = dict(zip(_NAMES.split(), _LETTERS, strict=True))


def read_letters(font: Value, descriptor: Value, contents: Contents) -> dict[int, str] | None:
    """Code → letters; None where the font does not say. Raises as ``fonts.read_font``."""
    to_unicode = values.get(font, "/ToUnicode")
    if values.is_stream(to_unicode):
        data = contents.data(to_unicode)
        return None if data is None else _from_map(data[:_MOST_BYTES])
    if values.name(values.get(font, "/Subtype")) == "Type0":
        return None
    encoding = values.get(font, "/Encoding")
    base = values.name(encoding) or values.name(values.get(encoding, "/BaseEncoding"))
    symbolic = bool(values.whole(values.get(descriptor, "/Flags")) & _SYMBOLIC)
    letters: dict[int, str] = {}
    if base in _ENCODINGS or (not symbolic and values.name(values.get(font, "/Subtype")) != "Type3"):
        page = _ENCODINGS.get(base or "", "cp1252")
        letters = {code: bytes([code]).decode(page, "replace") for code in range(32, 256)}
    letters.update(_differences(values.get(encoding, "/Differences")))
    return {code: letter for code, letter in letters.items() if letter} or None


def _differences(array: Value) -> Iterator[tuple[int, str]]:
    code = 0
    for item in values.items(array, 1024):
        glyph = values.name(item)
        if glyph is None:
            code = values.whole(item)
            continue
        yield code, _glyph(glyph)
        code += 1


def _glyph(name: str) -> str:
    """The letter that a glyph's name stands for: its own name, a common one, or "uni" and four hexadecimal digits."""
    if len(name) == 1:
        return name
    if name in _NAMED:
        return _NAMED[name]
    if re.fullmatch(r"uni[0-9A-F]{4}", name):
        return chr(int(name[3:], 16))
    return ""


def _from_map(data: bytes) -> dict[int, str]:
    """A ToUnicode map: the sections bfchar and bfrange (ISO 32000-1, 9.10.3, from memory)."""
    letters: dict[int, str] = {}
    for section in _SECTION.finditer(data):
        tokens = list(_TOKEN.finditer(section[2]))
        pairs = _single(tokens) if section[1] == b"char" else _ranges(tokens)
        for code, text in pairs:
            letters[code] = text
            if len(letters) >= _MOST_CODES:
                return letters
    return letters


def _single(tokens: list[re.Match[bytes]]) -> Iterator[tuple[int, str]]:
    for source, target in zip(tokens[::2], tokens[1::2], strict=False):
        if source[1] is not None and target[1] is not None:
            yield _code(source), _text(target)


def _ranges(tokens: list[re.Match[bytes]]) -> Iterator[tuple[int, str]]:
    at = 0
    while at + 2 < len(tokens):
        first, last, target = tokens[at : at + 3]
        at += 3
        if first[1] is None or last[1] is None:
            continue
        low, high = _code(first), min(_code(last), _code(first) + _MOST_CODES)
        if target[2] is None:
            text = _text(target)
            yield from ((low + step, _stepped(text, step)) for step in range(high - low + 1))
            continue
        code = low
        while at < len(tokens) and tokens[at][3] is None:
            yield code, _text(tokens[at])
            code, at = code + 1, at + 1
        at += 1


def _stepped(text: str, step: int) -> str:
    """A range counts on the last letter."""
    if not text or ord(text[-1]) + step > 0x10FFFF:
        return ""
    return text[:-1] + chr(ord(text[-1]) + step)


def _code(token: re.Match[bytes]) -> int:
    return int(b"".join(token[1].split())[:8] or b"0", 16)


def _text(token: re.Match[bytes]) -> str:
    digits = b"".join((token[1] or b"").split())
    if len(digits) % 2:
        digits += b"0"
    return bytes.fromhex(digits.decode("ascii")).decode("utf-16-be", "ignore")
