"""The records as tables."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path

from ..tables import machine, table
from .bombs import TOLD
from .record import Record
from .run import Outcome
from .sources import SOURCES

_CORPORA = {source.corpus: source.told for source in SOURCES} | TOLD
_VERDICTS = ("ready", "ask", "stop", "unchecked")
_MB = 1e6
_ENDED = ("time", "memory", "crash", "killed", "nonsense")
#: Reasons that fewer files gave are counted together.
_FEW = 4


def tally(records: Sequence[Record], paths: Sequence[Path], outcome: Outcome | None) -> str:
    """Everything that docs/reliability.md says of a run."""
    there = {(path.parent.name, path.name) for path in paths}
    known = [one for one in records if (one.corpus, one.file) in there]
    parts = [
        _opening(known, len(there), outcome),
        _by_corpus(known, there),
        _by_format(known),
        _deaths(known),
        _slowest(known),
        _reasons(known),
    ]
    return "\n\n".join(part for part in parts if part)


def _opening(records: Sequence[Record], count: int, outcome: Outcome | None) -> str:
    failures, missing = (
        sum(one.failure is not None for one in records),
        count - sum(bool(one.verdicts) for one in records),
    )
    states = len({one.state for one in records})
    said = [
        f"{machine()}.",
        f"{count:,} files, {sum(len(one.verdicts) for one in records):,} pages answered.",
        f"Failures of this program: **{failures}**. Files without an answer: **{missing}**.",
    ]
    if outcome is not None:
        said.append(
            f"The good file between them was asked about {outcome.asked} times and answered otherwise than at the "
            f"start **{outcome.otherwise}** times."
        )
    if states > 1:
        said.append(f"The answers come from {states} states of the program.")
    return " ".join(said)


def _by_corpus(records: Sequence[Record], there: set[tuple[str, str]]) -> str:
    head = (
        "files",
        "number",
        *_VERDICTS,
        "slowest, s CPU",
        "on the clock, s",
        "most memory, MB",
        "ended by a limit or a crash",
        "failures of this program",
    )
    groups = defaultdict(list)
    for one in records:
        groups[one.corpus].append(one)
    rows = [_row(f"{_CORPORA[corpus]} (`{corpus}`)", groups[corpus]) for corpus in _CORPORA if groups[corpus]]
    return table(head, [*rows, _row("**all**", records)])


def _row(told: str, records: Sequence[Record]) -> tuple[object, ...]:
    verdicts = Counter(one.verdict for one in records)
    return (
        told,
        len(records),
        *(verdicts[name] for name in _VERDICTS),
        f"{max(one.slowest for one in records):.1f}",
        f"{max(one.clock for one in records):.1f}",
        f"{max(one.peak for one in records) / _MB:.0f}",
        sum(bool(one.deaths) for one in records),
        sum(one.failure is not None for one in records),
    )


def _by_format(records: Sequence[Record]) -> str:
    """How each format fares, whatever corpus it comes from."""
    groups = defaultdict(list)
    for one in records:
        groups[one.format or "not known"].append(one)
    rows = []
    for name, ones in sorted(groups.items(), key=lambda item: -len(item[1])):
        verdicts = Counter(one.verdict for one in ones)
        seconds = sorted(one.slowest for one in ones)
        rows.append(
            (
                name,
                len(ones),
                *(verdicts[verdict] for verdict in _VERDICTS),
                f"{seconds[len(seconds) // 2]:.2f}",
                f"{seconds[-1]:.1f}",
                f"{max(one.peak for one in ones) / _MB:.0f}",
            )
        )
    head = ("taken for", "files", *_VERDICTS, "median, s CPU", "slowest, s CPU", "most memory, MB")
    return table(head, rows)


def _deaths(records: Sequence[Record]) -> str:
    died = [one for one in records if one.deaths]
    if not died:
        return "No child was ended by a limit, and none crashed."
    rows = []
    for how in _ENDED:
        names = [_name(one) for one in died if how in one.deaths]
        if names:
            shown = ", ".join(names[:12]) + (", …" if len(names) > 12 else "")
            rows.append((f"{how}: {shown}", len(names)))
    return table(("children that did not live to tell", "files"), rows)


def _slowest(records: Iterable[Record]) -> str:
    worst = sorted(records, key=lambda one: -one.slowest)[:8]
    rows = [
        (_name(one), one.format or "–", one.verdict, f"{one.slowest:.1f}", f"{one.peak / _MB:.0f}") for one in worst
    ]
    return table(("slowest children", "taken for", "verdict", "s CPU", "MB"), rows)


def _name(one: Record) -> str:
    return f"`{one.corpus}/{one.file.encode('unicode_escape').decode('ascii')}`"


def _reasons(records: Sequence[Record]) -> str:
    """Why files are unchecked, alike ones together."""
    counts: Counter[str] = Counter()
    for one in records:
        if one.verdict == "unchecked":
            counts.update({_alike(reason) for reason in one.reasons})
    rows = [(reason, count) for reason, count in counts.most_common() if count >= _FEW]
    few = [count for count in counts.values() if count < _FEW]
    if few:
        rows.append((f"{len(few)} other reasons, each of fewer than {_FEW} files", sum(few)))
    return table(("why a file is unchecked", "files"), rows)


def _alike(reason: str) -> str:
    """The reason without its own figures and names."""
    reason = re.sub(r"[\"'“«(].*?[\"'”»)]", "…", reason)
    reason = re.sub(r"\d[\d.,]*", "N", reason).replace("|", "/")
    return re.sub(r"[^\x20-\x7e–—×²…é]", "?", reason)[:110]
