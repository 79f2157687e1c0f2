"""The words for slips in a TOML file: on which line each key stands, why a file is no TOML, what was meant.

The parser gives values without lines and says "Expected newline or end of document"; an
owner who typed a decimal comma needs to be told of the comma. All of this runs only once something is wrong.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import NamedTuple

_PART = r"(?:[A-Za-z0-9_-]+|\"[^\"\n]*\"|'[^'\n]*')"
_KEY = rf"{_PART}(?:\s*\.\s*{_PART})*"
_ASSIGNMENT = rf"^\s*({_KEY})\s*=(.*)$"
_HEADING = rf"^\s*\[(\[?)\s*({_KEY})\s*\]\]?\s*(?:#.*)?$"
_CURLY = "“”„‟‘’‚‛«»"
_ODD_BLANKS = "\u00a0\u2007\u202f\u200b\ufeff"
_COMMA = r"^([+-]?[\d.,' ]*\d)\s*([A-Za-z%²³€$£]*)$"
_TRUTHS = {"yes": "true", "on": "true", "true": "true", "no": "false", "off": "false", "false": "false"}
_AT_LINE = r"\(at line (\d+), column \d+\)"


class Slip(NamedTuple):
    """What is wrong in a file that is no TOML, and what to do about it."""

    line: int | None
    key: str | None
    what: str
    next_step: str


def key_lines(text: str) -> dict[str, list[int]]:
    """Lines, counted from 1, on which each dotted key or heading stands.

    Entries of an array of tables are numbered: ``patch.0.name``. Inside an inline table keys are not listed.
    """
    found: dict[str, list[int]] = {}
    prefix, open_, counts = "", "", {"": 0}
    for number, line in enumerate(text.split("\n"), start=1):
        if open_:
            open_ = _left_open(line, open_)
            continue
        heading = re.match(_HEADING, line)
        if heading is not None:
            prefix = _dotted(heading[2])
            if heading[1]:
                counts[prefix] = counts.get(prefix, -1) + 1
                prefix = f"{prefix}.{counts[prefix]}"
            found.setdefault(prefix, []).append(number)
            continue
        match = re.match(_ASSIGNMENT, line)
        if match is not None:
            found.setdefault(f"{prefix}.{_dotted(match[1])}".lstrip("."), []).append(number)
            open_ = _left_open(match[2], "")
    return found


def explain(text: str, message: str) -> Slip:
    """Turn the standard parser's ``message`` about ``text`` into words for an owner."""
    lines = text.split("\n")
    at = re.search(_AT_LINE, message)
    number = min(int(at[1]), len(lines)) if at else len(lines)
    line = lines[number - 1]
    above = lines[: number if at is None else number - 1]
    return (
        _twice(lines[:number], line, message)
        or _never_closed(above)
        or _on_line(number, line)
        or Slip(number, None, "this line cannot be read", 'Write one setting a line, such as gap = "5mm".')
    )


def _dotted(key: str) -> str:
    return ".".join(part.strip("\"'") for part in re.findall(_PART, key))


def _left_open(line: str, open_: str) -> str:
    """What is still open after ``line``: a long quote, or as many ``[`` as are not closed."""
    at = 0
    while at < len(line):
        if open_ in ('"""', "'''"):
            end = line.find(open_, at)
            if end < 0:
                return open_
            at, open_ = end + 3, ""
            continue
        if line[at : at + 3] in ('"""', "'''"):
            open_, at = line[at : at + 3], at + 3
        elif line[at] in "\"'":
            at = _past_quote(line, at)
        elif line[at] == "#":
            return open_
        else:
            if line[at] == "[":
                open_ += "["
            elif line[at] == "]":
                open_ = open_[:-1]
            at += 1
    return open_


def _past_quote(line: str, at: int) -> int:
    """Index after the quoted text that starts at ``at``; the line's length when it is never closed."""
    quote, at = line[at], at + 1
    while at < len(line):
        if line[at] == quote:
            return at + 1
        at += 2 if line[at] == "\\" and quote == '"' else 1
    return at


def _without_comment(value: str) -> str:
    at = 0
    while at < len(value):
        if value[at] == "#":
            return value[:at].strip()
        at = _past_quote(value, at) if value[at] in "\"'" else at + 1
    return value.strip()


def _never_closed(lines: list[str]) -> Slip | None:
    """What was opened in ``lines`` and is still open after the last of them."""
    open_, start, key = "", None, None
    for number, line in enumerate(lines, start=1):
        before = open_
        match = None if open_ else re.match(_ASSIGNMENT, line)
        open_ = _left_open(match[2] if match else line, open_)
        if open_ and not before:
            start, key = number, _dotted(match[1]) if match else None
    if not open_ or start is None:
        return None
    if key is None:
        return _on_line(start, lines[start - 1])
    kind, close = ("list", "]") if open_.startswith("[") else ("long text", open_)
    return Slip(start, key, f"a {kind} starts here and never ends", f"Close it with {close} where it ends.")


