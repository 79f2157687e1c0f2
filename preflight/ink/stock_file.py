"""The file that keeps what is on the machine: written by hand, by ``preflight stock``, or by another program.

The same names in TOML, CSV and JSON: each ink, ``cleaner``, ``roll`` with ``core`` or else ``film``, and ``taken``.
An amount is text with its unit (``"480g"``); or a number under a name that says the unit (``cyan_g``, ``film_m``).
"""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from preflight.errors import SettingsError, UsageError
from preflight.ink.stock import Stock, film_left_mm
from preflight.ink.wholefile import replace_text
from preflight.shop import CLEANED_WITH, Film
from preflight.textfile import read_text
from preflight.tomlfile import Section, TomlFile, load_toml
from preflight.units import parse_length, parse_mass

_MOST_G, _MOST_MM = 1e6, 1e7
_MASSES = (*CLEANED_WITH, "roll", "core")
_STARTER = """\
# What is on the machine. `preflight stock` holds the waiting orders against it.
# Take the # away and put in your own; or let the program do it: preflight stock --cyan 480g --roll 2860g
# An ink is what can still be printed: leave out what your printer cannot draw from its bottle or cartridge.

# taken = "2026-11-24"    # the day of these figures

# cyan = "480g"
# magenta = "455g"
# yellow = "510g"
# black = "390g"
# white = "820g"
# cleaner = "600g"

# The roll as it hangs there, and its empty core; or the film that is left, as film = "60m".
# roll = "2860g"
# core = "420g"
"""


def read_stock(path: str | os.PathLike[str], film: Film) -> Stock:
    """What the file says is on the machine.

    Parameters
    ----------
    film
        Weight and width of the film, and the core's weight where the file does not give it.

    Raises
    ------
    SettingsError
        When there is no such file, and for the first slip in it.
    """
    file = _load(path)
    top = file.top
    for name in _MASSES:
        _unit_in_name(file, name, "g")
    _unit_in_name(file, "film", "m")
    grams = {name: top.take_mass(name, high=_MOST_G) for name in CLEANED_WITH if top.has(name)}
    taken = top.take_text("taken", None, longest=40)
    length = _film(top, film)
    for name in CLEANED_WITH:
        top.take_mass(name, None)
    top.finish()
    return Stock(grams, length, taken)


def write_starter(path: str | os.PathLike[str]) -> None:
    """Write the commented file to start from.

    Raises
    ------
    UsageError
        When it cannot be written, or is no TOML file by its name.
    """
    _refuse_others(Path(path))
    replace_text(Path(path), _STARTER)


def update_stock(path: str | os.PathLike[str], amounts: Mapping[str, str], film: Film) -> None:
    """Put amounts into the file and date it; all else stays, comments too. A file that is not there is begun.

    Parameters
    ----------
    amounts
        Text with its unit, by name: "cyan": "480g", "film": "60m".

    Raises
    ------
    UsageError
        For an amount that cannot be read, and when the file cannot be written.
    SettingsError
        For a slip in the file. Nothing is changed then.
    """
    import tomlkit

    target = Path(path)
    _refuse_others(target)
    for name, text in amounts.items():
        parse = parse_length if name == "film" else parse_mass
        if parse is parse_mass:
            parse_mass(text, what=f"--{name}", zero=True)
        else:
            parse_length(text, what=f"--{name}", units=("mm", "cm", "m"), zero=True)
    if os.path.lexists(target):
        load_toml(target)
        document: Any = tomlkit.parse(target.read_bytes().decode("utf-8-sig"))
    else:
        document = tomlkit.document()
        document.add(tomlkit.comment("What is on the machine. `preflight stock` holds the waiting orders against it."))
    for name, text in {"taken": date.today().isoformat(), **amounts}.items():
        document.pop(f"{name}_g", None)
        document.pop(f"{name}_m", None)
        document[name] = text
    for name in ("film", "film_m") if "roll" in amounts else ("roll", "roll_g") if "film" in amounts else ():
        document.pop(name, None)  # one of the two says how much film there is
    replace_text(target, tomlkit.dumps(document), check=lambda part: read_stock(part, film))


def _load(path: str | os.PathLike[str]) -> TomlFile:
    name, ending = os.fspath(path), Path(path).suffix.lower()
    if ending == ".json":
        return TomlFile(name, _from_json(read_text(path), name))
    if ending == ".csv":
        return TomlFile(name, _from_csv(read_text(path), name))
    return load_toml(path)


def _from_json(text: str, name: str) -> dict[str, Any]:
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        raise SettingsError("this is no JSON", 'Write such as {"cyan": "480g", "roll": "2860g"}.', file=name) from None
    if not isinstance(data, dict):
        raise SettingsError("this is no stock", 'Write such as {"cyan": "480g", "roll": "2860g"}.', file=name)
    return data


def _from_csv(text: str, name: str) -> dict[str, Any]:
    """A name and an amount on each line; a first line of headings is passed over."""
    comma = ";" if text.count(";") > text.count(",") else ","
    data: dict[str, Any] = {}
    for number, cells in enumerate(csv.reader(io.StringIO(text), delimiter=comma), 1):
        words = [cell.strip() for cell in cells]
        if not any(words) or (number == 1 and not any(letter.isdigit() for letter in "".join(words))):
            continue
        if len(words) < 2 or words[0] in data:
            step = f"Write a name and an amount, such as cyan{comma}480g."
            what = f"'{words[0]}' stands twice" if words[0] in data else "this line has no amount"
            raise SettingsError(what, step, file=name, line=number)
        amount = words[1].replace(",", ".") if comma == ";" and words[1].count(",") == 1 else words[1]
        data[words[0].lower()] = _number(amount) if words[0].lower().endswith(("_g", "_m")) else amount
    return data


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _unit_in_name(file: TomlFile, name: str, unit: str) -> None:
    """``cyan_g = 480`` is the same as ``cyan = "480g"``."""
    key = f"{name}_{unit}"
    if key not in file.data:
        return
    if name in file.data:
        raise file.slip(key, f"'{name}' and '{key}' both say how much there is", "Keep one of them.")
    value = Section(file, "", file.data).take_number(key)
    del file.data[key]
    file.data[name] = f"{value:.12g}{unit}" if value < 1e12 else str(value)


def _film(top: Section, film: Film) -> float | None:
    length = top.take_length("film", None, high=_MOST_MM)
    gross = top.take_mass("roll", None, high=_MOST_G)
    core = top.take_mass("core", film.core_g, high=_MOST_G)
    if gross is None:
        return length
    if length is not None:
        raise top.slip("film", "the film that is left stands here as weight and as length", "Keep roll or film.")
    if core is None:
        step = 'Weigh an empty core and add core = "420g" here, or [film] core in the shop file.'
        raise top.slip("roll", "the roll was weighed, but nobody knows what its core weighs", step)
    try:
        return film_left_mm(gross, core, film)
    except ValueError:
        what = f"the roll ({gross:g}g) weighs less than its core ({core:g}g)"
        raise top.slip("roll", what, "Weigh both again.") from None


def _refuse_others(path: Path) -> None:
    if path.suffix.lower() != ".toml":
        step = "Change it where it is made, or keep the stock in a file that ends in .toml."
        raise UsageError("only a .toml file is written; others belong to another program", step, file=str(path))
