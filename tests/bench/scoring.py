"""Comparing what was planted with what was found."""

from __future__ import annotations

from dataclasses import dataclass

from .asking import Answer, Told
from .scene import Box, Case, Planted

#: A place counts as the planted one when it comes within so many millimetres of it.
NEAR_MM = 2.0
ALARMS = ("stop", "ask")


@dataclass(frozen=True, slots=True)
class Caught:
    """How one planted fault fared. ``how``: "found", "missed", or "elsewhere" (found, but only in other places)."""

    kind: str
    rule: str
    how: str
    severity_right: bool | None
    strays: int  #: places of the finding that touch nothing planted
    value: float | None
    truth: float | None


@dataclass(frozen=True, slots=True)
class Score:
    """One case, judged."""

    number: int
    kind: str
    ppi: float
    caught: tuple[Caught, ...]
    quiet: tuple[str, ...]  #: rules that had to stay quiet
    alarms: tuple[tuple[str, str], ...]  #: those that did not, with their severity
    failed: str | None
    file: str
    answer: Answer

    @property
    def bad(self) -> bool:
        loud = any(severity in ALARMS for _, severity in self.alarms)
        lost = any(caught.how != "found" or caught.severity_right is False for caught in self.caught)
        return loud or lost or self.failed is not None


def score(case: Case, answer: Answer) -> Score:
    found = {told.rule: told for told in answer.findings}
    caught = tuple(_caught(case, planted, found.get(planted.rule)) for planted in case.planted)
    alarms = tuple((told.rule, told.severity) for told in answer.findings if told.rule in case.quiet)
    return Score(case.number, case.kind, case.ppi, caught, case.quiet, alarms, answer.failed, case.path.name, answer)


def _caught(case: Case, planted: Planted, told: Told | None) -> Caught:
    if told is None:
        return Caught(case.kind, planted.rule, "missed", None, 0, None, planted.value)
    where = [case.in_print(box) for box in planted.where]
    strays = sum(not any(_near(place, box) for box in where) for place in told.places) if where else 0
    here = not where or strays < len(told.places)
    right = None if planted.severity is None else told.severity == planted.severity
    return Caught(case.kind, planted.rule, "found" if here else "elsewhere", right, strays, told.value, planted.value)


def _near(a: Box, b: Box) -> bool:
    return a[0] <= b[2] + NEAR_MM and b[0] <= a[2] + NEAR_MM and a[1] <= b[3] + NEAR_MM and b[1] <= a[3] + NEAR_MM
