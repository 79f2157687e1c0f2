"""The morning sheet: what became of the night's files, what to print first, and what it takes."""

from __future__ import annotations

import json
import time
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from preflight import __version__
from preflight.model import CHANNELS
from preflight.overnight.diary import now_text
from preflight.overnight.ledger import Ledger, Row
from preflight.overnight.settings import Settings
from preflight.records import dataclass
from preflight.report.json import DIGITS
from preflight.wholefile import write_whole

HTML, JSON = "morning.html", "morning.json"
#: Number of the schema of ``morning.json``.
SCHEMA = 1
#: Seconds before now that a sheet looks back.
BACK = 24 * 3600.0
#: Worst last; also the order in which an order's verdict is chosen.
_ORDER = ("ready", "ask", "stop", "unchecked")


@dataclass(frozen=True, slots=True)
class Totals:
    """What several files take together, all copies; ``unknown`` files have no print size, so nothing is known."""

    files: int
    unknown: int
    grams: Mapping[str, float]
    film_mm: float
    minutes: float
    money: Mapping[str, float]  #: by currency
    interval: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Order:
    """The files of one folder, or one file that lay in none."""

    name: str
    verdict: str
    rows: tuple[Row, ...]

    @property
    def minutes(self) -> float:
        """Time on the printer."""
        return sum(row.summary["minutes"] or 0.0 for row in self.rows)

    @property
    def modes(self) -> tuple[str, ...]:
        """Print modes that it takes; "" for the shop's usual one."""
        return tuple(sorted({row.summary["mode"] or "" for row in self.rows}))


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that the sheet tells."""

    at: float
    since: float
    orders: tuple[Order, ...]  #: as people look for them: by name
    first: tuple[Order, ...]  #: the ready ones, in the order in which to print them
    totals: Mapping[str, Totals]  #: by the verdict of the orders
    not_yet: Mapping[str, str]
    left_alone: Mapping[str, str]
    lonely: Sequence[str]


def sheet(rows: Sequence[Row], state: Mapping[str, Any], at: float, usual_mode: str = "") -> Sheet:
    """Put together what the ledger and the watcher know.

    Parameters
    ----------
    rows
        Of the ledger.
    state
        Of the watcher; see ``Watcher.state``.
    at
        Now, seconds since 1970.
    usual_mode
        The shop's, which stands for none.
    """
    grouped: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        grouped[row.file.rpartition("/")[0] + "/" if "/" in row.file else row.file].append(row)
    orders = tuple(Order(name, _worst(found), tuple(found)) for name, found in sorted(grouped.items()))
    ready = (order for order in orders if order.verdict == "ready")
    return Sheet(
        at=at,
        since=at - BACK,
        orders=orders,
        first=tuple(sorted(ready, key=lambda order: _turn(order, usual_mode))),
        totals={
            name: _totals([row for order in orders if order.verdict == name for row in order.rows]) for name in _ORDER
        },
        not_yet=state["not_yet"],
        left_alone=state["left_alone"],
        lonely=state["tickets_without_artwork"],
    )


def _turn(order: Order, usual_mode: str) -> tuple[Any, ...]:
    """By mode, so that the printer is set once for each; the quickest first, so that most orders are done early."""
    modes = tuple(mode or usual_mode for mode in order.modes)
    return (modes != (usual_mode,), modes, order.minutes, order.name)


def _worst(rows: Iterable[Row]) -> str:
    return max((row.verdict for row in rows), key=_ORDER.index)


def _totals(rows: Sequence[Row]) -> Totals:
    known = [row.summary for row in rows if row.summary["total"] is not None]
    money: dict[str, float] = defaultdict(float)
    for told in known:
        money[told["currency"]] += told["total"]
    low, high = (sum(told["interval"][end] for told in known) for end in (0, 1))
    return Totals(
        files=len(rows),
        unknown=len(rows) - len(known),
        grams={name: sum((told["grams"] or {}).get(name, 0.0) for told in known) for name in CHANNELS},
        film_mm=sum(told["film_mm"] for told in known),
        minutes=sum(told["minutes"] for told in known),
        money=dict(money),
        interval=(low, high),
    )


def document(told: Sheet) -> str:
    """The sheet for programs: JSON, its keys stable under one number of the schema."""
    whole = {
        "schema": SCHEMA,
        "tool": {"name": "preflight", "version": __version__},
        "at": now_text(told.at),
        "since": now_text(told.since),
        "orders": [_order(order) for order in told.orders],
        "print_first": [order.name for order in told.first],
        "totals": {name: _total(totals) for name, totals in told.totals.items()},
        "not_yet": dict(told.not_yet),
        "left_alone": dict(told.left_alone),
        "tickets_without_artwork": list(told.lonely),
    }
    return json.dumps(whole, ensure_ascii=True, allow_nan=False, indent=2) + "\n"


def _order(order: Order) -> dict[str, Any]:
    return {
        "order": order.name,
        "verdict": order.verdict,
        "minutes": _round(order.minutes),
        "files": [
            {
                "not_made": [],
                **{key: _round(value) for key, value in row.summary.items() if key != "told"},
                "sha256": row.sha256,
                "answered": now_text(row.at),
                "reports": dict(row.reports[::-1]),  # the first page's of each format
                "artwork": row.artwork,
            }
            for row in order.rows
        ],
    }


def _total(totals: Totals) -> dict[str, Any]:
    told = {
        "files": totals.files, "without_size": totals.unknown, "grams": totals.grams, "film_mm": totals.film_mm,
        "minutes": totals.minutes, "money": totals.money, "interval": list(totals.interval),
    }  # fmt: skip
    return {key: _round(value) for key, value in told.items()}


def _round(value: Any) -> Any:
    """The same with figures of ``DIGITS`` significant digits."""
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    if isinstance(value, Mapping):
        return {key: _round(one) for key, one in value.items()}
    return [_round(one) for one in value] if isinstance(value, list) else value


def write(settings: Settings, ledger: Ledger, state: Mapping[str, Any]) -> Sheet:
    """Write the page and the document for programs, and give what they tell.

    Raises
    ------
    OSError
        When the ledger cannot be read or a sheet not be written.
    """
    from preflight.overnight.morningpage import page

    now = time.time()
    shop = settings.checker.shop
    told = sheet(ledger.since(now - BACK), state, now, shop.default_mode)
    write_whole(settings.out / JSON, document(told).encode())
    write_whole(settings.out / HTML, page(told, shop, settings.language).encode("utf-8", "backslashreplace"))
    return told
