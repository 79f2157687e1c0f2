"""What is kept of each file's answer: a line of JSON, so that a run that was broken off goes on where it was."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from preflight.engine import TRACEBACK
from preflight.model import Report, Verdict

#: The sentence of a report whose file the program itself failed on.
_OWN_FAILURE = "this program failed on it"
#: Measures that say that a file was not read, and the value with which they do.
_UNREAD = {"file-unreadable": 1.0, "file-cut-short": 1.0, "ticket-unreadable": 1.0, "file-lock": 2.0}
_VERDICTS = [str(verdict.value) for verdict in Verdict]


@dataclass(frozen=True, slots=True)
class Life:
    """One child: seconds of the processor and on the clock, most memory in bytes, how it died if it did, its words."""

    cpu: float
    clock: float
    peak: int
    how: str | None
    said: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    """One file's answer.

    Parameters
    ----------
    corpus, file
        Folder and name.
    state
        Of the program that answered, see ``run.state``.
    format
        What the file was taken for.
    verdicts
        One for each page that was answered; empty: no answer came.
    reasons
        Why pages are unchecked.
    rules
        Ids of the findings.
    cpu, clock
        Seconds, all children of the file together.
    slowest
        Seconds of the processor of the one that took most.
    peak
        Most memory of one of them, bytes.
    deaths
        How children died: "memory", "time", "crash", "killed", "nonsense".
    failure
        The traceback, when the program itself failed on the file.
    said
        The last that the libraries of a child which died had printed.
    """

    corpus: str
    file: str
    state: str
    format: str | None
    verdicts: list[str]
    reasons: list[str]
    rules: list[str]
    cpu: float
    clock: float
    slowest: float
    peak: int
    deaths: list[str]
    failure: str | None
    said: str = ""

    @property
    def verdict(self) -> str | None:
        """The worst of its pages'."""
        return max(self.verdicts, key=_VERDICTS.index, default=None)


def record(corpus: str, path: Path, state: str, reports: Sequence[Report], lives: Sequence[Life]) -> Record:
    """Put together what became of a file."""
    return Record(
        corpus=corpus,
        file=path.name,
        state=state,
        format=next((report.format for report in reports), None),
        verdicts=[str(report.verdict.value) for report in reports],
        reasons=sorted({reason for report in reports for reason in _reasons(report)}),
        rules=sorted({finding.rule for report in reports for finding in report.findings}),
        cpu=round(sum(life.cpu for life in lives), 3),
        clock=round(sum(life.clock for life in lives), 3),
        slowest=round(max((life.cpu for life in lives), default=0.0), 3),
        peak=max((life.peak for life in lives), default=0),
        deaths=[life.how for life in lives if life.how],
        failure=next((failure for report in reports if (failure := _failure(report))), None),
        said=next((life.said[-300:] for life in lives if life.how), ""),
    )


def _failure(report: Report) -> str | None:
    trace = report.extra.get(TRACEBACK)
    if trace is not None:
        return str(trace)
    return next((reason for reason in _reasons(report) if reason.startswith(_OWN_FAILURE)), None)


def _reasons(report: Report) -> Iterator[str]:
    """Why a page is unchecked: what the file is, or which measures could not be taken."""
    if report.verdict is not Verdict.UNCHECKED:
        return
    told = [str(m.details["reason"]) for m in report.measures.values() if m.value == _UNREAD.get(m.id, -1.0)]
    if told:
        yield from told
        return
    yield from (f"{m.id}: {m.why_not}" for m in report.measures.values() if m.applies and m.value is None and m.why_not)


def write(path: Path, records: Iterable[Record]) -> None:
    """Add records to a file, each at once."""
    with path.open("a", encoding="utf-8", newline="\n") as stream:
        for one in records:
            stream.write(json.dumps(asdict(one)) + "\n")
            stream.flush()


def read(path: Path) -> list[Record]:
    """The records of a file, the last one of each artwork; a line that was cut off is left out."""
    found: dict[tuple[str, str], Record] = {}
    if path.exists():
        for line in path.read_text(encoding="utf-8").splitlines():
            try:
                one = Record(**json.loads(line))
            except (ValueError, TypeError):
                continue
            found[one.corpus, one.file] = one
    return list(found.values())