def _twice(lines: list[str], line: str, message: str) -> Slip | None:
    if not any(word in message for word in ("overwrite", "twice", "Duplicate", "mutate")):
        return None
    number = len(lines)
    places = key_lines("\n".join(lines))
    name = next((key for key, found in places.items() if number in found), None)
    others = [] if name is None else [found for found in places[name] if found < number]
    if others:
        what = f"'{name}' stands twice, here and on line {others[0]}"
    else:
        what = f"'{line.strip()}' sets again what stands above it"
    return Slip(number, name, what, "Keep one and delete the other.")


def _on_line(number: int, line: str) -> Slip | None:
    bare = line.strip()
    if bare.startswith(("//", ";", "--")):
        return Slip(number, None, "this line is no setting", "Start a comment with #.")
    odd = next((blank for blank in _ODD_BLANKS if blank in line), None)
    if odd is not None:
        where = f"the line holds an invisible character that is no plain blank (U+{ord(odd):04X})"
        return Slip(number, None, where, "Type the line again by hand.")
    if bare.startswith("["):
        what = f"'{bare}' is not a heading"
        return Slip(number, None, what, "Write the name in square brackets, such as [film], alone on its line.")
    key, equals, value = line.partition("=")
    key = key.strip()
    if not equals or re.match(rf"^\s*{_KEY}\s*:", line):
        step = 'Write name = value, such as gap = "5mm".'
        return Slip(number, None, f"'{bare}' has no equals sign after the name", step)
    if not re.fullmatch(_KEY, key):
        return Slip(number, None, f"'{key}' cannot be the name of a setting", "Use letters, digits, - and _ only.")
    said = _about_value(key, _without_comment(value))
    return None if said is None else Slip(number, _dotted(key), *said)


def _about_value(key: str, value: str) -> tuple[str, str] | None:
    """What is wrong with ``value``, and the next step."""
    if not value:
        return "nothing stands after the equals sign", "Write the value, or delete the line to keep the default."
    if value[0] in _CURLY or value[-1] in _CURLY:
        return "the text stands in curly quotes", f'Use plain ones: {key} = "{value.strip(_CURLY)}".'
    if value[0] in "\"'":
        return _about_quoted(value)
    if value[0] in "[{":
        return "the list cannot be read", "Put each text in quotes, a comma between two, and close the list."
    return _about_comma(key, value) or _about_bare(key, value)


def _about_quoted(value: str) -> tuple[str, str] | None:
    end = _past_quote(value, 0)
    if "\\" in value and value[0] == '"':
        return (
            "a backslash inside double quotes has a meaning of its own",
            f"Write a path with forward slashes: {value.replace(chr(92), '/')}.",
        )
    if end >= len(value) and (len(value) < 2 or value[-1] != value[0]):
        return "the text has no closing quote", f"Add it: {value}{value[0]}."
    return f"{value[end:].strip()} stands after the closing quote", "Keep the whole text inside one pair of quotes."


def _about_comma(key: str, value: str) -> tuple[str, str] | None:
    match = re.match(_COMMA, value)
    if match is None or "," not in value:
        return None
    number, unit = match.groups()
    if not re.fullmatch(r"[+-]?\d+,\d+", number):
        return f"{value} has a comma", "Write a point for the decimals, and nothing between the thousands: 1234.5."
    better = number.replace(",", ".")
    if unit:
        return f"{value} has a decimal comma and no quotes", f'Write {key} = "{better}{unit}".'
    return f"{value} has a comma", f"Write the number with a point, not a comma ({better}), and none for thousands."


def _about_bare(key: str, value: str) -> tuple[str, str]:
    truth = _TRUTHS.get(value.lower())
    if truth is not None:
        return f"{value} is not known here", f"Write true or false in small letters, without quotes: {key} = {truth}."
    if re.fullmatch(r"[+-]?0\d+", value):
        return f"{value} starts with a zero", f"Write {value.lstrip('+-').lstrip('0') or '0'}."
    if re.fullmatch(r"[+-]?(\.\d+|\d+\.)", value):
        return f"{value} has no digit on one side of the point", "Write a digit before and after it, such as 0.5."
    plain = value.replace("\\", "/").replace('"', "")
    return f"{value} is text without quotes", f'Put it in quotes: {key} = "{plain}".'


def safe(text: str, longest: int = 240) -> str:
    """Make ``text`` fit to print: it comes from a file, and may hold anything."""
    text = text if len(text) <= longest else f"{text[: longest - 20]} … {text[-17:]}"
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def meant(word: object, known: Collection[str]) -> str:
    """``Did you mean …? `` when ``word`` looks like a slip of the pen for something known, else nothing."""
    from difflib import get_close_matches

    folded = {entry.lower().replace("-", "_"): entry for entry in known}
    found = get_close_matches(str(word).lower().replace("-", "_"), list(folded), n=1, cutoff=0.6)
    return f"Did you mean {folded[found[0]]}? " if found else ""


def shown(value: object) -> str:
    """Write a value as the owner did, shortened, for a message."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value if len(value) <= 60 else value[:57] + "…"}"'
    if isinstance(value, int | float):
        return str(value)
    return "a list" if isinstance(value, list) else "a group" if isinstance(value, dict) else "a date or time"


def bare(value: object, otherwise: str) -> str:
    """Give a number or text to quote in the next step; ``otherwise`` for anything else."""
    return str(value) if isinstance(value, int | float | str) and not isinstance(value, bool) else otherwise
