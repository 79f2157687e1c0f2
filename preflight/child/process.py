"""What the workshop needs of a child process, however it was started. Types alone: nothing is imported at run time."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol, TypeVar

from preflight.child.fate import End
from preflight.child.job import Job
from preflight.child.limits import Limits


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
