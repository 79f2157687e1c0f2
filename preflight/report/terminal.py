"""What every text on a terminal is laid out with."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import IO, TextIO, cast

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

#: A line longer than this is hard to read, however wide the window is.
WIDEST = 96
PIPED_WIDTH = 80
_FILLING = re.compile(r" +$", re.MULTILINE)


def console(stream: TextIO) -> Console:
    """A console for ``stream``: plain text of 80 columns unless it is a terminal."""
    if not stream.isatty():
        trimmed = cast("IO[str]", _Trimmed(stream))
        return Console(file=trimmed, width=PIPED_WIDTH, color_system=None, force_terminal=False, highlight=False)
    found = Console(file=stream, highlight=False)
    if found.width > WIDEST:
        found.width = WIDEST
    return found


def labelled(rows: Iterable[tuple[str, str]], width: int) -> Table:
    """Rows of a label, ``width`` columns wide with the space around it, and text that wraps beside it."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=width - 1, no_wrap=True, style="dim")
    grid.add_column(overflow="fold")
    for label, text in rows:
        grid.add_row(Text(f" {label}"), Text(text))
    return grid


def listed(heading: str, lines: Iterable[str]) -> RenderableType:
    """A heading and a line for each thing under it."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=1)
    grid.add_column(overflow="fold")
    for line in lines:
        grid.add_row(Text("-"), Text(line))
    return Group(Text(f" {heading}", style="dim"), Padding(grid, (0, 0, 0, 1)))


class _Trimmed:
    """A stream that leaves out the spaces with which tables fill their lines."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self.encoding = stream.encoding

    def write(self, text: str) -> None:
        self._stream.write(_FILLING.sub("", text))

    def flush(self) -> None:
        self._stream.flush()

    def isatty(self) -> bool:
        return False
