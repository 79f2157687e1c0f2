"""``preflight stock``: keep what is on the machine, and hold the waiting orders against it."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import field

from preflight.commands.numbers import cleaning_days
from preflight.commands.output import standard_output
from preflight.errors import UsageError
from preflight.ink.orders import Order, read_orders
from preflight.ink.stock import Outlook, hold
from preflight.ink.stock_file import read_stock, update_stock, write_starter
from preflight.model import ExitStatus
from preflight.records import dataclass
from preflight.shop import Shop, load_shop

FORMATS = ("text", "json")


@dataclass(frozen=True, slots=True)
class Request:
    """The options of ``preflight stock`` as they were written."""

    path: str = "stock.toml"
    amounts: Mapping[str, str] = field(default_factory=dict)  #: by name, such as "cyan": "480g"
    orders: Sequence[str] = ()
    shop: str | None = None
    cleaning_days: str = "1"
    format: str = "text"
    fail_when_short: bool = False


def stock(request: Request) -> ExitStatus:
    """Do what the request asks and choose the exit status: 0, unless a script asked to be told by it.

    Raises
    ------
    UsageError
        For every slip in the options, the stock, the shop file and the reports.
    """
    if request.format not in FORMATS:
        raise UsageError(f"--format {request.format} is not known", f"Choose one of {', '.join(FORMATS)}.")
    days = cleaning_days(request.cleaning_days)
    shop = Shop.default() if request.shop is None else load_shop(request.shop)
    waiting = [order for name in request.orders for order in read_orders(name)]
    if request.amounts:
        update_stock(request.path, request.amounts, shop.film)
    elif not os.path.lexists(request.path) and not request.orders:
        write_starter(request.path)
        stream = standard_output()
        stream.write(f"{request.path} is written. Put in what is on the machine, by hand or by options:\n")
        stream.write("preflight stock --cyan 480g --white 820g --roll 2860g --core 420g\n")
        return ExitStatus.READY
    return _answer(request, shop, waiting, days)


def _answer(request: Request, shop: Shop, waiting: Sequence[Order], days: float) -> ExitStatus:
    there = read_stock(request.path, shop.film)
    outlook = hold(there, waiting, shop, days if waiting else 0.0)
    if request.format == "json":
        from preflight.report import stock_json

        sys.stdout.flush()
        sys.stdout.buffer.write(stock_json.document(there, outlook).encode("utf-8"))
        sys.stdout.buffer.flush()
    else:
        from preflight.report.stock_text import render
        from preflight.report.terminal import console as open_console

        open_console(standard_output()).print(render(there, outlook, request.path))
    return _status(outlook) if request.fail_when_short else ExitStatus.READY


def _status(outlook: Outlook) -> ExitStatus:
    """As for artwork: 10 asks for a hand, 12 says that nobody knows."""
    if outlook.unknown:
        return ExitStatus.UNCHECKED
    return ExitStatus.ASK if outlook.short else ExitStatus.READY
