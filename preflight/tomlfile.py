"""Read the TOML files that a shop writes: shop, ticket and rule files.

A slip is answered with the file, the line, the key, a plain sentence and the next step; nothing is guessed. Use::

    file = load_toml(path)
    film = file.section("film")
    width = film.take_length("width", 330.0, low=50.0, high=2000.0)
    film.finish()                        # complains of a key that nobody took
"""

from __future__ import annotations

import math
import os
from collections.abc import Collection, Iterator, Mapping
from dataclasses import field
from typing import Any, Final, TypeVar

import tomli

from preflight.errors import SettingsError, UnitError
from preflight.records import dataclass
from preflight.textfile import read_text
from preflight.tomlslips import bare, explain, key_lines, meant, safe, shown
from preflight.units import parse_length, parse_mass, show_number

#: Points in one line of a file. A long sentence has three.
MOST_POINTS = 100
LENGTH_UNITS = ("mm", "cm", "m", "in", "pt")


class _Required:
    """Marks a setting that has no default."""


REQUIRED: Final = _Required()
_D = TypeVar("_D")


@dataclass(frozen=True)
class TomlFile:
    """A TOML file that was read: ``data`` as the parser gives it, ``name`` as the person named the file."""

    name: str
    data: dict[str, Any]
    text: str = field(repr=False, default="")

    def line_of(self, key: str) -> int | None:
        """Line, counted from 1, of a dotted key such as ``limits.stop``; of the group around it when it has none."""
        lines = key_lines(self.text)
        while key:
            found = next((place for place in lines if place == key or place.startswith(f"{key}.")), None)
            if found is not None:
                return lines[found][0]
            key = key.rpartition(".")[0]
        return None

    def slip(self, key: str, what: str, next_step: str) -> SettingsError:
        """The error to raise about the setting ``key``."""
        return _slip(self.name, key, self.line_of(key), what, next_step)

    @property
    def top(self) -> Section:
        """The settings outside any group. Take them all from one ``top``: it remembers what is known."""
        return Section(self, "", self.data)


def load_toml(path: str | os.PathLike[str]) -> TomlFile:
    """Read a TOML file.

    Raises
    ------
    SettingsError
        When the file cannot be read (see ``read_text``) or is no TOML.
    """
    name = os.fspath(path)
    text = read_text(path)
    _refuse_deep_names(text, name)
    try:
        data = tomli.loads(text)
    except RecursionError:
        raise SettingsError("lists stand inside lists too deeply", "Write it flatter.", file=name) from None
    except tomli.TOMLDecodeError as error:
        slip = explain(text, str(error))
        raise _slip(name, slip.key, slip.line, slip.what, slip.next_step) from None
    except ValueError:  # a number of thousands of digits
        raise SettingsError("it holds a number that is too long", "Write shorter numbers.", file=name) from None
    return TomlFile(name, data, text)


def _refuse_deep_names(text: str, name: str) -> None:
    """A name of ten thousand parts costs the standard parser gigabytes."""
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MOST_POINTS and not line.lstrip().startswith("#"):
            what = f"this line holds more than {MOST_POINTS} points"
            raise SettingsError(what, "Break the text into several lines.", file=name, line=number)


