"""A workshop without children, for tests that put figures of their own in the place of measuring."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from preflight.child import Job, Limits, Room, Workshop


@dataclass(eq=False)
class Done:
    """A job that was done at once, in this process: its answer, or what it raises."""

    job: Job[Any]

    def answer(self) -> Any:
        path = self.job.path or Path()
        return self.job.work(path, OpenRoom())


class OpenRoom(Room):
    """A room without limits."""

    def __init__(self) -> None:
        super().__init__(Limits(), Path(), (), lambda data: None, programs=True)

    def opened(self, megapixels: float) -> None:
        """No limit of this process is touched."""


class Direct(Workshop):
    """Looks like a workshop, and takes the same settings."""

    def __init__(self, *_: object, **__: object) -> None:
        super().__init__()
        self.done: list[Done] = []

    def __enter__(self) -> Direct:
        return self

    def start(self, job: Job[Any], *, more: bool = False) -> Any:
        self.done.append(Done(job))
        return self.done[-1]

    def finished(self, *, wait: bool = True) -> Any:
        done, self.done = self.done, []
        return done
