"""Asking the program about one file; the only module of the benchmark that touches the program under test."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from preflight.model import Report, Ticket


@lru_cache(maxsize=1)
def _checker() -> Any:
    from preflight.engine import Checker
    from preflight.rulebook import load_rulebook
    from preflight.shop import Shop
    from preflight.ticket import Order

    shop = Shop.default()
    return Checker(Order(), shop, load_rulebook(shop))


def ask(path: Path, ticket: Ticket) -> Report:
    """The program's whole answer for a file and its ticket, with a shop that has set nothing."""
    from preflight.engine import check
    from preflight.ticket import Order

    checker = _checker()
    known = asdict(ticket)
    checker.order = Order(**{name: known[name] for name in Order.__slots__ if name in known})
    return check(path, checker)


@dataclass(frozen=True, slots=True)
class Told:
    """One finding, cut down to what the benchmark compares. Places: left, top, right, bottom in millimetres."""

    rule: str
    severity: str
    value: float | None
    places: tuple[tuple[float, float, float, float], ...]
    seen: str


@dataclass(frozen=True, slots=True)
class Answer:
    """A report, cut down so that it passes between processes."""

    verdict: str
    findings: tuple[Told, ...]
    values: dict[str, float | None]
    not_measured: dict[str, str]
    failed: str | None  #: the program's own failure on the file
    seconds: float
    ppi: float | None
    origin: tuple[float, float]  #: the artwork's top left on the canvas, px


def answer(path: Path, ticket: Ticket) -> Answer:
    report = ask(path, ticket)
    findings = tuple(
        Told(f.rule, str(f.severity), f.value,
             tuple((p.x_mm, p.y_mm, p.x_mm + p.width_mm, p.y_mm + p.height_mm) for p in f.places), f.seen)
        for f in report.findings
    )  # fmt: skip
    missing = {m.id: m.why_not for m in report.measures.values() if m.why_not is not None and m.applies}
    values = {m.id: m.value for m in report.measures.values()}
    failed = report.extra.get("traceback")
    size = report.print_size
    origin = (0.0, 0.0) if size is None else (float(size.artwork.x), float(size.artwork.y))
    ppi = None if size is None else size.ppi
    return Answer(str(report.verdict), findings, values, missing, failed, report.seconds, ppi, origin)
