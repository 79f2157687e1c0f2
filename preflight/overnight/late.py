"""A ticket that comes after its artwork was answered: the artwork goes back beside it, and is answered with it."""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from pathlib import Path

from preflight.overnight.diary import Diary
from preflight.overnight.disk import move, sha256
from preflight.overnight.finished import TICKET_ENDING, ticket_names
from preflight.overnight.ledger import Ledger, Row
from preflight.overnight.settings import Settings


class LateTickets:
    """Asks about each ticket that lies alone once, as long as it lies there.

    Parameters
    ----------
    diary
        Gets a line for each artwork that comes back.
    """

    def __init__(self, ledger: Ledger, settings: Settings, diary: Diary) -> None:
        self._ledger, self._settings, self._diary = ledger, settings, diary
        self._asked: set[str] = set()

    def fetch(self, alone: Collection[str]) -> bool:
        """Bring back the artworks of these; whether one came. Raises as ``fetch_back``."""
        fetched = False
        self._asked &= set(alone)
        for ticket in set(alone) - self._asked:
            artwork = fetch_back(ticket, self._ledger, self._settings)
            if artwork is None:
                self._asked.add(ticket)
            else:
                self._diary.note("late ticket", ticket=ticket, file=artwork)
                fetched = True
        return fetched


def fetch_back(ticket: str, ledger: Ledger, settings: Settings) -> str | None:
    """Bring back the artwork of a ticket that lies alone: one that was answered without it and lies where it was put.

    The old reports go first and the line of the ledger last: an end in between leaves the ticket alone, and it is done
    again.

    Parameters
    ----------
    ticket
        Its name, from the folder.

    Returns
    -------
    str or None
        Name of the artwork that came back.

    Raises
    ------
    OSError
        When it cannot be moved.
    """
    for row in ledger.named(ticket[: -len(TICKET_ENDING)]):
        if _wanted(row, ticket, settings):
            _back(row, ledger, settings)
            return row.file
    return None


def _wanted(row: Row, ticket: str, settings: Settings) -> bool:
    folder, _, name = ticket.rpartition("/")
    home, _, artwork = row.file.rpartition("/")
    if row.artwork is None or row.summary.get("ticketed") or home != folder or name not in ticket_names(artwork):
        return False
    path = settings.out / row.artwork
    return not (settings.root / row.file).exists() and path.is_file() and sha256(path) == row.sha256


def _back(row: Row, ledger: Ledger, settings: Settings) -> None:
    for _, report in row.reports:
        with suppress(FileNotFoundError):
            (settings.out / report).unlink()
    home: Path = settings.root / row.file
    move(settings.out / str(row.artwork), home)
    ledger.forget(row.id)
