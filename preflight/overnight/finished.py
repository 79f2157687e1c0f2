"""What lies in the folder, and which of it is finished: still over several looks, and nobody writes to it."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import field
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from preflight.overnight.reasons import DEEP, DEEPEST, LINK, SETTINGS
from preflight.records import dataclass

TICKET_ENDING = ".ticket.toml"
#: A file is finished when it stayed the same for so many seconds, over two looks at least.
STILL = 2.0
#: Names that programs give to what they have not finished, or keep for themselves. From memory: browsers, office
#: programs, transfer programs, editors.
_TEMPORARY = re.compile(
    r"(\..*|~\$.*|.*~|.*\.(part|partial|crdownload|download|opdownload|filepart|tmp|temp|!ut|!qb|aria2|swp|swx|lock|lck)"
    r"|thumbs\.db|desktop\.ini)",
    re.IGNORECASE | re.DOTALL,
)


class Stamp(NamedTuple):
    """What changes when a file does."""

    size: int
    mtime_ns: int
    inode: int

    @classmethod
    def of(cls, stat: os.stat_result) -> Stamp:
        """The stamp of a file."""
        return cls(stat.st_size, stat.st_mtime_ns, stat.st_ino)


@dataclass(frozen=True, slots=True)
class Found:
    """An artwork in the folder."""

    path: Path
    rel: str  #: from the folder, with forward slashes
    stamp: Stamp
    tickets: tuple[str, ...]  #: names of those beside it
    state: str  #: of it and its tickets; see ``state_of``
    still: float  #: seconds since it was last seen to change
    finished: bool


@dataclass(slots=True)
class Scan:
    """One look at the folder."""

    found: list[Found] = field(default_factory=list)
    lonely: list[str] = field(default_factory=list)  #: tickets without artwork
    late: list[str] = field(default_factory=list)  #: those of them that are finished
    left: dict[str, str] = field(default_factory=dict)  #: what is not taken, and why

    @property
    def arriving(self) -> list[Found]:
        """Artworks that are not finished."""
        return [each for each in self.found if not each.finished]


@dataclass(slots=True)
class _Seen:
    stamp: Stamp
    since: float
    looks: int


class Folder:
    """Looks at the same folder again and again.

    Parameters
    ----------
    root
        The folder.
    clock
        Seconds that only ever grow.
    """

    def __init__(self, root: Path, clock: Callable[[], float] = time.monotonic) -> None:
        self.root = root
        self._clock = clock
        self._seen: dict[str, _Seen] = {}

    def scan(self, known: Mapping[str, str] = MappingProxyType({})) -> Scan:
        """Look at everything in it.

        Parameters
        ----------
        known
            By name the state in which a file is passed over: it was answered like this, and stays there.

        Raises
        ------
        OSError
            When the folder itself cannot be read.
        """
        scan, now = Scan(), self._clock()
        seen: dict[str, _Seen] = {}
        for folder, names in _folders(self.root, "", scan.left):
            tickets = {name for name in names if is_ticket(name)}
            used: set[str] = set()
            for name, stamp in names.items():
                if name in tickets:
                    continue
                beside = tuple(each for each in ticket_names(name) if each in tickets) if tickets else ()
                used.update(beside)
                rel, state = f"{folder}{name}", state_of(stamp, {each: names[each] for each in beside})
                if known.get(rel) == state:
                    continue
                mine = [self._look(f"{folder}{each}", names[each], now) for each in (name, *beside)]
                seen.update(zip((f"{folder}{each}" for each in (name, *beside)), mine, strict=True))
                finished = all(each.looks > 1 and now - each.since >= STILL for each in mine)
                still = now - mine[0].since
                scan.found.append(Found(self.root / rel, rel, stamp, beside, state, still, finished))
            for name in sorted(tickets - used):
                rel = f"{folder}{name}"
                seen[rel] = self._look(rel, names[name], now)
                scan.lonely.append(rel)
                if seen[rel].looks > 1 and now - seen[rel].since >= STILL:
                    scan.late.append(rel)
        self._seen = seen
        return scan

    def _look(self, rel: str, stamp: Stamp, now: float) -> _Seen:
        before = self._seen.get(rel)
        if before is None or before.stamp != stamp:
            return _Seen(stamp, now, 1)
        return _Seen(stamp, before.since, before.looks + 1)


def _folders(folder: Path, rel: str, left: dict[str, str]) -> Iterator[tuple[str, dict[str, Stamp]]]:
    """Each folder with the ordinary files in it; what cannot be taken goes into ``left``."""
    names, deeper = _entries(folder, rel, left)
    yield rel, names
    for name in deeper:
        if rel.count("/") >= DEEPEST:
            left[f"{rel}{name}"] = DEEP
            continue
        try:
            yield from _folders(folder / name, f"{rel}{name}/", left)
        except FileNotFoundError:
            continue
        except OSError as slip:
            left[f"{rel}{name}"] = f"the folder cannot be opened ({slip.strerror or slip})"


def _entries(folder: Path, rel: str, left: dict[str, str]) -> tuple[dict[str, Stamp], list[str]]:
    """The files and the folders in one folder, by name."""
    names: dict[str, Stamp] = {}
    deeper: list[str] = []
    with os.scandir(folder) as entries:
        for entry in entries:
            if temporary(entry.name):
                continue
            try:
                if entry.is_dir(follow_symlinks=False):
                    deeper.append(entry.name)
                elif (why := _not_taken(entry)) is not None:
                    left[f"{rel}{entry.name}"] = why
                else:
                    names[entry.name] = Stamp.of(entry.stat(follow_symlinks=False))
            except FileNotFoundError:
                continue
            except OSError as slip:
                left[f"{rel}{entry.name}"] = f"it cannot be looked at ({slip.strerror or slip})"
    return dict(sorted(names.items())), sorted(deeper)


def _not_taken(entry: os.DirEntry[str]) -> str | None:
    """Why this is no artwork that can be taken, a clause; None when it may be one."""
    if not entry.is_file(follow_symlinks=False):
        return LINK
    if entry.name.lower().endswith(".toml") and not is_ticket(entry.name):
        return SETTINGS
    return None


def temporary(name: str) -> bool:
    """Whether the name says that a program has not finished with it."""
    return _TEMPORARY.fullmatch(name) is not None


def is_ticket(name: str) -> bool:
    """Whether the file is a ticket."""
    return name.lower().endswith(TICKET_ENDING)


def ticket_names(name: str) -> tuple[str, ...]:
    """What the ticket of an artwork may be called."""
    dot = name.rfind(".")
    whole = f"{name}{TICKET_ENDING}"
    return (f"{name[:dot]}{TICKET_ENDING}", whole) if 0 < dot < len(name) - 1 else (whole,)


def state_of(stamp: Stamp, tickets: Mapping[str, Stamp]) -> str:
    """An artwork and its tickets as they are, as text; without the inode, since shares give new ones."""
    told = f"{stamp.size} {stamp.mtime_ns}"
    for name, each in sorted(tickets.items()):
        told += f"; {name} {each.size} {each.mtime_ns}"
    return told
