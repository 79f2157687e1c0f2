"""Which pages of a document are wanted, as people write it: ``1-3,5``."""

from __future__ import annotations

import re

from preflight.errors import UsageError
from preflight.records import dataclass

#: More pages than any document that is opened has.
MOST_PAGES = 100_000
_PART = r"(\d{1,6})(?:-(\d{1,6}))?"


@dataclass(frozen=True, slots=True)
class Pages:
    """Some pages by their numbers, from 1. Each pair is a first and a last one."""

    ranges: tuple[tuple[int, int], ...]

    @classmethod
    def read(cls, text: str) -> Pages:
        """Pages as they are written in ``--pages``.

        Raises
        ------
        UsageError
            For anything but numbers and ranges with commas between them.
        """
        step = "Write page numbers from 1, such as 2 or 1-3,5."
        ranges = []
        for part in text.replace(" ", "").split(","):
            found = re.fullmatch(_PART, part) if part.isascii() else None
            if found is None:
                raise UsageError(f"--pages {text} is not a list of pages", step)
            first, last = int(found[1]), int(found[2] or found[1])
            if not 1 <= first <= last <= MOST_PAGES:
                raise UsageError(f"--pages {text}: {part} is no range of pages", step)
            ranges.append((first, last))
        return cls(tuple(ranges))

    @property
    def first(self) -> int:
        """The lowest number."""
        return min(first for first, _ in self.ranges)

    def among(self, count: int) -> list[int]:
        """Those that a document of so many pages has, in the order of its pages, each once."""
        return sorted({page for first, last in self.ranges for page in range(first, min(last, count) + 1)})

    def beyond(self, count: int) -> bool:
        """Whether a page was asked for that a document of so many pages does not have."""
        return any(last > count for _, last in self.ranges)
