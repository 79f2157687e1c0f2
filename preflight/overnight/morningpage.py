"""The morning sheet as a page for a browser, in the look of the reports: it loads nothing and runs nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from urllib.parse import quote

from preflight.model import CHANNELS, Verdict
from preflight.overnight.ledger import Row
from preflight.overnight.morning import Order, Sheet, Totals
from preflight.report.html import pages, parts
from preflight.report.html.markup import Markup, joined, style, tag
from preflight.report.language import ENGLISH
from preflight.report.letterhead import read_logo
from preflight.report.words import VERDICT_WORDS, many, money
from preflight.shop import Shop
from preflight.units import show_number

_CSS = (
    ".night .num{text-align:right;white-space:nowrap}"
    ".night td.num,.night th.num{padding-left:.8rem;padding-right:0}"
    ".night td,.night tbody th{overflow-wrap:anywhere}"
    ".night th.what{width:26%}.night th.answer{width:9.4rem}.night th.no{width:2.6rem}"
    ".night th.mode{width:7rem;padding-left:1.6rem}.night td.mode{padding-left:1.6rem}"
    ".night tr.order th{font-weight:700;border-bottom:0;padding-top:.8rem}"
    ".night tr.of th{padding-left:1.1em}"
    ".night a{color:inherit}.night td b{display:block}"
    ".night small{display:block;font-size:.9rem;color:#3d434a}"
    ".night .totals tbody th{white-space:nowrap}.night ul{margin:.2rem 0;padding-left:1.2em}"
    "@media print{.night a{text-decoration:none}.night tr{break-inside:avoid}}"
)
_TOTALS = {
    "ready": "Ready to print",
    "ask": "Once they have answered",
    "stop": "Once the files are changed",
}


def page(told: Sheet, shop: Shop) -> str:
    """The whole page.

    Parameters
    ----------
    told
        The sheet.
    shop
        For its letterhead and its usual print mode.
    """
    title = _title(told)
    body = joined(
        style(_CSS),
        parts.letterhead(shop.letterhead, read_logo(shop.letterhead)),
        tag(
            "main",
            tag("h1", title),
            tag("p", _lead(told), class_="lead"),
            _first(told.first, shop),
            _totals(told),
            _waiting([order for order in told.orders if order.verdict in ("ask", "stop")]),
            _aside(told),
            class_="night",
        ),
        pages.foot(ENGLISH),
    )
    return pages.html_document(title, body, shop.letterhead, ENGLISH)


def _title(told: Sheet) -> str:
    if not told.orders:
        return "Nothing was answered in the last 24 hours"
    verb = "is" if len(told.first) == 1 else "are"
    return f"{len(told.first)} of {many(len(told.orders), 'order')} {verb} ready to print"


def _lead(told: Sheet) -> str:
    files = sum(len(order.rows) for order in told.orders)
    counts = (
        (name, sum(order.verdict == name for order in told.orders)) for name in ("ready", "ask", "stop", "unchecked")
    )
    tally = ", ".join(f"{count} {VERDICT_WORDS[Verdict(name)].lower()}" for name, count in counts if count)
    when = datetime.fromtimestamp(told.at).astimezone().strftime("%d %B %Y, %H:%M")
    return f"{when}. {many(files, 'file')} in {many(len(told.orders), 'order')}{f': {tally}' if tally else ''}."


def _first(orders: Sequence[Order], shop: Shop) -> Markup | None:
    if not orders:
        return None
    head = (("No.", "no"), ("Order", ""), ("Copies", "num"), ("Mode", "mode"), ("Film", "num"), ("Minutes", "num"))
    rows = [
        tag(
            "tr",
            tag("td", str(number)),
            tag("th", _name(order), scope="row"),
            tag("td", _copies(order), class_="num"),
            tag("td", ", ".join(mode or shop.default_mode for mode in order.modes), class_="mode"),
            tag("td", _metres(sum(row.summary["film_mm"] or 0.0 for row in order.rows)), class_="num"),
            tag("td", show_number(order.minutes, 2), class_="num"),
        )
        for number, order in enumerate(orders, 1)
    ]
    why = (
        "By print mode, so that the printer is set once for each; then the quickest first, "
        "so that most orders are done early."
    )
    return _section("first", "Print these first", tag("p", why), _table(head, rows))


def _name(order: Order) -> Markup:
    if len(order.rows) == 1:
        return _link(order.rows[0], order.rows[0].file)
    links = [tag("small", _link(row, row.file.rpartition("/")[2]), _size(row)) for row in order.rows]
    return joined(order.name, links)


def _size(row: Row) -> str:
    width, height = row.summary["width_mm"], row.summary["height_mm"]
    return f", {show_number(width)} × {show_number(height)} mm" if width and height else ""


def _copies(order: Order) -> str:
    return str(sum(row.summary["copies"] for row in order.rows))


def _totals(told: Sheet) -> Markup | None:
    shown = [(name, words) for name, words in _TOTALS.items() if told.totals[name].files]
    if not shown:
        return None
    totals = [told.totals[name] for name, _ in shown]
    head = (("For all copies", ""), *((words, "num") for _, words in shown))
    lines: Iterable[tuple[str, list[str]]] = [
        ("Files", [str(each.files) for each in totals]),
        *((name.capitalize(), [_grams(each.grams[name]) for each in totals]) for name in CHANNELS),
        ("Film", [_metres(each.film_mm) for each in totals]),
        ("Time on the printer", [f"{show_number(each.minutes, 2)} min" for each in totals]),
        ("Cost", [_money(each) for each in totals]),
    ]
    rows = [
        tag("tr", tag("th", name, scope="row"), [tag("td", cell, class_="num") for cell in cells])
        for name, cells in lines
    ]
    unknown = sum(each.unknown for each in totals)
    note = None
    if unknown:
        takes = "it takes" if unknown == 1 else "they take"
        lacking = many(unknown, "file has no print size", "files have no print size")
        note = tag("p", f"{lacking}: what {takes} is not in these figures.")
    return _section("takes", "What it takes", _table(head, rows, "totals"), note)


def _grams(grams: float) -> str:
    return f"{grams:.1f} g"


def _metres(millimetres: float) -> str:
    return f"{millimetres / 1000:.2f} m"


def _money(totals: Totals) -> str:
    if not totals.money:
        return "–"
    told = " and ".join(money(amount, currency) for currency, amount in sorted(totals.money.items()))
    low, high = totals.interval
    return f"{told} ({low:.2f} to {high:.2f})" if len(totals.money) == 1 else told


def _waiting(orders: Sequence[Order]) -> Markup | None:
    """Those for which somebody has to write or call, the worst first."""
    if not orders:
        return None
    listed = sorted(orders, key=lambda order: (order.verdict != "stop", order.name))
    rows = [row for order in listed for row in _lines(order)]
    head = (("Order", "what"), ("Answer", "answer"), ("What to do first", ""))
    why = "Send the report that is linked here to the customer."
    return _section("waiting", "Waiting for the customer", tag("p", why), _table(head, rows))


def _lines(order: Order) -> Iterator[Markup]:
    if len(order.rows) == 1:
        yield _line(order.rows[0], order.rows[0].file, "")
        return
    yield tag("tr", tag("th", order.name, colspan="3", scope="rowgroup"), class_="order")
    for row in order.rows:
        yield _line(row, row.file.rpartition("/")[2], "of")


def _line(row: Row, name: str, kind: str) -> Markup:
    told = row.summary
    more = told["findings"] - 1
    what = joined(
        tag("b", told["title"]) if told["title"] and row.verdict != "ready" else None,
        " ",
        told["fix"] if row.verdict != "ready" else "Ready to print.",
        tag("small", f"and {many(more, 'more finding')}") if more > 0 and row.verdict != "ready" else None,
    )
    return tag(
        "tr",
        tag("th", _link(row, name), scope="row"),
        tag("td", parts.badge(row.verdict, VERDICT_WORDS[Verdict(row.verdict)])),
        tag("td", what),
        class_=kind or None,
    )


def _aside(told: Sheet) -> Markup | None:
    """What is not answered, or not with an answer on the artwork, and why."""
    unread = [order for order in told.orders if order.verdict == "unchecked"]
    blocks: list[Markup] = []
    if unread:
        head = (("Order", "what"), ("Answer", "answer"), ("Why, and what to do", ""))
        blocks.append(_table(head, [row for order in unread for row in _lines(order)]))
    for title, lines in (
        ("Not yet answered", [f"{name}: {why}" for name, why in told.not_yet.items()]),
        ("Left alone", [f"{name}: {why}" for name, why in told.left_alone.items()]),
        ("Tickets without an artwork", list(told.lonely)),
    ):
        if lines:
            blocks.append(joined(tag("h3", title), tag("ul", [tag("li", line) for line in lines])))
    return _section("aside", "Set aside, and why", *blocks) if blocks else None


def _link(row: Row, name: str) -> Markup:
    """The name, leading to its report: the page where there is one."""
    paths = dict(row.reports[::-1])
    path = next((paths[kind] for kind in ("html", "text", "json") if kind in paths), None)
    if path is None:
        return tag("span", name)
    return tag("a", name, href=quote(path.encode("utf-8", "surrogateescape")))


def _table(head: Iterable[tuple[str, str]], rows: Sequence[Markup], kind: str = "") -> Markup:
    cells = [tag("th", name, scope="col", class_=each or None) for name, each in head]
    whole = tag("table", tag("thead", tag("tr", cells)), tag("tbody", rows), class_=kind or None)
    return tag("div", whole, class_="wide", tabindex="0")


def _section(name: str, title: str, *inside: Markup | None) -> Markup:
    return tag("section", tag("h2", title, id=name), *inside, aria_labelledby=name)
