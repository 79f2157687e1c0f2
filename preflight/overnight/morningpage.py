"""The morning sheet as a page for a browser, in the look of the reports: it loads nothing and runs nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from urllib.parse import quote

from preflight.model import Verdict
from preflight.overnight import morningwords as words
from preflight.overnight.ledger import Row
from preflight.overnight.morning import Order, Sheet
from preflight.overnight.telling import last
from preflight.report.html import pages, parts
from preflight.report.html.markup import Markup, joined, style, tag
from preflight.report.language import ENGLISH
from preflight.report.letterhead import read_logo
from preflight.report.words import VERDICT_WORDS
from preflight.shop import Shop

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
#: Classes of the columns of a table of files.
_COLUMNS = ("what", "answer", "")


def page(told: Sheet, shop: Shop) -> str:
    """The whole page.

    Parameters
    ----------
    told
        The sheet.
    shop
        For its letterhead and its usual print mode.
    """
    title = words.title(told)
    body = joined(
        style(_CSS),
        parts.letterhead(shop.letterhead, read_logo(shop.letterhead)),
        tag(
            "main",
            tag("h1", title),
            tag("p", words.lead(told), class_="lead"),
            _first(told.first, shop),
            _totals(told),
            _waiting(told),
            _aside(told),
            class_="night",
        ),
        pages.foot(ENGLISH),
    )
    return pages.html_document(title, body, shop.letterhead, ENGLISH)


def _first(orders: Sequence[Order], shop: Shop) -> Markup | None:
    if not orders:
        return None
    head = zip(words.FIRST_HEAD, ("no", "", "num", "mode", "num", "num"), strict=True)
    rows = []
    for number, order in enumerate(orders, 1):
        copies, mode, film, minutes = words.takes(order, shop)
        rows.append(
            tag(
                "tr",
                tag("td", str(number)),
                tag("th", _name(order), scope="row"),
                tag("td", copies, class_="num"),
                tag("td", mode, class_="mode"),
                tag("td", film, class_="num"),
                tag("td", minutes, class_="num"),
            )
        )
    return _section("first", words.FIRST, tag("p", words.FIRST_WHY), _table(head, rows))


def _name(order: Order) -> Markup:
    if len(order.rows) == 1:
        return _link(order.rows[0], order.rows[0].file)
    links = [tag("small", _link(row, last(row.file)), words.size(row)) for row in order.rows]
    return joined(order.name, links)


def _totals(told: Sheet) -> Markup | None:
    found = words.totals(told)
    if found is None:
        return None
    (first, *others), lines = found
    rows = [
        tag("tr", tag("th", name, scope="row"), [tag("td", cell, class_="num") for cell in cells])
        for name, cells in lines
    ]
    head = ((first, ""), *((each, "num") for each in others))
    lacking = words.lacking(told)
    note = None if lacking is None else tag("p", lacking)
    return _section("takes", words.TAKES, _table(head, rows, "totals"), note)


def _waiting(told: Sheet) -> Markup | None:
    """Those for which somebody has to write or call, the worst first."""
    rows = [row for order in words.waiting(told) for row in _lines(order)]
    if not rows:
        return None
    why = "Send the report that is linked here to the customer."
    head = zip(words.WAITING_HEAD, _COLUMNS, strict=True)
    return _section("waiting", words.WAITING, tag("p", why), _table(head, rows))


def _lines(order: Order) -> Iterator[Markup]:
    if len(order.rows) == 1:
        yield _line(order.rows[0], order.rows[0].file, "")
        return
    yield tag("tr", tag("th", order.name, colspan="3", scope="rowgroup"), class_="order")
    for row in order.rows:
        yield _line(row, last(row.file), "of")


def _line(row: Row, name: str, kind: str) -> Markup:
    title, fix, more = words.what(row)
    what = joined(tag("b", title) if title else None, " ", fix, tag("small", more) if more else None)
    return tag(
        "tr",
        tag("th", _link(row, name), scope="row"),
        tag("td", parts.badge(row.verdict, VERDICT_WORDS[Verdict(row.verdict)])),
        tag("td", what),
        class_=kind or None,
    )


def _aside(told: Sheet) -> Markup | None:
    """What is not answered, or not with an answer on the artwork, and why."""
    blocks: list[Markup] = []
    rows = [row for order in words.unread(told) for row in _lines(order)]
    if rows:
        blocks.append(_table(zip(words.UNREAD_HEAD, _COLUMNS, strict=True), rows))
    for title, lines in words.lists(told):
        blocks.append(joined(tag("h3", title), tag("ul", [tag("li", line) for line in lines])))
    return _section("aside", words.ASIDE, *blocks) if blocks else None


def _link(row: Row, name: str) -> Markup:
    """The name, leading to its report: the page where there is one."""
    path = words.report(row)
    if path is None:
        return tag("span", name)
    return tag("a", name, href=quote(path.encode("utf-8", "surrogateescape")))


def _table(head: Iterable[tuple[str, str]], rows: Sequence[Markup], kind: str = "") -> Markup:
    cells = [tag("th", name, scope="col", class_=each or None) for name, each in head]
    whole = tag("table", tag("thead", tag("tr", cells)), tag("tbody", rows), class_=kind or None)
    return tag("div", whole, class_="wide", tabindex="0")


def _section(name: str, title: str, *inside: Markup | None) -> Markup:
    return tag("section", tag("h2", title, id=name), *inside, aria_labelledby=name)
