"""Two runs over the same files: which were answered otherwise."""

from __future__ import annotations

from collections.abc import Sequence

from .record import Record


def compared(one: Sequence[Record], other: Sequence[Record]) -> str:
    """A sentence with the counts, and a line for each file that got another verdict, reason or rule."""
    known = {(record.corpus, record.file): record for record in other}
    pairs = [(record, known[record.corpus, record.file]) for record in one if (record.corpus, record.file) in known]
    lines = [
        f"- `{here.corpus}/{here.file}`: {_told(there)}, now {_told(here)}"
        for here, there in pairs
        if _answer(here) != _answer(there)
    ]
    pages = sum(len(here.verdicts) for here, _ in pairs)
    return "\n".join([f"{len(pairs):,} files, {pages:,} pages in both; answered otherwise: **{len(lines)}**.", *lines])


def _answer(record: Record) -> tuple[object, ...]:
    return record.verdicts, record.reasons, record.rules


def _told(record: Record) -> str:
    return ", ".join([str(record.verdict), *(record.reasons or record.rules)])
