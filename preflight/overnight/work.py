"""What is in hand: each file that was taken lies in a folder of its own, with a note of what it is.

::

    .work/ID/claim.json     what was taken and from where; written before it is taken
    .work/ID/begun          a byte for each time that work on it was begun and not ended by us
    .work/ID/art/           the artwork and its tickets, under their own names
    .work/ID/out/           its reports
    .work/ID/answer.json    written when the reports are whole: from here on there is no way back
    .work/ID.done           the same, to be taken away
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any
from uuid import uuid4

from preflight.overnight.disk import copy, move, other_disk, remove_tree, sha256
from preflight.overnight.finished import Found, is_ticket, temporary
from preflight.records import dataclass
from preflight.wholefile import sync_folder, write_whole

NAME = ".work"
_CLAIM, _BEGUN, _ANSWER, _DONE = "claim.json", "begun", "answer.json", ".done"


@dataclass(frozen=True, slots=True)
class Item:
    """A file in hand."""

    folder: Path
    rel: str  #: where it came from, from the folder, with forward slashes
    tickets: tuple[str, ...]
    size: int  #: of the original, bytes
    mtime_ns: int
    way: str  #: "move"; "copy": from another disk, the original still to be removed; "keep": it stays
    stamp: str  #: of original and tickets, for the ledger

    @property
    def id(self) -> str:
        """Name of the work."""
        return self.folder.name

    @property
    def name(self) -> str:
        """The artwork's own name."""
        return self.rel.rpartition("/")[2]

    @property
    def artwork(self) -> Path:
        """Where it lies now."""
        return self.folder / "art" / self.name

    @property
    def out(self) -> Path:
        """Where its reports are written."""
        return self.folder / "out"

    def note(self) -> None:
        """Write down what this is."""
        told = {
            "file": self.rel, "tickets": self.tickets, "size": self.size, "mtime_ns": self.mtime_ns, "way": self.way,
            "stamp": self.stamp,
        }  # fmt: skip
        write_whole(self.folder / _CLAIM, json.dumps(told).encode())

    @property
    def begun(self) -> int:
        """How often work on it was begun and not ended by us. A power cut may take the last of them."""
        with suppress(FileNotFoundError):
            return (self.folder / _BEGUN).stat().st_size
        return 0

    def begin(self) -> None:
        """Count one more."""
        with (self.folder / _BEGUN).open("ab") as stream:
            stream.write(b".")

    def ended(self) -> None:
        """It was not the file that ended the work: count anew."""
        (self.folder / _BEGUN).unlink(missing_ok=True)

    def tickets_here(self) -> Iterator[Path]:
        """Those of its tickets that are in hand."""
        yield from (path for name in self.tickets if (path := self.folder / "art" / name).exists())

    def answer(self) -> dict[str, Any] | None:
        """What is to be done with the reports; None while there are none."""
        with suppress(FileNotFoundError):
            told: dict[str, Any] = json.loads((self.folder / _ANSWER).read_text(encoding="utf-8"))
            return told
        return None

    def settle(self, answer: Mapping[str, Any]) -> None:
        """The reports are whole: write down what becomes of them."""
        write_whole(self.folder / _ANSWER, json.dumps(answer).encode())

    def end(self) -> None:
        """Nothing is left to do: take the folder away, first out of the sight of the next start."""
        done = self.folder.with_name(f"{self.folder.name}{_DONE}")
        self.folder.rename(done)
        sync_folder(done.parent)
        remove_tree(done)


class NotYetError(OSError):
    """The file is not to be taken now: somebody is at work on it."""


def take(found: Found, root: Path, work: Path, stamp: str, *, keep: bool) -> Item:
    """Take a file and its tickets out of the folder.

    Raises
    ------
    NotYetError
        When it changed in this moment, or went away.
    OSError
        When it cannot be moved. In both cases it lies where it lay.
    """
    folder = work / uuid4().hex[:16]
    way = "keep" if keep else "move"
    item = Item(folder, found.rel, found.tickets, found.stamp.size, found.stamp.mtime_ns, way, stamp)
    with found.path.open("rb"):  # what cannot be read is not taken
        pass
    (folder / "art").mkdir(parents=True)
    try:
        item.note()
        return _taken(item, found, root)
    except FileNotFoundError:
        put_back(load(folder) or item, root)
        raise NotYetError("it went away") from None
    except BaseException:
        put_back(load(folder) or item, root)  # as it was written down last: how it is taken may have changed
        raise


