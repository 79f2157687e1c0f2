"""The fitted grams put into a shop file, with all its comments kept."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from preflight.errors import SettingsError
from preflight.ink.calibration import Calibration
from preflight.ink.wholefile import replace_text
from preflight.shop import Grams, load_shop

#: Figures carry so many significant digits: finer than any scale.
_DIGITS = 4


class Change(NamedTuple):
    """One figure of the shop file: where it stands, and what it was and is."""

    place: str
    old: str  #: "" when nothing was there
    new: str


def write_shop_figures(path: str | os.PathLike[str], found: Calibration, day: date) -> list[Change]:
    """Put the figures of every fitted channel into the shop file, with the day and the number of weighed jobs.

    Parameters
    ----------
    path
        A shop file that is there. Everything else in it stays as it is, comments too.
    found
        With at least one fit.
    day
        Of the fit, usually today.

    Returns
    -------
    list[Change]
        What was changed, in the order of the file's groups.

    Raises
    ------
    SettingsError
        When the file cannot be read, or holds a slip of its own.
    UsageError
        When it cannot be written. Nothing is changed then.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    name = os.fspath(path)
    load_shop(path)  # a slip of the shop's own is told in our words, before anything is touched
    raw = Path(path).read_bytes().decode("utf-8-sig")
    try:
        document = tomlkit.parse(raw)
        changes = list(_put(document, found, day))
        text = tomlkit.dumps(document)
        if "\r\n" in raw:  # the new lines end as the others do
            text = text.replace("\r\n", "\n").replace("\n", "\r\n")
    except TOMLKitError as slip:  # cannot be: the standard parser has read it
        step = "Write the figures into the file by hand."
        raise SettingsError(f"the file cannot be changed ({slip})", step, file=name) from None
    replace_text(Path(path), text, check=load_shop)
    return changes


def _put(document: Any, found: Calibration, day: date) -> Iterator[Change]:
    for channel, fit in found.fits.items():
        yield _set(document, "laydown", channel, fit.per_m2)
    for channel, fit in found.fits.items():
        yield _set(document, "per_job", channel, fit.per_job)
    for channel, fit in found.fits.items():
        if fit.per_day is not None:
            yield _set(document, "cleaning", channel, fit.per_day)
    group = _group(document, "calibration")
    group["fitted"], group["jobs"], group["inks"] = day.isoformat(), found.jobs, list(found.fits)


def _set(document: Any, group: str, channel: str, grams: Grams) -> Change:
    import tomlkit

    table = _group(document, group)
    old = _told(table[channel]) if channel in table else ""
    new = {"likely": _rounded(grams.likely), "least": _rounded(grams.low), "most": _rounded(grams.high)}
    if channel in table:
        table[channel].update(new)
    else:
        inline = tomlkit.inline_table()
        inline.update(new)
        table[channel] = inline
    return Change(f"[{group}] {channel}", old, _told(new))


def _group(document: Any, name: str) -> Any:
    import tomlkit

    if name not in document:
        document[name] = tomlkit.table()
    return document[name]


def _told(grams: Mapping[str, float]) -> str:
    return f"{grams['likely']:g} ({grams['least']:g} to {grams['most']:g})"


def _rounded(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")
