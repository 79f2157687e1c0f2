"""Keeping the morning sheets up to date while the watcher works."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import Any

from preflight.overnight import morning
from preflight.overnight.diary import Diary
from preflight.overnight.faults import told
from preflight.overnight.ledger import Ledger
from preflight.overnight.morning import Sheet
from preflight.overnight.settings import Settings
from preflight.wholefile import write_whole

#: Name of the sheet to print.
PDF = "morning.pdf"
#: Between two PDFs lies so many times what one takes: a night of very many orders is not spent on laying them out.
_PAUSES = 10.0
#: Seconds after which one that could not be written is tried again.
_AGAIN = 60.0


class Mornings:
    """Writes the sheets when there is something new to tell.

    Parameters
    ----------
    diary
        Gets a line when the PDF cannot be written: it is for people to print, and nothing waits for it.
    """

    def __init__(self, settings: Settings, ledger: Ledger, diary: Diary) -> None:
        self._settings, self._ledger, self._diary = settings, ledger, diary
        self._told: object = None
        self._owed: Sheet | None = None
        self._due = 0.0
        self._why = ""

    def keep(self, state: Callable[[], Mapping[str, Any]], *, last: bool = False) -> None:
        """Write them, if ``state`` (see ``Watcher.state``) says anything new; with ``last`` the PDF does not wait.

        Raises
        ------
        OSError
            When the ledger cannot be read, or the page or the document for programs not be written.
        """
        now = state()
        news = {name: now[name] for name in ("answered", "not_yet", "left_alone", "tickets_without_artwork")}
        if news != self._told:
            self._owed = morning.write(self._settings, self._ledger, now)
            self._told = news
        if self._owed is not None and (last or time.monotonic() >= self._due):
            self._print(self._owed)

    def _print(self, sheet: Sheet) -> None:
        """Write the PDF whole, or leave the one before; whatever happens, the watcher goes on."""
        start = time.monotonic()
        try:
            from preflight.overnight.morningpdf import document  # its libraries are loaded when the first is written

            write_whole(self._settings.out / PDF, document(sheet, self._settings.checker.shop, self._settings.language))
        except Exception as failure:  # noqa: BLE001 - a sheet to print must not take the night's answers
            why = told(failure) if isinstance(failure, OSError) else f"{type(failure).__name__}: {failure}"
            if why != self._why:
                self._diary.note("no morning pdf", why=why)
            self._why, self._due = why, time.monotonic() + _AGAIN
            return
        self._owed, self._why = None, ""
        self._due = time.monotonic() + _PAUSES * (time.monotonic() - start)
