"""The ledger: what was answered, when, and where it went. One SQLite file that any program can read.

Journal mode PERSIST with full synchronising: a write-ahead log needs memory that all its users share, which a network
share has not, and a power cut may take its last entries (source: sqlite.org, "Write-Ahead Logging"). PERSIST keeps the
journal's file between two entries, where DELETE has it made and taken away for each: 1 ms in place of 20 (measured). It
is taken away when the ledger is closed.
"""

from __future__ import annotations

import errno
import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from preflight.records import dataclass

NAME = "preflight.sqlite"
#: Number of the tables below, kept in the file.
VERSION = 1
_TABLES = """
CREATE TABLE IF NOT EXISTS answers (
  id TEXT PRIMARY KEY,         -- of the work, a new one for each time a file is taken
  at REAL NOT NULL,            -- seconds since 1970, UTC
  file TEXT NOT NULL,          -- from the folder it came from, as JSON text
  sha256 TEXT NOT NULL,        -- of its bytes
  settings TEXT NOT NULL,      -- sum of ticket, options, shop, rules and version
  verdict TEXT NOT NULL,
  tries INTEGER NOT NULL,      -- how often work on it was begun
  seconds REAL NOT NULL,
  cost REAL, currency TEXT,
  again INTEGER NOT NULL,      -- 1: answered from an earlier report on the same bytes and ticket
  reports TEXT NOT NULL,       -- JSON: format and path in the folder of answers, of each report
  artwork TEXT,                -- JSON text: where the original went; null where it was kept in place
  summary TEXT NOT NULL        -- JSON: what the morning sheet tells
);
CREATE INDEX IF NOT EXISTS answers_same ON answers (sha256, settings);
CREATE INDEX IF NOT EXISTS answers_file ON answers (file);
CREATE INDEX IF NOT EXISTS answers_at ON answers (at);
CREATE TABLE IF NOT EXISTS kept (file TEXT PRIMARY KEY, stamp TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS short (file TEXT PRIMARY KEY, stamp TEXT NOT NULL, at REAL NOT NULL);
"""


@dataclass(frozen=True, slots=True)
class Row:
    """One answer."""

    id: str
    at: float
    file: str
    sha256: str
    settings: str
    verdict: str
    tries: int
    seconds: float
    cost: float | None
    currency: str | None
    again: bool
    reports: tuple[tuple[str, str], ...]
    artwork: str | None
    summary: dict[str, Any]


class Ledger:
    """The file, opened when it is first needed and again after a fault.

    Parameters
    ----------
    path
        Of the file. Every method raises OSError when it cannot be read or written.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._open: sqlite3.Connection | None = None

    def close(self) -> None:
        """Let go of the file."""
        if self._open is not None:
            with suppress(sqlite3.Error):
                self._open.execute("PRAGMA journal_mode = DELETE")
            self._open.close()
            self._open = None

    def add(self, row: Row, kept: str | None = None) -> None:
        """Enter an answer; entering the same one again changes nothing.

        Parameters
        ----------
        kept
            Stamp of an original that stays where it is: it is not taken again while it has this one.
        """
        values = (
            row.id, row.at, json.dumps(row.file), row.sha256, row.settings, row.verdict, row.tries, row.seconds,
            row.cost, row.currency, int(row.again), json.dumps(row.reports),
            None if row.artwork is None else json.dumps(row.artwork), json.dumps(row.summary),
        )  # fmt: skip
        with self._writing() as database:
            database.execute(f"INSERT OR REPLACE INTO answers VALUES ({', '.join('?' * len(values))})", values)  # noqa: S608
            database.execute("DELETE FROM short WHERE file = ?", (json.dumps(row.file),))
            if kept is not None:
                database.execute("INSERT OR REPLACE INTO kept VALUES (?, ?)", (json.dumps(row.file), kept))

    def same(self, sha256: str, settings: str) -> Row | None:
        """The latest answer to the same bytes under the same settings."""
        rows = self._rows("WHERE sha256 = ? AND settings = ? ORDER BY at DESC LIMIT 1", (sha256, settings))
        return rows[0] if rows else None

    def named(self, stem: str) -> list[Row]:
        """The answers to files of that name, or of that name with an ending; the latest first."""
        exact = json.dumps(stem)
        start = exact[:-1] + "."
        where = "WHERE file = ? OR (file >= ? AND file < ?) ORDER BY at DESC"
        return self._rows(where, (exact, start, f"{exact[:-1]}/"))  # the stroke follows the full stop in ASCII

    def forget(self, work: str) -> None:
        """Take out an answer that holds no longer."""
        with self._writing() as database:
            database.execute("DELETE FROM answers WHERE id = ?", (work,))

    def since(self, at: float) -> list[Row]:
        """The answers from that time on, the earliest first."""
        return self._rows("WHERE at >= ? ORDER BY at, id", (at,))

    def count(self) -> int:
        """How many answers there are."""
        with self._reading() as database:
            return int(database.execute("SELECT count(*) FROM answers").fetchone()[0])

    def kept(self) -> dict[str, str]:
        """Stamp of every original that was answered and kept in place."""
        with self._reading() as database:
            return {json.loads(name): stamp for name, stamp in database.execute("SELECT file, stamp FROM kept")}

    def short_since(self, file: str, stamp: str, now: float) -> float:
        """When a file that ends too soon was first seen like this, seconds since 1970; remembered from now on."""
        name = json.dumps(file)
        with self._writing() as database:
            found = database.execute("SELECT at FROM short WHERE file = ? AND stamp = ?", (name, stamp)).fetchone()
            if found is not None and found[0] <= now:
                return float(found[0])
            database.execute("INSERT OR REPLACE INTO short VALUES (?, ?, ?)", (name, stamp, now))
        return now

    def _rows(self, where: str, values: tuple[object, ...]) -> list[Row]:
        with self._reading() as database:
            return [_row(found) for found in database.execute(f"SELECT * FROM answers {where}", values)]  # noqa: S608

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        try:
            if self._open is None:
                self._open = _opened(self._path)
            yield self._open
        except sqlite3.Error as slip:
            self.close()
            full = getattr(slip, "sqlite_errorcode", 0) == sqlite3.SQLITE_FULL
            raise OSError(errno.ENOSPC if full else errno.EIO, f"the ledger says: {slip}", str(self._path)) from None

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        with self._reading() as database, database:
            yield database


def _opened(path: Path) -> sqlite3.Connection:
    database = sqlite3.connect(path, timeout=10.0)
    try:
        database.execute("PRAGMA journal_mode = PERSIST")
        database.execute("PRAGMA synchronous = FULL")
        if database.execute("PRAGMA user_version").fetchone()[0] == 0:
            database.executescript(f"BEGIN; {_TABLES} PRAGMA user_version = {VERSION}; COMMIT;")
    except BaseException:
        database.close()
        raise
    return database


def _row(found: tuple[Any, ...]) -> Row:
    identity, at, file, total, settings, verdict, tries, seconds, cost, currency, again, reports, artwork, told = found
    return Row(
        identity, at, json.loads(file), total, settings, verdict, tries, seconds, cost, currency, bool(again),
        tuple((kind, path) for kind, path in json.loads(reports)),
        None if artwork is None else json.loads(artwork), json.loads(told),
    )  # fmt: skip
