"""What a rule is, once it is read: plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from itertools import pairwise
from typing import NamedTuple

from preflight.model import Severity
from preflight.records import dataclass

#: Groups in the order in which rules are listed: the way a file is looked at.
GROUPS = ("file", "size", "transparency", "background", "detail", "colour")

#: How far a source can be trusted, as it is shown to people.
TRUST = (
    "published standard",
    "published standard, from memory",
    "paper",
    "handbook or association guide",
    "common practice, no source",
    "one shop or article",
    "arithmetic",
    "measured here",
    "from memory",
)

#: The severities in the order in which they are tried.
WORST_FIRST = (Severity.STOP, Severity.ASK, Severity.NOTE)


class Found(StrEnum):
    """How a value is held against its limits. ``PRESENT``: any value above zero is a finding."""

    BELOW = "below"
    ABOVE = "above"
    PRESENT = "present"


class Limits(NamedTuple):
    """The limits of one kind, in the rule's unit; None where a severity is not used."""

    stop: float | None = None
    ask: float | None = None
    note: float | None = None

    def of(self, severity: Severity) -> float | None:
        """The limit of one severity."""
        return {Severity.STOP: self.stop, Severity.ASK: self.ask, Severity.NOTE: self.note}[severity]

    @property
    def softest(self) -> float | None:
        """The limit that must be kept for the rule to say nothing."""
        return next((limit for limit in (self.note, self.ask, self.stop) if limit is not None), None)


class Words(NamedTuple):
    """What a rule says, with placeholders in braces (see ``preflight.rulebook.words``).

    ``as_is``: what happens when it is printed all the same. ``fine``: what the customer reads when all is well, without
    placeholders. Both may be empty.
    """

    title: str
    seen: str
    why: str
    fix: str
    operator_seen: str
    operator_hint: str
    as_is: str = ""
    fine: str = ""


class Example(NamedTuple):
    """What the good and the bad picture of the rule show, and the figure that stands for the bad one."""

    good: str
    bad: str
    value: float


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing that can be wrong with artwork.

    ``limits`` are by kind of the measurement; those under "" serve every kind without its own. ``severity`` is what
    a finding always has, whichever limit it passed; None: that of the limit. ``tolerance`` is in the rule's unit and
    makes room for the error of measuring: a value must pass a limit by more than that. ``defers_to``: while one of
    these rules has a finding, it is no gap that this one could not be judged.
    """

    id: str
    group: str
    measure: str
    found: Found
    unit: str
    limits: Mapping[str, Limits]
    severity: Severity | None
    tolerance: float
    defers_to: tuple[str, ...]
    words: Words
    source: str
    trust: str
    file: str
    example: Example | None = None
    changed: tuple[str, ...] = field(default=())  #: what the shop changed, for the listing

    def limits_for(self, kind: str | None) -> Limits | None:
        """The limits for a measurement of ``kind``, None when the rule has none for it."""
        own = self.limits.get(kind or "")
        return own if own is not None else self.limits.get("")


def out_of_order(found: Found, limits: Limits) -> tuple[str, str] | None:
    """The two limits that stand the wrong way round, harsher one first, such as ("stop", "ask"); else None."""
    given = [(name.value, limit) for name in WORST_FIRST if (limit := limits.of(name)) is not None]
    for (harsh, hard), (mild, soft) in pairwise(given):
        if (found is Found.BELOW and hard > soft) or (found is Found.ABOVE and hard < soft):
            return harsh, mild
    return None
