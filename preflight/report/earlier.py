"""An earlier JSON report, read back for ``--compare``: every part of it is looked at before it is used."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePath
from typing import Any, NoReturn

from preflight.errors import UsageError
from preflight.model import Report, Severity
from preflight.records import dataclass
from preflight.report.json import SCHEMA

#: Key of ``Report.extra`` under which a ``Compared`` report carries what it is compared with.
EARLIER = "earlier"
#: A larger file is no report: one artwork takes about 50 kB (measured).
_LARGEST = 100_000_000
_STEP = "Name a file that 'preflight check --format json --output' wrote."


@dataclass(frozen=True, slots=True)
class OldFinding:
    """A finding of the earlier report."""

    rule: str
    severity: Severity
    measure: str
    value: float | None
    unit: str
    seen: str


@dataclass(frozen=True, slots=True)
class Earlier:
    """An artwork of the earlier report. The size is None where it was not known."""

    file: str
    page: int
    sha256: str | None
    size_mm: tuple[float, float] | None
    read: bool  #: whether it could be read then
    findings: tuple[OldFinding, ...]


@dataclass(frozen=True, slots=True)
class Against:
    """What one report is compared with. ``earlier``: None when the earlier report says nothing of this file."""

    earlier: Earlier | None
    titles: Mapping[str, str]  #: of the rules of today, by id


class Archive:
    """An earlier report.

    Parameters
    ----------
    path
        A file that ``preflight check --format json`` wrote.

    Raises
    ------
    UsageError
        When it cannot be read, or is something else.
    """

    def __init__(self, path: str) -> None:
        self._path = path
        self._artworks = tuple(self._read())
        self._names = {each.file for each in self._artworks}

    def of(self, report: Report, *, alone: bool) -> Earlier | None:
        """The same page of the same file: by its path, else by its name where that is there once.

        Parameters
        ----------
        alone
            Whether it is the only file of this run: then it may have another name than the only one of that run.
        """
        same = [each for each in self._artworks if each.file == report.file]
        if not same:
            name = _name(report.file)
            files = {each.file for each in self._artworks if _name(each.file) == name}
            same = [each for each in self._artworks if each.file in files] if len(files) == 1 else []
        if not same and alone and len(self._names) == 1:
            same = list(self._artworks)
        return next((each for each in same if each.page == report.page), None)

    def _read(self) -> Iterator[Earlier]:
        try:
            with Path(self._path).open("rb") as stream:
                data = stream.read(_LARGEST + 1)
        except (OSError, ValueError) as slip:
            reason = getattr(slip, "strerror", None) or str(slip)
            raise UsageError(f"the earlier report cannot be read ({reason})", _STEP, file=self._path) from None
        if len(data) > _LARGEST:
            self._refuse("it is too large for a report")
        try:
            whole = json.loads(data.decode("utf-8-sig"), parse_constant=_no_number)
        except (ValueError, RecursionError):
            self._refuse("it is no whole JSON file")
        if not isinstance(whole, dict) or "schema" not in whole:
            self._refuse("it is JSON, but no report of preflight")
        if whole["schema"] != SCHEMA or isinstance(whole["schema"], bool):
            what = f"the earlier report has schema {whole['schema']!s:.20}, and this version reads schema {SCHEMA}"
            raise UsageError(what, "Check the earlier file again with this version.", file=self._path)
        try:
            yield from [_artwork(each) for each in _list(whole["artworks"])]
        except (KeyError, TypeError, ValueError, OverflowError):
            self._refuse("it is no whole report of preflight")

    def _refuse(self, what: str) -> NoReturn:
        raise UsageError(f"this is no earlier report: {what}", _STEP, file=self._path)


def _name(file: str) -> str:
    return PurePath(file.replace("\\", "/")).name


def _no_number(text: str) -> NoReturn:
    raise ValueError(text)


def _artwork(data: Any) -> Earlier:
    size = data["print"]
    width, height = (None, None) if size is None else (_number(size["width_mm"]), _number(size["height_mm"]))
    sha256, page = data["sha256"], data["page"]
    if not isinstance(page, int) or not (sha256 is None or isinstance(sha256, str)):
        raise TypeError
    return Earlier(
        file=_text(data["file"]),
        page=page,
        sha256=sha256,
        size_mm=None if width is None or height is None else (width, height),
        read=size is not None,
        findings=tuple(_finding(each) for each in _list(data["findings"])),
    )


def _finding(data: Any) -> OldFinding:
    return OldFinding(
        rule=_text(data["rule"]),
        severity=Severity(data["severity"]),
        measure=_text(data["measure"]),
        value=_number(data["value"]),
        unit=_text(data["unit"]),
        seen=_text(data["seen"]),
    )


def _list(data: Any) -> list[Any]:
    if not isinstance(data, list):
        raise TypeError
    return data


def _text(data: Any) -> str:
    if not isinstance(data, str):
        raise TypeError
    return data


def _number(data: Any) -> float | None:
    if data is None:
        return None
    if isinstance(data, bool) or not isinstance(data, int | float) or not math.isfinite(data):
        raise TypeError
    return float(data)
