"""The shop's file of weighed jobs: a table that any spreadsheet program opens, and that never loses a line.

One line for each weighing, separated by commas or, as spreadsheets of many countries save it, by semicolons. The first
line names the columns; columns of the shop's own are let be. A new line is put at the end of a copy, which then takes
the place of the file: it is whole or it is not there, whatever happens to the computer meanwhile.
"""

from __future__ import annotations

import contextlib
import csv
import io
import math
import os
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path

from preflight.errors import SettingsError, UsageError
from preflight.ink.calibration import Weighing
from preflight.ink.wholefile import replace_text
from preflight.model import CHANNELS
from preflight.tomlslips import meant, safe

#: Lines for the life of a machine: one every ten minutes, day and night, for ten years.
MOST_BYTES = 64_000_000
_COLUMNS = (
    "date", "job", "jobs", "profile", "mode", "cleaning_days",
    *(f"{channel}_{what}" for channel in CHANNELS for what in ("m2", "g")),
)  # fmt: skip
_GERMAN = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_MARK = "\ufeff"  # tells a spreadsheet program that the text is UTF-8


def read_records(path: str | os.PathLike[str]) -> list[Weighing]:
    """Every weighing in the file.

    Raises
    ------
    SettingsError
        When there is no such file, or for the first slip in it: line, column, and what to write instead.
    """
    name = os.fspath(path)
    return _parse(_text(Path(path), name), name)


def append_records(path: str | os.PathLike[str], weighings: Sequence[Weighing]) -> int:
    """Put weighings at the end of the file, all or none; a file that is not there is begun.

    Returns
    -------
    int
        How many weighings the file holds now.

    Raises
    ------
    SettingsError
        When what is there is no such file, or one of the weighings stands in it already.
    UsageError
        When nothing can be written there.
    """
    target, name = Path(path), os.fspath(path)
    with _alone(target, name):
        old = _text(target, name) if os.path.lexists(target) else ""
        before = _parse(old, name) if old.strip() else []
        for weighing in weighings:
            _refuse_twice(weighing, before, name)
        columns, comma = _heading(old, name) if old.strip() else (list(_COLUMNS), ",")
        if missing := [column for column in _COLUMNS if column not in columns]:
            step = f"Add to the first line: {comma.join(missing)}. Or name another file with --records."
            raise SettingsError(f"the column {missing[0]} is not in the first line", step, file=name, line=1)
        text = old if old.strip() else f"{comma.join(_COLUMNS)}\n"
        ending = "\r\n" if "\r\n" in old else "\n"
        if not text.endswith("\n"):
            text += ending
        text += "".join(_line(weighing, columns, comma) + ending for weighing in weighings)
        replace_text(target, _MARK + text)
    return len(before) + len(weighings)


# ---- reading ------------------------------------------------------------------------------------------------------


def _text(path: Path, name: str) -> str:
    if path.is_dir():
        raise SettingsError("this is a folder, not a file", "Name the file inside it.", file=name)
    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        step = "Begin one with: preflight calibrate record job.json --cyan 1.21g …"
        raise SettingsError("there are no weighed jobs yet: no such file", step, file=name) from None
    except (OSError, ValueError) as slip:
        reason = getattr(slip, "strerror", None) or slip
        raise SettingsError(f"the file cannot be read ({reason})", "Check the name and the disk.", file=name) from None
    if len(raw) > MOST_BYTES:
        raise SettingsError("the file is too large for weighed jobs", "Check the name.", file=name)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as slip:
        line, step = raw.count(b"\n", 0, slip.start) + 1, 'Save it again as "CSV UTF-8".'
        raise SettingsError("a character here is not saved as UTF-8", step, file=name, line=line) from None


def _heading(text: str, name: str) -> tuple[list[str], str]:
    """The columns and what stands between them."""
    first = text.lstrip("\r\n").splitlines()[0]
    comma = max((";", "\t", ","), key=first.count)
    columns = [cell.strip().lower() for cell in next(csv.reader([first], delimiter=comma))]
    if "date" not in columns or not any(column in columns for column in _COLUMNS[6:]):
        near = meant(columns[0], _COLUMNS) if columns else ""
        step = f"{near}The first line has to read: {','.join(_COLUMNS)}"
        raise SettingsError("the first line does not name the columns of weighed jobs", step, file=name, line=1)
    return columns, comma


def _parse(text: str, name: str) -> list[Weighing]:
    if not text.strip():
        raise SettingsError("the file is empty", "Begin with: preflight calibrate record job.json …", file=name)
    columns, comma = _heading(text, name)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    weighings, headed = [], False
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if headed:
                row = dict(zip(columns, (cell.strip() for cell in cells), strict=False))
                weighings.append(_weighing(_Row(name, reader.line_num, row, comma)))
            headed = True
    except csv.Error as slip:
        step = "Look for a quotation mark that is not closed."
        raise SettingsError(f"the line cannot be read ({slip})", step, file=name, line=reader.line_num) from None
    return weighings


