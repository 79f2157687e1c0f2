"""A progress bar on standard error, on a terminal only, and only when the work takes longer than a moment."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress as Bar

#: Seconds of work before there is anything to see.
PATIENCE = 1.0


class Progress:
    """Counts the files that are answered. Wholly off, and without cost, unless standard error is a terminal.

    Whoever waits for an answer calls ``pulse`` meanwhile: a thread of its own would stand in the way of children that
    are copies of this process.

    Parameters
    ----------
    total
        How many files there are.
    """

    def __init__(self, total: int) -> None:
        self._total, self._done = total, 0
        self._bar: Bar | None = None
        self._shown = False
        self._due: float | None = None

    def __enter__(self) -> Progress:
        if sys.stderr.isatty():
            self._due = time.monotonic() + PATIENCE
        return self

    def __exit__(self, *_: object) -> None:
        self._end()

    def pulse(self) -> None:
        """Time goes by: the bar appears, or its clock moves."""
        if self._shown and self._bar is not None:
            self._bar.refresh()
        elif self._due is not None and time.monotonic() >= self._due:
            self._show()

    def tick(self) -> None:
        """One more file is answered; with the last one the bar goes away."""
        self._done += 1
        if self._bar is not None:
            self._bar.advance(self._bar.task_ids[0])
        if self._done >= self._total:
            self._end()

    @contextmanager
    def aside(self) -> Iterator[None]:
        """Take the bar away while something is printed."""
        shown = self._shown
        self._hide()
        try:
            yield
        finally:
            if shown:
                self._show()

    def _end(self) -> None:
        """Never show it again."""
        self._due = None
        self._hide()

    def _show(self) -> None:
        self._bar = self._bar or _bar(self._total, self._done)
        self._bar.start()
        self._bar.refresh()
        self._shown = True

    def _hide(self) -> None:
        if self._bar is not None and self._shown:
            self._bar.stop()
            self._shown = False


def _bar(total: int, done: int) -> Bar:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    bar = Progress(
        TextColumn("Checking"),
        BarColumn(bar_width=30),
        MofNCompleteColumn(),
        TextColumn("files"),
        TimeElapsedColumn(),
        console=Console(stderr=True),
        transient=True,
        auto_refresh=False,
    )
    bar.add_task("", total=total, completed=done)
    return bar
