"""The work on one artwork that was measured: draw what a report shows of it."""

from __future__ import annotations

from pathlib import Path

from preflight import intake
from preflight.child.job import Job, Room
from preflight.model import Drawn, Separation, Ticket
from preflight.records import dataclass
from preflight.shop import Shop
from preflight.views.draw import draw
from preflight.views.model import Views, Wanted


@dataclass(frozen=True, slots=True)
class Draw:
    """What drawing needs besides the file; called in the child."""

    wanted: Wanted
    ticket: Ticket
    shop: Shop
    separation: Separation
    page: int = 1

    def __call__(self, path: Path, room: Room) -> Views:
        """Draw one page, opened as it was for measuring.

        Raises
        ------
        IntakeError
            When the file cannot be read, or is no longer the one that was measured.
        """
        artwork = intake.one_page(intake.open_pages(path, pixel_limit=self.shop.pixel_limit), self.page)
        if isinstance(artwork, Drawn):
            artwork = artwork.for_print(self.ticket.width_mm, self.ticket.height_mm, self.ticket.size_of)
        room.opened(artwork.facts.width * artwork.facts.height / 1e6)
        return draw(artwork, self.wanted, self.separation)


def drawing(
    path: Path,
    wanted: Wanted,
    ticket: Ticket,
    shop: Shop,
    separation: Separation,
    *,
    page: int = 1,
    programs: bool = False,
) -> Job[Views]:
    """The job of drawing what is wanted of one page, counted from 1; ``programs`` as for its measuring."""
    return Job(path, Draw(wanted, ticket, shop, separation, page), Views, programs=programs)
