"""What a watcher is told to do."""

from __future__ import annotations

import hashlib
from dataclasses import fields, replace
from pathlib import Path

from preflight import __version__
from preflight.engine import Checker
from preflight.language import ENGLISH, Language
from preflight.records import dataclass
from preflight.rulebook import Rulebook
from preflight.ticket import Order

#: What becomes of an original that is answered.
ORIGINALS = ("move", "keep", "archive")
#: Reports that can lie beside it.
FORMATS = ("json", "text", "html", "pdf")
#: Those that do when nothing else is asked for.
USUAL = FORMATS[:3]
#: Folder of the originals with "archive".
ARCHIVE = "archive"


@dataclass(frozen=True, slots=True)
class Settings:
    """One watcher's.

    Parameters
    ----------
    root, out
        Where the files come in, and where the answers go.
    checker
        Order, shop and rules; its order stands for what a ticket does not say.
    formats
        Of the reports, each one of ``FORMATS``.
    originals
        One of ``ORIGINALS``.
    jobs
        Files at the same time.
    every
        Seconds between two looks at the folder.
    settle
        Seconds for which a file that ends too soon must be still before that is its answer.
    wait_for_ticket
        Whether an artwork waits until a ticket lies beside it.
    pages
        The rules in the language of the pages, for customers and of the morning; None: as ``checker`` has them.
    """

    root: Path
    out: Path
    checker: Checker
    formats: tuple[str, ...] = USUAL
    originals: str = ORIGINALS[0]
    jobs: int = 1
    every: float = 5.0
    settle: float = 600.0
    wait_for_ticket: bool = False
    pages: Rulebook | None = None

    @property
    def language(self) -> Language:
        """Of the pages."""
        return ENGLISH if self.pages is None else self.pages.language

    def digest(self) -> str:
        """A sum of everything but the file and its ticket that the answer depends on."""
        checker = self.checker
        profile = checker.shop.separation.profile
        parts = (
            __version__,
            repr(checker.order),
            repr(checker.shop),
            repr(checker.rulebook.rules),
            repr(checker.pages),
            repr(self.pages),
            "" if profile is None else hashlib.sha256(Path(profile).read_bytes()).hexdigest(),
            ",".join(self.formats),
        )
        return hashlib.sha256("\0".join(parts).encode("utf-8", "backslashreplace")).hexdigest()


def under(defaults: Order, ticket: Order) -> Order:
    """What the options still say where a ticket speaks: they are defaults, so the ticket wins.

    Width and height are one thing, the size.
    """
    left = {
        each.name: getattr(defaults, each.name) for each in fields(Order) if getattr(ticket, each.name) in (None, ())
    }
    order = replace(Order(), **left)
    if (ticket.width_mm, ticket.height_mm) != (None, None):
        order = replace(order, width_mm=None, height_mm=None)
    return order
