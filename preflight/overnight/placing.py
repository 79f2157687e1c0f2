"""Putting what is answered where the shop finds it: the original and its tickets, and the reports beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from preflight.overnight.disk import move, numbered, numbers, sha256
from preflight.overnight.finished import TICKET_ENDING
from preflight.overnight.ledger import Row
from preflight.overnight.settings import ARCHIVE
from preflight.overnight.telling import ROOM
from preflight.overnight.work import Item
from preflight.wholefile import sync_folder

#: Folders below that of the answers.
VERDICTS = ("ready", "ask", "stop", "unchecked")


def plan(item: Item, verdict: str, reports: Sequence[tuple[str, str]], out: Path, originals: str) -> list[list[str]]:
    """Where each file goes.

    Parameters
    ----------
    reports
        Format and ending of each report in ``item.out``.

    Returns
    -------
    list of [from, to, kind]
        From the folder of the work, and to below ``out``; the kind is "artwork", "ticket" or a format. All names are
        free, and belong together: when one is taken, all of them get a number.
    """
    for number in numbers():
        moves = [
            [source, _through(out, target), kind]
            for source, target, kind in _moves(item, verdict, reports, originals, number)
        ]
        if all(_free(item.folder / source, out / target, kind) for source, target, kind in moves):
            return moves
    raise AssertionError("numbers do not end")


def _moves(
    item: Item, verdict: str, reports: Sequence[tuple[str, str]], originals: str, number: int
) -> Iterator[list[str]]:
    parent = item.rel.rpartition("/")[0]
    below = f"{parent}/" if parent else ""
    base = numbered(item.name, number, ROOM)
    for kind, ending in reports:
        yield [f"out/{ending}", f"{verdict}/{below}{base}{ending}", kind]
    if item.way == "keep":
        return
    top = ARCHIVE if originals == "archive" else verdict
    name = numbered(item.name, number)
    for ticket in item.tickets_here():
        whole = ticket.name == f"{item.name}{TICKET_ENDING}"
        stem = name if whole else Path(name).stem
        yield [f"art/{ticket.name}", f"{top}/{below}{stem}{TICKET_ENDING}", "ticket"]
    yield [f"art/{item.name}", f"{top}/{below}{name}", "artwork"]  # the last: what lies there has its report beside it


def _through(out: Path, target: str) -> str:
    """The path, with a number at each folder whose name a file has by now."""
    *folders, name = target.split("/")
    way = ""
    for folder in folders:
        free = (f"{way}{numbered(folder, number)}" for number in numbers())
        way = next(wish for wish in free if not (out / wish).exists() or (out / wish).is_dir()) + "/"
    return f"{way}{name}"


def _free(source: Path, target: Path, kind: str) -> bool:
    """Whether the name is free; two artworks may have one ticket."""
    try:
        target.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    return kind == "ticket" and _same(source, target)


def _same(one: Path, other: Path) -> bool:
    return other.is_file() and one.read_bytes() == other.read_bytes()


def place(item: Item, answer: Mapping[str, Any], out: Path) -> dict[str, Any]:
    """Move everything to its place. Going on after an end in the middle does the rest.

    Returns
    -------
    dict
        The answer with the places where things are now.

    Raises
    ------
    OSError
        When something cannot be moved; it is done again later.
    """
    moves = [[source, _placed(item, source, target, kind, out), kind] for source, target, kind in answer["moves"]]
    for folder in {target.rpartition("/")[0]: None for _, target, _ in moves}:
        sync_folder(out / folder)
    return {**answer, "moves": moves}


def _placed(item: Item, source: str, target: str, kind: str, out: Path) -> str:
    """Move one file; where it is now."""
    path = item.folder / source
    if not path.exists():
        return target  # moved before
    parent, _, name = target.rpartition("/")
    (out / parent).mkdir(parents=True, exist_ok=True)
    for number in numbers():
        wish = f"{parent}/{numbered(name, number)}"
        try:
            move(path, out / wish, lasting=False)
        except FileExistsError:
            if (kind == "ticket" and _same(path, out / wish)) or _copied(path, out / wish):
                path.unlink()
                return wish
            continue  # somebody put another file there meanwhile
        return wish
    raise AssertionError("numbers do not end")


def _copied(path: Path, target: Path) -> bool:
    """Whether it was moved to another disk up to the last step, the removal."""
    if not target.is_file() or path.stat().st_dev == target.stat().st_dev:
        return False
    return path.stat().st_mtime_ns == target.stat().st_mtime_ns and sha256(path) == sha256(target)


def row(item: Item, answer: Mapping[str, Any]) -> Row:
    """The line of the ledger for an answer whose files are in place."""
    moves = answer["moves"]
    told = answer["summary"]
    return Row(
        id=item.id,
        at=answer["at"],
        file=item.rel,
        sha256=answer["sha256"],
        settings=answer["settings"],
        verdict=answer["verdict"],
        tries=answer["tries"],
        seconds=answer["seconds"],
        cost=told["total"],
        currency=told["currency"],
        again=answer["again"],
        reports=tuple((kind, target) for _, target, kind in moves if kind not in ("artwork", "ticket")),
        artwork=next((target for _, target, kind in moves if kind == "artwork"), None),
        summary=told,
    )
