"""The work on one artwork: open it, measure it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from preflight import intake
from preflight.child.job import Room
from preflight.measure import examine
from preflight.model import Drawn, Examination, Separation, Ticket
from preflight.records import dataclass
from preflight.shop import Shop


@dataclass(frozen=True, slots=True)
class Examine:
    """What measuring needs besides the file; called in the child."""

    ticket: Ticket
    shop: Shop
    separation: Separation
    reach: Mapping[str, float]
    page: int = 1

    def __call__(self, path: Path, room: Room) -> Examined:
        """Measure one page. Its colour profile, which nobody asks for afterwards, stays in the child.

        Raises
        ------
        IntakeError
            When the file cannot be read, or has no such page.
        """
        if not room.programs and intake.needs_program(path):
            return Examined(None)
        pages = intake.open_pages(path, pixel_limit=self.shop.pixel_limit)
        room.counted(len(pages))
        artwork = intake.one_page(pages, self.page)
        if isinstance(artwork, Drawn):
            artwork = artwork.for_print(self.ticket.width_mm, self.ticket.height_mm, self.ticket.size_of)
            if artwork.wants_program and not room.programs:
                return Examined(None)
        room.opened(artwork.facts.width * artwork.facts.height / 1e6)
        examination = examine.examine(artwork, self.ticket, self.shop, self.separation, self.reach)
        return Examined(replace(examination, facts=replace(examination.facts, icc=None)))


@dataclass(frozen=True, slots=True)
class Examined:
    """What became of it. None: it takes Ghostscript, which has to be allowed before the file is opened."""

    examination: Examination | None