class _Row:
    """One line, by its columns."""

    def __init__(self, name: str, line: int, cells: Mapping[str, str], comma: str) -> None:
        self.name, self.line, self.cells, self.comma = name, line, cells, comma

    def slip(self, column: str, what: str, step: str) -> SettingsError:
        return SettingsError(safe(what), step, file=self.name, key=column, line=self.line)

    def number(self, column: str, otherwise: float | None) -> float | None:
        text = (
            self.cells.get(column, "").removesuffix("g").strip()
            if column.endswith("_g")
            else self.cells.get(column, "")
        )
        if not text:
            return otherwise
        # Where semicolons stand between the cells, a comma can only be that of a country that writes 1,21.
        plain = text.replace(",", ".") if self.comma == ";" and text.count(",") == 1 and "." not in text else text
        try:
            value = float(plain)
        except ValueError:
            value = math.nan
        if not (0 <= value < 1e6):
            raise self.slip(column, f"'{text}' is not a number that can be used", "Write such as 1.21, zero or more.")
        return value

    def day(self) -> date:
        text = self.cells.get("date", "")
        german = _GERMAN.fullmatch(text)
        try:
            return date(int(german[3]), int(german[2]), int(german[1])) if german else date.fromisoformat(text)
        except ValueError:
            step = "Write year-month-day, such as 2026-11-24."
            raise self.slip("date", f"'{text}' is not a date", step) from None


def _weighing(row: _Row) -> Weighing:
    areas, grams = {}, {}
    for channel in CHANNELS:
        area = row.number(f"{channel}_m2", None)
        weight = row.number(f"{channel}_g", None)
        if area is not None:
            areas[channel] = area
        elif weight is not None:
            step = "Write the area at 100 %, all copies, in m²; 0 for cleaning alone."
            raise row.slip(f"{channel}_m2", f"{channel} was weighed, but its area is missing", step)
        if weight is not None:
            grams[channel] = weight
    jobs = row.number("jobs", 1.0)
    if jobs not in (0.0, 1.0):
        raise row.slip("jobs", f"{jobs:g} is not a number of jobs", "Write 1, or 0 when nothing was printed.")
    return Weighing(
        day=row.day(),
        job=safe(row.cells.get("job", "")),
        areas_m2=areas,
        grams=grams,
        jobs=int(jobs),
        cleaning_days=row.number("cleaning_days", 0.0) or 0.0,
        separation=safe(row.cells.get("profile", "")),
        mode=safe(row.cells.get("mode", "")),
        line=row.line,
    )


# ---- writing ------------------------------------------------------------------------------------------------------


def _line(weighing: Weighing, columns: Sequence[str], comma: str) -> str:
    cells: dict[str, str] = {
        "date": weighing.day.isoformat(),
        "job": weighing.job,
        "jobs": str(weighing.jobs),
        "profile": weighing.separation,
        "mode": weighing.mode,
        "cleaning_days": f"{weighing.cleaning_days:g}",
    }
    for channel in CHANNELS:
        cells[f"{channel}_m2"] = f"{weighing.areas_m2.get(channel, 0.0):.6g}"
        cells[f"{channel}_g"] = f"{weighing.grams[channel]:.6g}" if channel in weighing.grams else ""
    if comma == ";":  # as the spreadsheet that saved the file writes its numbers
        cells = {
            name: text.replace(".", ",") if name.endswith(("_m2", "_g", "_days")) else text
            for name, text in cells.items()
        }
    stream = io.StringIO()
    csv.writer(stream, delimiter=comma, lineterminator="").writerow([_inert(cells.get(name, "")) for name in columns])
    return stream.getvalue()


def _inert(cell: str) -> str:
    """A name that a spreadsheet program would run as a formula is written so that it does not."""
    return f"'{cell}" if cell.startswith(("=", "+", "-", "@")) else cell


def _refuse_twice(new: Weighing, before: Sequence[Weighing], name: str) -> None:
    for old in before:
        same = all(getattr(old, name) == getattr(new, name) for name in ("day", "job", "grams", "cleaning_days"))
        if same and all(
            math.isclose(old.areas_m2.get(each, 0.0), area, rel_tol=1e-5) for each, area in new.areas_m2.items()
        ):
            step = "If it was printed twice that day, weigh both together. If the line is wrong, delete it first."
            raise SettingsError("this weighing stands here already", step, file=name, line=old.line)


@contextlib.contextmanager
def _alone(target: Path, name: str) -> Iterator[None]:
    """Nobody else writes meanwhile: two recorders at once would each put their line after the same last one."""
    try:
        handle = _door(target)
    except FileNotFoundError:
        raise UsageError(f"there is no folder '{target.parent}'", "Make the folder first.", file=name) from None
    except (OSError, ValueError) as slip:
        what = f"nothing can be written there ({getattr(slip, 'strerror', None) or slip})"
        step = "Name another folder, or give your user the right to write there."
        raise UsageError(what, step, file=name) from None
    try:
        _hold(handle)
        yield
    finally:
        os.close(handle)  # which lets go


def _door(target: Path) -> int:
    """What to lock: the folder. Where folders cannot be locked, a small file; it stays, since others may wait at it."""
    if sys.platform == "win32":
        return os.open(target.with_name(f".{target.name}.lock"), os.O_CREAT | os.O_RDWR)
    return os.open(target.parent, os.O_RDONLY)


def _hold(handle: int) -> None:
    """Wait until the lock is ours. A file system that knows no locks goes without."""
    with contextlib.suppress(OSError):
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX)
