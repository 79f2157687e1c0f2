"""What the workshop needs of a child process, however it was started."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol, TypeVar

from preflight.child.job import Job
from preflight.child.limits import Limits


@dataclass(frozen=True, slots=True)
class End:
    """How a process ended: exit status, or below zero the signal's number, None when nobody knows; and what it took."""

    code: int | None
    cpu_seconds: float | None


class Process(Protocol):
    """A child at work."""

    @property
    def pid(self) -> int:
        """Its number."""
        ...

    def end(self, patience: float) -> End:
        """Wait for its end, and after ``patience`` seconds make one; afterwards nothing of it is left."""
        ...


P = TypeVar("P", bound=Process)


class Starter(Protocol[P]):
    """A way to start children."""

    def prepare(self) -> None:
        """Do ahead what makes the next start quicker."""
        ...

    def start(self, job: Job[Any], limits: Limits, scratch: Path) -> P:
        """Start the work on one file."""
        ...

    def heard(self, processes: Sequence[P], timeout: float) -> list[tuple[P, bytes]]:
        """Who says something within ``timeout`` seconds, and what; no bytes: it will say no more."""
        ...

    def close(self) -> None:
        """End what was started ahead."""
        ...
