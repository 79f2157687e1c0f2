"""Orders as ``preflight check --format json`` wrote them: what each takes of ink and film."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from preflight.errors import UsageError
from preflight.model import CHANNELS
from preflight.records import dataclass
from preflight.tomlslips import safe

#: No run of checks that a shop makes in a day comes near it.
MOST_BYTES = 200_000_000
#: The number of the report's schema that is understood.
SCHEMA = 1
_NO_REPORT = "Make it with: preflight check … --format json --output job.json"


@dataclass(frozen=True, slots=True)
class Order:
    """One artwork of a report, with what one copy takes."""

    report: str  #: the file that it stands in, as it was named
    number: int  #: its place there, from 1
    file: str
    page: int
    verdict: str
    copies: int
    mode: str
    width_mm: float | None
    height_mm: float | None
    areas_mm2: Mapping[str, float] | None  #: by channel, at 100 %, of one copy; None while the size is unknown
    grams: Mapping[str, float] | None
    separation: str

    @property
    def name(self) -> str:
        """What people call it."""
        return self.file if self.page == 1 else f"{self.file}, page {self.page}"


def read_orders(path: str | os.PathLike[str]) -> tuple[Order, ...]:
    """The artworks of a JSON report, in its order.

    Raises
    ------
    UsageError
        When there is no such file, or it is no report of this program.
    """
    name = os.fspath(path)
    whole = _load(Path(path), name)
    if not isinstance(whole, dict) or "artworks" not in whole:
        raise UsageError("this is no report of preflight check", _NO_REPORT, file=name)
    if whole.get("schema") != SCHEMA:
        step = "Make the report again with this version of preflight."
        raise UsageError(f"the report is of another format than {SCHEMA}", step, file=name)
    try:
        return tuple(_order(name, number, artwork) for number, artwork in enumerate(whole["artworks"], 1))
    except (KeyError, TypeError, ValueError, AttributeError) as slip:
        what = f"the report is not as preflight writes it ({safe(str(slip)) or type(slip).__name__})"
        raise UsageError(what, _NO_REPORT, file=name) from None


def _load(path: Path, name: str) -> Any:
    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise UsageError("there is no such file", "Check the name and the folder.", file=name) from None
    except (OSError, ValueError) as slip:
        reason = getattr(slip, "strerror", None) or slip
        raise UsageError(f"the report cannot be read ({reason})", "Check the name and the disk.", file=name) from None
    if len(raw) > MOST_BYTES:
        raise UsageError("the file is too large for a report", _NO_REPORT, file=name)
    try:
        return json.loads(raw)  # finds out by itself whether a shell wrote it as UTF-16
    except (ValueError, RecursionError):
        raise UsageError("this is no JSON", _NO_REPORT, file=name) from None


def _order(report: str, number: int, artwork: Mapping[str, Any]) -> Order:
    ticket, size, ink = artwork["ticket"], artwork["print"] or {}, artwork["ink"]
    channels = None if ink is None else {name: ink["channels"][name] for name in CHANNELS}
    copies = ticket["copies"]
    if not isinstance(copies, int) or copies < 1:
        raise ValueError("copies")
    return Order(
        report=report,
        number=number,
        file=str(artwork["file"]),
        page=int(artwork["page"]),
        verdict=str(artwork["verdict"]),
        copies=copies,
        mode=safe(str(ticket["mode"] or "")),
        width_mm=_length(size.get("width_mm")),
        height_mm=_length(size.get("height_mm")),
        areas_mm2=None if channels is None else {key: _amount(each["solid_mm2"]) for key, each in channels.items()},
        grams=None if channels is None else {key: _amount(each["grams"]) for key, each in channels.items()},
        separation="" if ink is None else safe(str(ink["separation"])),
    )


def _length(value: Any) -> float | None:
    if value is None:
        return None
    length = _amount(value)
    if length <= 0:
        raise ValueError("a size of nothing")
    return length


def _amount(value: Any) -> float:
    amount = float(value)
    if not math.isfinite(amount) or amount < 0:
        raise ValueError("an amount below nothing")
    return amount