def _taken(item: Item, found: Found, root: Path) -> Item:
    if item.way == "move":
        try:
            found.path.rename(item.artwork)
        except OSError as slip:
            if not other_disk(slip):
                raise
            item = replace(item, way="copy")
            item.note()
    if item.way != "move":
        copy(found.path, item.artwork)
    now = item.artwork.stat()
    if (now.st_size, now.st_mtime_ns) != (item.size, item.mtime_ns):
        raise NotYetError("it changed when it was taken")
    if item.way == "copy":
        found.path.unlink()
    sync_folder(found.path.parent)
    sync_folder(item.artwork.parent)
    fetch_tickets(item, root)
    return item


def fetch_tickets(item: Item, root: Path) -> None:
    """Bring the tickets to the artwork; one that is another artwork's too stays as well."""
    for name in item.tickets:
        source = (root / item.rel).with_name(name)
        target = item.folder / "art" / name
        if not source.exists():
            continue
        if target.exists():
            if item.way != "keep" and not _shared(source, item.name) and source.read_bytes() == target.read_bytes():
                source.unlink()  # an end came between the two halves of a move
            continue
        if item.way == "keep" or _shared(source, item.name):
            copy(source, target)
        else:
            move(source, target)


def _shared(ticket: Path, name: str) -> bool:
    """Whether another artwork beside it goes by the same ticket."""
    if ticket.name.startswith(name):
        return False
    stem = Path(name).stem
    return any(
        Path(other).stem == stem and other != name and not is_ticket(other) and not temporary(other)
        for other in os.listdir(ticket.parent)  # noqa: PTH208 - names, also odd ones
    )


def put_back(item: Item, root: Path) -> bool:
    """Bring everything back to where it was taken from.

    Returns
    -------
    bool
        False when another file has that name by now: the work is then kept, to be gone on with.
    """
    home = root / item.rel
    if item.artwork.exists() and item.way == "move":
        try:
            home.parent.mkdir(parents=True, exist_ok=True)
            move(item.artwork, home)
        except FileExistsError:
            return False
    elif item.artwork.exists() and item.way == "copy" and not home.exists():
        try:
            home.parent.mkdir(parents=True, exist_ok=True)
            copy(item.artwork, home)
        except FileExistsError:
            return False
    if item.way != "keep":
        for ticket in item.tickets_here():
            with suppress(FileExistsError):  # the same one, shared, or a newer one
                move(ticket, home.with_name(ticket.name))
    item.end()
    return True


def load(folder: Path) -> Item | None:
    """The work that lies in a folder; None when nothing was written down in it."""
    try:
        told = json.loads((folder / _CLAIM).read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    return Item(
        folder, told["file"], tuple(told["tickets"]), told["size"], told["mtime_ns"], told["way"], told["stamp"]
    )  # fmt: skip


def left(work: Path, root: Path, trouble: Callable[[str, Exception], None]) -> Iterator[Item]:
    """What an earlier run left in hand, each ready to be gone on with; what is done or was never taken goes away.

    Parameters
    ----------
    trouble
        Is told of what cannot be looked after now. It stays where it is.
    """
    for entry in sorted(work.iterdir()):
        try:
            item = _left(entry, root)
        except (OSError, ValueError, KeyError, TypeError) as slip:
            trouble(entry.name, slip)
            continue
        if item is not None:
            yield item


def _left(entry: Path, root: Path) -> Item | None:
    item = None if entry.suffix == _DONE else load(entry)
    if item is None:
        remove_tree(entry)
        return None
    if item.answer() is not None:
        return item
    if not item.artwork.exists():
        put_back(item, root)  # nothing was taken but perhaps a ticket
        return None
    _made_good(item, root)
    return item


def _made_good(item: Item, root: Path) -> None:
    """Finish what was done half: the original may still be there, as on another disk, or a ticket."""
    home = root / item.rel
    if item.way != "keep" and home.exists() and _one_file(item, home):
        home.unlink()
    fetch_tickets(item, root)


def _one_file(item: Item, home: Path) -> bool:
    """Whether what lies at home is what is in hand, and no newer file of that name."""
    now = home.stat()
    if os.path.samestat(now, item.artwork.stat()):
        return True
    same = (now.st_size, now.st_mtime_ns) == (item.size, item.mtime_ns)
    return item.way == "copy" and same and sha256(home) == sha256(item.artwork)
