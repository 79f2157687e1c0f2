"""What the files of an order's reports are called."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from pathlib import PurePath

from preflight.model import Report
from preflight.report.words import plain

INDEX = "index.html"
_ODD = re.compile(r"[^\w.-]+")
_LONGEST_NAME = 80
#: Names that Windows keeps for devices.
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


def page_names(reports: Iterable[Report], ending: str = ".html") -> list[str]:
    """A file name for each page: that of the artwork, safe on every system, each one once."""
    taken = {INDEX}
    return [page_name(report, taken, ending) for report in reports]


def page_name(report: Report, taken: set[str], ending: str = ".html") -> str:
    """The next one of ``page_names``; ``taken`` holds those given so far, in small letters."""
    stem = PurePath(report.file.replace("\\", "/")).stem
    stem = unicodedata.normalize("NFC", plain(stem))
    stem = _ODD.sub("_", stem).strip("._")[:_LONGEST_NAME] or "artwork"
    if _DEVICES.fullmatch(stem):
        stem = f"{stem}_"
    stem += f".page-{report.page}" if report.page > 1 else ""
    name, number = f"{stem}{ending}", 1
    while name.lower() in taken:
        number += 1
        name = f"{stem}-{number}{ending}"
    taken.add(name.lower())
    return name
