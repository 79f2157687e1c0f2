"""What the watcher writes down of itself: a log for programs, and a heartbeat that shows that it lives."""

from __future__ import annotations

import json
import os
import socket
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

from preflight import __version__
from preflight.wholefile import write_whole

LOG, HEARTBEAT = "log.jsonl", "heartbeat.json"
#: The log is put aside when it has so many bytes, and so many old ones are kept.
LARGEST_LOG, OLD_LOGS = 5_000_000, 3
#: Seconds between two heartbeats while files are worked on.
BEAT = 10.0


def now_text(at: float | None = None) -> str:
    """A time as UTC, to the second."""
    return datetime.fromtimestamp(time.time() if at is None else at, UTC).isoformat(timespec="seconds")


class Diary:
    """Writes both; when they cannot be written the work goes on.

    Parameters
    ----------
    folder
        Where they lie.
    largest
        Bytes of one log.
    clock
        Seconds that only ever grow.
    """

    def __init__(self, folder: Path, largest: int = LARGEST_LOG, clock: Callable[[], float] = time.monotonic) -> None:
        self._log, self._beat = folder / LOG, folder / HEARTBEAT
        self._largest, self._clock = largest, clock
        self._due = 0.0

    def note(self, event: str, **told: Any) -> None:
        """Add a line to the log."""
        line = json.dumps({"at": now_text(), "event": event, **told}) + "\n"
        with suppress(OSError):
            if self._log.exists() and self._log.stat().st_size + len(line) > self._largest:
                self._turn()
            with self._log.open("a", encoding="utf-8", newline="\n") as stream:
                stream.write(line)

    def beat(self, state: Callable[[], dict[str, Any]], *, always: bool = False) -> None:
        """Write the heartbeat, when the last one is some seconds old."""
        if not always and self._clock() < self._due:
            return
        self._due = self._clock() + BEAT
        told = {
            "schema": 1,
            "at": now_text(),
            "version": __version__,
            "host": socket.gethostname(),
            "process": os.getpid(),
            **state(),
        }
        with suppress(OSError):
            write_whole(self._beat, (json.dumps(told, indent=2) + "\n").encode())

    def _turn(self) -> None:
        names = [self._log, *(self._log.with_name(f"log.{number}.jsonl") for number in range(1, OLD_LOGS + 1))]
        for newer, older in reversed(list(pairwise(names))):
            if newer.exists():
                newer.replace(older)
