"""Small changes to good files, each told by three numbers, so that a short list of numbers tells a whole bad file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TypeAlias

#: Kind, place and matter of a change.
Step: TypeAlias = tuple[int, int, int]
KINDS = 11
#: So many of them know nothing of words.
OF_BYTES = 6
MOST = 1 << 16
#: No file grows beyond this.
_LARGEST = 200_000
_DIGITS = re.compile(rb"\d+(?:\.\d+)?")
_FIGURES = (
    b"0",
    b"-1",
    b"1e999",
    b"nan",
    b"99999999999999999999",
    b"0.0000000001",
    b"2147483648",
    b"4294967295",
    b"1,5",
    b"",
    b"1e-320",
    b"007",
)
_PATTERNS = (b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff", b"\xff\xff\xff\x7f", b"\x80\0\0\0", b"\0\0\0\x80",
             b"\0\0\0\1", b"\1\0\0\0", b"\xff" * 8, b"\0\1", b"\xff\xff")  # fmt: skip


def mutated(seeds: Sequence[bytes], words: Sequence[bytes], first: int, steps: Sequence[Step]) -> bytes:
    """The chosen seed after these changes.

    Parameters
    ----------
    seeds
        Good files, at least one.
    words
        What the language of the file is made of.
    first
        Which seed.
    """
    data = bytearray(seeds[first % len(seeds)])
    for step in steps:
        _change(data, seeds, words, step)
        del data[_LARGEST:]
    return bytes(data)


def _change(data: bytearray, seeds: Sequence[bytes], words: Sequence[bytes], step: Step) -> None:
    kind, where, matter = step
    reach = len(data) if where % 3 else min(len(data), 120)  # heads matter most
    at = where % (reach + 1)
    if kind % KINDS < OF_BYTES:
        _change_bytes(data, kind % KINDS, at, matter)
    else:
        _put(data, kind % KINDS, at, words[matter % len(words)] if words else b"x", seeds[matter % len(seeds)], matter)


def _change_bytes(data: bytearray, kind: int, at: int, matter: int) -> None:
    some = 1 + matter % 40
    match kind:
        case 0:
            data[at : at + 1] = bytes([matter % 256])
        case 1:
            data[at : at + 1] = bytes(byte ^ 1 << matter % 8 for byte in data[at : at + 1])
        case 2:
            del data[at : at + some]
        case 3:
            data[at:at] = data[at : at + some]
        case 4:
            pattern = _PATTERNS[matter % len(_PATTERNS)]
            data[at : at + len(pattern)] = pattern
        case _:
            del data[at:]


def _put(data: bytearray, kind: int, at: int, word: bytes, other: bytes, matter: int) -> None:
    match kind - OF_BYTES:
        case 0:
            data[at:at] = word
        case 1:
            data[at : at + len(word)] = word
        case 2:
            data[at:at] = word * (matter % 300)
        case 3:
            data[at:] = other[at % (len(other) + 1) :]
        case _:
            found = _DIGITS.search(data, at)
            if found:
                data[found.start() : found.end()] = _FIGURES[matter % len(_FIGURES)]
