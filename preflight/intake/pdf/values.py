"""Values of a PDF read with care: what is not of the kind that is asked for is not there."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, TypeAlias

import pikepdf

from preflight.intake.pdf.matrix import Matrix, Rect

#: An object of the PDF library, or a plain number, truth value or None.
Value: TypeAlias = Any
#: Number of an indirect object and its generation; (0, 0) for one that stands where it is used.
Key: TypeAlias = tuple[int, int]

_LARGEST = 1e9
_MOST_LETTERS = 80
_HEX = re.compile(rb"#([0-9a-fA-F]{2})")


def get(holder: Value, key: str) -> Value:
    """What a dictionary or a stream holds under a key such as "/Type"; None for anything else."""
    if not isinstance(holder, pikepdf.Object):
        return None
    return holder.get(key)


def is_dictionary(value: Value) -> bool:
    """Whether it is a dictionary; a stream is none."""
    return isinstance(value, pikepdf.Dictionary) and not is_stream(value)


def is_stream(value: Value) -> bool:
    """Whether it is a stream: data with a dictionary."""
    return isinstance(value, pikepdf.Stream)


def items(value: Value, most: int = 100_000) -> Iterator[Value]:
    """The items of an array, at most so many; none for anything else."""
    if isinstance(value, pikepdf.Array):
        for index in range(min(len(value), most)):
            yield value[index]


def entries(value: Value, most: int = 100_000) -> Iterator[tuple[str, Value]]:
    """Names with their stroke, and values, of a dictionary or a stream; none for anything else."""
    if isinstance(value, pikepdf.Object) and (is_stream(value) or isinstance(value, pikepdf.Dictionary)):
        for index, pair in enumerate(value.items()):
            if index >= most:
                return
            yield pair


def number(value: Value, otherwise: float = 0.0) -> float:
    """A finite number of a sensible size."""
    if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
        real = float(value)
        if math.isfinite(real) and abs(real) <= _LARGEST:
            return real
    return otherwise


def whole(value: Value, otherwise: int = 0) -> int:
    """A whole number."""
    return value if isinstance(value, int) and not isinstance(value, bool) else otherwise


def numbers(value: Value, count: int) -> tuple[float, ...] | None:
    """An array of so many numbers; None for anything else."""
    if not isinstance(value, pikepdf.Array) or len(value) != count:
        return None
    read = tuple(number(item, math.nan) for item in items(value))
    return None if any(math.isnan(one) for one in read) else read


def matrix(value: Value, otherwise: Matrix) -> Matrix:
    """An array of six numbers."""
    read = numbers(value, 6)
    return otherwise if read is None else (read[0], read[1], read[2], read[3], read[4], read[5])


def rectangle(value: Value) -> Rect | None:
    """An array of two corners, any two opposite ones; None for anything else."""
    read = numbers(value, 4)
    if read is None:
        return None
    return (min(read[0], read[2]), min(read[1], read[3]), max(read[0], read[2]), max(read[1], read[3]))


def name(value: Value) -> str | None:
    """A name without its stroke. Names are bytes: UTF-8 where that fits, else Latin-1."""
    if not isinstance(value, pikepdf.Name):
        return None
    raw = value.unparse()[1:]
    if b"#" in raw:
        raw = _HEX.sub(lambda match: bytes([int(match[1], 16)]), raw)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def text(value: Value) -> str:
    """A text for people: one line, printable, cut where it is long. Empty for anything but a string or a name."""
    if isinstance(value, pikepdf.String):
        return shown(str(value))
    return shown(name(value) or "")


def shown(words: str, most: int = _MOST_LETTERS) -> str:
    """Words from inside a file made safe to show: one line, printable, cut where it is long."""
    printable = "".join(letter if letter.isprintable() else " " for letter in words[: 4 * most])
    line = " ".join(printable.split())
    return line if len(line) <= most else line[: most - 1] + "…"


def key_of(value: Value) -> Key:
    """Number and generation of an indirect object; (0, 0) for a direct one or a plain value."""
    return value.objgen if isinstance(value, pikepdf.Object) else (0, 0)


def inherited(page: Value, key: str) -> Value:
    """An attribute of a page or of the nearest of its ancestors that has it; None where none does."""
    node = page
    for _ in range(64):
        value = get(node, key)
        if value is not None:
            return value
        node = get(node, "/Parent")
        if node is None:
            return None
    return None
