"""Quantities with units: read from people, shown to people.

Lengths are millimetres, areas square millimetres and masses grams everywhere inside the program.
Conversions: 1 in = 25.4 mm = 72 pt (CSS Values and Units; ISO 32000-1 for the point).
"""

from __future__ import annotations

import math
import re

from preflight.errors import UnitError

MM_PER_INCH = 25.4
MM_PER_POINT = MM_PER_INCH / 72.0

_LENGTHS: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "pt": MM_PER_POINT,
}
_MASSES: dict[str, float] = {"g": 1.0, "kg": 1000.0}
#: Units a person may give for the size of a print. A metre is for film and rolls only.
PRINT_UNITS = ("mm", "cm", "in", "pt")
_QUANTITY = re.compile(r"^\s*([+-]?[^\sA-Za-z%\"']*)\s*([A-Za-z%\"']*)\s*$")
_NUMBER = re.compile(r"^[+-]?(\d+(\.\d*)?|\.\d+)$")
_LONGEST_NUMBER = 20


def parse_length(text: str, *, what: str = "length", units: tuple[str, ...] = PRINT_UNITS, zero: bool = False) -> float:
    """Read a length such as ``280mm`` or ``11 in``.

    Parameters
    ----------
    text
        The number, with a decimal point, and its unit.
    what
        What the length is, for the message.
    units
        The units that are allowed, out of mm, cm, m, in and pt.
    zero
        Whether 0 is allowed.

    Returns
    -------
    float
        Millimetres, finite and above zero (or zero, where that is allowed).

    Raises
    ------
    UnitError
        When there is no unit, an unknown one, a decimal comma, or no usable number.
    """
    return _parse(text, what, "a length", "280mm", {unit: _LENGTHS[unit] for unit in units}, zero)


def parse_mass(text: str, *, what: str = "mass", zero: bool = False) -> float:
    """Read a mass such as ``420g`` or ``1.2 kg``; grams, finite and above zero (or zero, where that is allowed).

    Raises
    ------
    UnitError
        As ``parse_length``.
    """
    return _parse(text, what, "a mass", "420g", _MASSES, zero)


def _parse(text: str, what: str, kind: str, example: str, factors: dict[str, float], zero: bool) -> float:
    allowed = ", ".join(factors)
    shown = text if len(text) <= 60 else text[:57] + "…"
    named = f"{what} '{_printable(shown)}'"
    match = _QUANTITY.match(text)
    number, unit = match.groups() if match is not None else ("", "")
    if "," in number:
        first = next(iter(factors))
        step = f"Write the number with a point: {_printable(number.replace(',', '.'))}{unit or first}."
        raise UnitError(f"{named} has a decimal comma", step)
    if not _NUMBER.match(number) or len(number) > _LONGEST_NUMBER:
        raise UnitError(f"{named} is not {kind}", f"Write a number and a unit ({allowed}), such as {example}.")
    if not unit:
        raise UnitError(f"{named} has no unit", f"Add one of {allowed}, such as {number}{next(iter(factors))}.")
    if unit.lower() not in factors:
        raise UnitError(f"{named} has a unit this program does not know here", f"Use one of {allowed}.")
    value = float(number) * factors[unit.lower()]
    if value < 0 or (value == 0 and not zero):
        raise UnitError(f"{named} must be {'zero or ' if zero else ''}more than zero", f"Write it such as {example}.")
    return value


def _printable(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def ppi(pixels: float, millimetres: float) -> float:
    """Pixels per inch of ``pixels`` spread over ``millimetres``."""
    return pixels * MM_PER_INCH / millimetres


def show_number(value: float, digits: int = 3) -> str:
    """A number as people write it: about ``digits`` significant figures, no exponent, no trailing zeros."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
