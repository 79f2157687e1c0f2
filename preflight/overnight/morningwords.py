"""What the morning sheet says, whatever it is laid out on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from preflight.model import CHANNELS, Verdict
from preflight.overnight.ledger import Row
from preflight.overnight.morning import Order, Sheet, Totals
from preflight.report.words import VERDICT_WORDS, many, money
from preflight.shop import Shop
from preflight.units import show_number

FIRST, FIRST_HEAD = "Print these first", ("No.", "Order", "Copies", "Mode", "Film", "Minutes")
FIRST_WHY = (
    "By print mode, so that the printer is set once for each; then the quickest first, "
    "so that most orders are done early."
)
TAKES, TAKES_HEAD = "What it takes", "For all copies"
WAITING, WAITING_HEAD = "Waiting for the customer", ("Order", "Answer", "What to do first")
ASIDE, UNREAD_HEAD = "Set aside, and why", ("Order", "Answer", "Why, and what to do")
_TOTALS = {
    "ready": "Ready to print",
    "ask": "Once they have answered",
    "stop": "Once the files are changed",
}


def title(told: Sheet) -> str:
    """The main point."""
    if not told.orders:
        return "Nothing was answered in the last 24 hours"
    verb = "is" if len(told.first) == 1 else "are"
    return f"{len(told.first)} of {many(len(told.orders), 'order')} {verb} ready to print"


def when(told: Sheet) -> str:
    """Day and time of the sheet, as the shop's clock has it."""
    return datetime.fromtimestamp(told.at).astimezone().strftime("%d %B %Y, %H:%M")


def lead(told: Sheet) -> str:
    """When it was written, and how many of each verdict."""
    files = sum(len(order.rows) for order in told.orders)
    counts = (
        (name, sum(order.verdict == name for order in told.orders)) for name in ("ready", "ask", "stop", "unchecked")
    )
    tally = ", ".join(f"{count} {VERDICT_WORDS[Verdict(name)].lower()}" for name, count in counts if count)
    return f"{when(told)}. {many(files, 'file')} in {many(len(told.orders), 'order')}{f': {tally}' if tally else ''}."


def takes(order: Order, shop: Shop) -> tuple[str, str, str, str]:
    """Copies, print mode, film and minutes of an order."""
    return (
        str(sum(row.summary["copies"] for row in order.rows)),
        ", ".join(mode or shop.default_mode for mode in order.modes),
        _metres(sum(row.summary["film_mm"] or 0.0 for row in order.rows)),
        show_number(order.minutes, 2),
    )


def size(row: Row) -> str:
    """What is put after a file's name: its print size, where it has one."""
    width, height = row.summary["width_mm"], row.summary["height_mm"]
    return f", {show_number(width)} × {show_number(height)} mm" if width and height else ""


def report(row: Row) -> str | None:
    """Where the report to look at lies, below the folder of answers: the page where there is one."""
    paths = dict(row.reports[::-1])
    return next((paths[kind] for kind in ("html", "pdf", "text", "json") if kind in paths), None)


def totals(told: Sheet) -> tuple[list[str], list[tuple[str, list[str]]]] | None:
    """Heads of the columns, and name and cells of each line; None when there is nothing to add up."""
    shown = [(name, words) for name, words in _TOTALS.items() if told.totals[name].files]
    if not shown:
        return None
    columns = [told.totals[name] for name, _ in shown]
    return [TAKES_HEAD, *(words for _, words in shown)], [
        ("Files", [str(each.files) for each in columns]),
        *((name.capitalize(), [f"{each.grams[name]:.1f} g" for each in columns]) for name in CHANNELS),
        ("Film", [_metres(each.film_mm) for each in columns]),
        ("Time on the printer", [f"{show_number(each.minutes, 2)} min" for each in columns]),
        ("Cost", [_money(each) for each in columns]),
    ]


def lacking(told: Sheet) -> str | None:
    """What is not in the totals."""
    unknown = sum(told.totals[name].unknown for name in _TOTALS)
    if not unknown:
        return None
    it_takes = "it takes" if unknown == 1 else "they take"
    files = many(unknown, "file has no print size", "files have no print size")
    return f"{files}: what {it_takes} is not in these figures."


def _metres(millimetres: float) -> str:
    return f"{millimetres / 1000:.2f} m"


def _money(each: Totals) -> str:
    if not each.money:
        return "–"
    told = " and ".join(money(amount, currency) for currency, amount in sorted(each.money.items()))
    low, high = each.interval
    return f"{told} ({low:.2f} to {high:.2f})" if len(each.money) == 1 else told


def waiting(told: Sheet) -> list[Order]:
    """Those for which somebody has to write or call, the worst first."""
    orders = (order for order in told.orders if order.verdict in ("ask", "stop"))
    return sorted(orders, key=lambda order: (order.verdict != "stop", order.name))


def unread(told: Sheet) -> list[Order]:
    """Those whose answer is not on the artwork."""
    return [order for order in told.orders if order.verdict == "unchecked"]


def what(row: Row) -> tuple[str | None, str | None, str | None]:
    """What is wrong with a file, what to do, and how much more there is."""
    told = row.summary
    if row.verdict == "ready":
        return None, "Ready to print.", None
    more = told["findings"] - 1
    return told["title"] or None, told["fix"], f"and {many(more, 'more finding')}" if more > 0 else None


def lists(told: Sheet) -> Iterator[tuple[str, Sequence[str]]]:
    """Titles and lines of what is not answered; none that is empty."""
    for heading, lines in (
        ("Not yet answered", [f"{name}: {why}" for name, why in told.not_yet.items()]),
        ("Left alone", [f"{name}: {why}" for name, why in told.left_alone.items()]),
        ("Tickets without an artwork", list(told.lonely)),
    ):
        if lines:
            yield heading, lines