class Section:
    """One group of settings. Each ``take_…`` checks one and notes that it is known; ``finish`` then finds the rest.

    Every ``take_…`` returns ``default`` when the key is not there. It raises SettingsError when the value is of
    another kind or out of range, and when the key is not there and has no default.
    """

    def __init__(self, file: TomlFile, path: str, data: Mapping[str, Any]) -> None:
        self.file = file
        self.path = path
        self.data = data
        self._known: list[str] = []

    def slip(self, name: str, what: str, next_step: str) -> SettingsError:
        """The error to raise about the setting ``name`` of this group."""
        return self.file.slip(f"{self.path}.{name}".lstrip("."), what, next_step)

    def has(self, name: str) -> bool:
        """Whether the file sets ``name``."""
        return name in self.data

    def section(self, name: str) -> Section:
        """The group ``name`` inside this one, empty when the file has none.

        Raises
        ------
        SettingsError
            When something else stands there.
        """
        self._know(name)
        path = f"{self.path}.{name}".lstrip(".")
        value = self.data.get(name, {})
        if not isinstance(value, dict):
            raise self.slip(name, f"{shown(value)} stands where a group belongs", f"Write the heading [{path}].")
        return Section(self.file, path, value)

    def sections(self) -> Iterator[tuple[str, Section]]:
        """Every group inside this one, by the name its owner gave it. What is no group is left to ``finish``."""
        for name, value in self.data.items():
            if isinstance(value, dict):
                yield name, self.section(name)

    def take_text(
        self, name: str, default: _D | _Required = REQUIRED, *, longest: int = 1000, lines: bool = False
    ) -> str | _D:
        """Text that is not empty and holds no control characters; of several lines when ``lines``."""
        if not self._there(name, default):
            return self._default(default)
        return self._text(name, self.data[name], longest, lines)

    def take_texts(self, name: str, default: _D | _Required = REQUIRED, *, longest: int = 200) -> tuple[str, ...] | _D:
        """A list of texts."""
        if not self._there(name, default):
            return self._default(default)
        value = self.data[name]
        if not isinstance(value, list):
            raise self.slip(name, f"{shown(value)} is not a list", f'Write it so: {name} = ["{bare(value, "…")}"].')
        return tuple(self._text(name, item, longest, False) for item in value)

    def take_flag(self, name: str, default: _D | _Required = REQUIRED) -> bool | _D:
        """``true`` or ``false``."""
        if not self._there(name, default):
            return self._default(default)
        value = self.data[name]
        if not isinstance(value, bool):
            step = f"Write {name} = true or {name} = false, without quotes."
            raise self.slip(name, f"{shown(value)} is neither true nor false", step)
        return value

    def take_number(
        self, name: str, default: _D | _Required = REQUIRED, *, low: float = 0.0, high: float = 1e9
    ) -> float | _D:
        """A finite number from ``low`` to ``high``."""
        if not self._there(name, default):
            return self._default(default)
        value = self.data[name]
        if isinstance(value, bool) or not isinstance(value, int | float):
            step = "Write it without quotes and unit, with a decimal point where it needs one."
            raise self.slip(name, f"{shown(value)} is not a number", step)
        return self._in_range(name, value, low, high)

    def take_whole(self, name: str, default: _D | _Required = REQUIRED, *, low: int = 0, high: int = 10**9) -> int | _D:
        """A whole number from ``low`` to ``high``."""
        if not self._there(name, default):
            return self._default(default)
        value = self.data[name]
        if isinstance(value, bool) or not isinstance(value, int):
            step = "Write it without quotes and without a decimal point."
            raise self.slip(name, f"{shown(value)} is not a whole number", step)
        self._in_range(name, value, low, high)
        return value

    def take_length(
        self,
        name: str,
        default: _D | _Required = REQUIRED,
        *,
        low: float = 0.0,
        high: float = 1e6,
        units: tuple[str, ...] = LENGTH_UNITS,
    ) -> float | _D:
        """A length with its unit, such as ``"5mm"``, in millimetres; from ``low`` to ``high`` mm."""
        if not self._there(name, default):
            return self._default(default)
        text = self._quantity(name, "mm")
        try:
            return self._in_range(name, parse_length(text, what=name, units=units, zero=True), low, high, "mm")
        except UnitError as error:
            raise self.slip(name, error.what, error.next_step) from None

    def take_mass(
        self, name: str, default: _D | _Required = REQUIRED, *, low: float = 0.0, high: float = 1e6
    ) -> float | _D:
        """A mass with its unit, such as ``"420g"``, in grams; from ``low`` to ``high`` g."""
        if not self._there(name, default):
            return self._default(default)
        text = self._quantity(name, "g")
        try:
            return self._in_range(name, parse_mass(text, what=name, zero=True), low, high, "g")
        except UnitError as error:
            raise self.slip(name, error.what, error.next_step) from None

    def take_choice(self, name: str, choices: Collection[str], default: _D | _Required = REQUIRED) -> str | _D:
        """One of ``choices``."""
        if not self._there(name, default):
            return self._default(default)
        value = self.data[name]
        if not isinstance(value, str) or value not in choices:
            known = ", ".join(f'"{choice}"' for choice in choices)
            step = f"{meant(value, choices)}Choose one of {known}."
            raise self.slip(name, f"{shown(value)} is not known here", step)
        return value

    def finish(self) -> None:
        """Raise SettingsError when the file sets something here that no ``take_…`` or ``section`` asked for."""
        for name in self.data:
            if name not in self._known:
                place = f"[{self.path}]" if self.path else "this file"
                step = f"{meant(name, self._known)}Known here: {', '.join(self._known)}."
                raise self.slip(name, f"'{name}' is not a setting of {place}", step)

    def _know(self, name: str) -> None:
        if name not in self._known:
            self._known.append(name)

    def _there(self, name: str, default: object) -> bool:
        self._know(name)
        if name not in self.data and isinstance(default, _Required):
            raise self.slip(name, "this setting is missing", f"Add a line {name} = … with its value.")
        return name in self.data

    def _default(self, default: _D | _Required) -> _D:
        if isinstance(default, _Required):  # cannot be: _there raised
            raise TypeError("a setting without a default")
        return default

    def _text(self, name: str, value: object, longest: int, lines: bool) -> str:
        if not isinstance(value, str):
            step = f'Put it in quotes: "{bare(value, "…")}".'
            raise self.slip(name, f"{shown(value)} is not text", step)
        if not value.strip():
            raise self.slip(name, "the text is empty", "Write something, or delete the line.")
        if len(value) > longest:
            raise self.slip(name, f"the text has {len(value)} characters", f"Write at most {longest}.")
        if not (value.replace("\n", "") if lines else value).isprintable():
            step = "Write a path with forward slashes, and other text on one line."
            raise self.slip(name, "the text holds an invisible character (\\t, \\n and the like make one)", step)
        return value

    def _quantity(self, name: str, unit: str) -> str:
        value = self.data[name]
        if not isinstance(value, str):
            step = f'Write it in quotes with its unit, such as {name} = "{bare(value, "5")}{unit}".'
            raise self.slip(name, f"{shown(value)} has no unit", step)
        return value

    def _in_range(self, name: str, value: float, low: float, high: float, unit: str = "") -> float:
        if not math.isfinite(value):
            raise self.slip(name, f"{value} is no number to count with", "Write a plain number.")
        if not low <= value <= high:
            least, most = (f"{show_number(limit, 6)}{unit}" for limit in (low, high))
            what = f"{show_number(value, 6)}{unit} is {'less' if value < low else 'more'} than it can be"
            raise self.slip(name, what, f"Write a value from {least} to {most}.")
        return float(value)


def _slip(name: str, key: str | None, line: int | None, what: str, step: str) -> SettingsError:
    """An error whose parts are safe to print: what a file says may hold anything."""
    return SettingsError(safe(what), safe(step), file=name, key=safe(key) if key else None, line=line)
