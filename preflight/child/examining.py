"""The work on one artwork: open it, measure it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from preflight import intake
from preflight.child.job import Room
from preflight.measure import examine
from preflight.model import Examination, Separation, Ticket
from preflight.shop import Shop


@dataclass(frozen=True, slots=True)
class Examine:
    """What measuring needs besides the file; called in the child."""

    ticket: Ticket
    shop: Shop
    separation: Separation
    reach: Mapping[str, float]

    def __call__(self, path: Path, room: Room) -> Examination:
        """Measure the file. Its colour profile, which nobody asks for afterwards, stays in the child.

        Raises
        ------
        IntakeError
            When the file cannot be read.
        """
        artwork = intake.open_artwork(path, pixel_limit=self.shop.pixel_limit)
        room.opened(artwork.facts.width * artwork.facts.height / 1e6)
        examination = examine.examine(artwork, self.ticket, self.shop, self.separation, self.reach)
        return replace(examination, facts=replace(examination.facts, icc=None))
