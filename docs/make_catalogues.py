"""Bring the catalogues of translations up to date: ``python docs/make_catalogues.py``.

Every message that a report for people can show is collected from the sources and written into
``preflight/languages/<code>/LC_MESSAGES/preflight.po``, one file for each language. Translations are kept. Where the
English of a text has changed, the old translation stays with the mark "fuzzy" until somebody has looked it over; until
then the report shows the English. With ``--check`` nothing is written and what is out of date is told.

Needs Babel, which comes with the extra "dev".
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, field
from difflib import get_close_matches
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from docs.messages import Told, everything  # noqa: E402
from preflight.language import LANGUAGES, catalogue_path  # noqa: E402

#: How many plural forms a language has, and which number takes which (CLDR, plural rules, from memory: the whole
#: numbers of a report are never large enough for the third form of Spanish, Portuguese and French).
PLURALS = {
    "es": "nplurals=2; plural=(n != 1);",
    "pt": "nplurals=2; plural=(n != 1);",
    "de": "nplurals=2; plural=(n != 1);",
    "fr": "nplurals=2; plural=(n > 1);",
}
_ALIKE = 0.6


@dataclass(slots=True)
class Changes:
    """What bringing a catalogue up to date did."""

    missing: list[str] = field(default_factory=list)
    fuzzy: list[str] = field(default_factory=list)
    dropped: list[str] = field(default_factory=list)


def read(code: str) -> Catalog:
    """The catalogue of a language as it stands; an empty one when there is none."""
    path = catalogue_path(code)
    if not path.is_file():
        return Catalog(locale=code)
    with path.open("rb") as stream:
        return read_po(stream, locale=code)


def updated(code: str, old: Catalog, messages: list[Told]) -> tuple[Catalog, Changes]:
    """A catalogue of exactly these messages, with the translations of the old one."""
    new, changes = Catalog(locale=code, project="preflight", header_comment=_HEAD), Changes()
    wanted = {(told.context, told.message) for told in messages}
    gone = {}
    for message in old:
        if message.id and (message.context or "", _one(message)) not in wanted and any(_texts(message)):
            gone[message.context or "", _one(message)] = message
    for told in messages:
        before = old.get(told.message, context=told.context or None)
        fuzzy = before is not None and before.fuzzy
        if before is None or not any(_texts(before)):
            before = _changed(told, gone)
            fuzzy = before is not None
        texts = _fitting(before, plural=bool(told.plural))
        new.add(
            (told.message, told.plural) if told.plural else told.message,
            texts if told.plural else texts[0],
            locations=[(place, None) for place in told.places],
            auto_comments=list(told.notes),
            flags={"fuzzy"} if fuzzy else set(),
            context=told.context or None,
        )
        if not all(texts):
            changes.missing.append(told.name)
        elif fuzzy:
            changes.fuzzy.append(told.name)
    changes.dropped = [f"{context}: {message}" for context, message in gone]
    return new, changes


_HEAD = (
    "Translations of preflight's reports. Written by docs/make_catalogues.py: change only what stands behind msgstr."
)


def _one(message: Message) -> str:
    return message.id if isinstance(message.id, str) else message.id[0]


def _texts(message: Message) -> tuple[str, ...]:
    return (message.string,) if isinstance(message.string, str) else tuple(message.string)


def _fitting(message: Message | None, *, plural: bool) -> tuple[str, ...]:
    """The translations, as many as are needed."""
    texts = () if message is None else _texts(message)
    wanted = 2 if plural else 1
    return (*texts, *[""] * wanted)[:wanted]


def _changed(told: Told, gone: dict[tuple[str, str], Message]) -> Message | None:
    """What a message was before somebody changed its English: the same text of a rule, or much the same message."""
    if told.context.startswith("rule "):
        return next((message for (context, _), message in gone.items() if context == told.context), None)
    near = [message for context, message in gone if context == told.context]
    found = get_close_matches(told.message, near, n=1, cutoff=_ALIKE)
    return gone[told.context, found[0]] if found else None


def text_of(code: str, catalog: Catalog) -> str:
    """The file's text: no dates, so that it changes only with the messages."""
    out = BytesIO()
    write_po(out, catalog, width=0, omit_header=True)
    head = (
        f'# {_HEAD}\nmsgid ""\nmsgstr ""\n"Language: {code}\\n"\n"MIME-Version: 1.0\\n"\n'
        f'"Content-Type: text/plain; charset=utf-8\\n"\n"Content-Transfer-Encoding: 8bit\\n"\n'
        f'"Plural-Forms: {PLURALS[code]}\\n"\n\n'
    )
    return head + out.getvalue().decode("utf-8").strip() + "\n"


def main(arguments: list[str]) -> int:
    """Write the files, or check them; 1 when something is to do."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--check", action="store_true", help="write nothing, tell what is out of date")
    options = parser.parse_args(arguments)
    messages, bad = everything(), False
    for code in LANGUAGES:
        if code == "en":
            continue
        catalog, changes = updated(code, read(code), messages)
        text, path = text_of(code, catalog), catalogue_path(code)
        stale = not path.is_file() or path.read_text(encoding="utf-8") != text
        late = ", the file is out of date" if options.check and stale else ""
        missing, fuzzy, dropped = len(changes.missing), len(changes.fuzzy), len(changes.dropped)
        told = f"{missing} not translated, {fuzzy} to look over, {dropped} dropped{late}"
        sys.stdout.write(f"{code}: {len(messages)} messages, {told}\n")
        sys.stdout.writelines(f"  {name}\n" for name in changes.missing[:3] + changes.fuzzy[:3])
        bad = bad or bool(changes.missing or changes.fuzzy or stale)
        if not options.check:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")
    return int(options.check and bad)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
