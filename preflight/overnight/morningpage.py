"""The morning sheet as a page for a browser, in the look of the reports: it loads nothing and runs nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from urllib.parse import quote

from preflight.language import ENGLISH, Language
from preflight.overnight.ledger import Row
from preflight.overnight.morning import Order, Sheet
from preflight.overnight.morningwords import Words, report
from preflight.overnight.telling import last
from preflight.report.html import pages, parts
from preflight.report.html.markup import Markup, joined, style, tag
from preflight.report.letterhead import read_logo
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
    ".night tbody th{min-width:7rem}.night .totals tbody th{white-space:nowrap}"
    ".night .totals thead th{white-space:normal}"
    ".night ul{margin:.2rem 0;padding-left:1.2em}"
    "@media print{.night a{text-decoration:none}.night tr{break-inside:avoid}}"
)
#: Classes of the columns of a table of files.
_COLUMNS = ("what", "answer", "")


def page(told: Sheet, shop: Shop, language: Language = ENGLISH) -> str:
    """The whole page.

    Parameters
    ----------
    told
        The sheet.
    shop
        For its letterhead and its usual print mode.
    language
        Of the words.
    """
    words = Words(told, shop, language)
    title = words.title()
    body = joined(
        style(_CSS),
        parts.letterhead(shop.letterhead, read_logo(shop.letterhead)),
        tag(
            "main",
            tag("h1", title),
            tag("p", words.lead(), class_="lead"),
            _first(words),
            _totals(words),
            _waiting(words),
            _aside(words),
            class_="night",
        ),
        pages.foot(language),
    )
    return pages.html_document(title, body, shop.letterhead, language)


def _first(words: Words) -> Markup | None:
    if not words.told.first:
        return None
    title, why, heads = words.first()
    head = zip(heads, ("no", "", "num", "mode", "num", "num"), strict=True)
    rows = []
    for number, order in enumerate(words.told.first, 1):
        copies, mode, film, minutes = words.takes(order)
        rows.append(
            tag(
                "tr",
                tag("td", str(number)),
                tag("th", _name(order, words), scope="row"),
                tag("td", copies, class_="num"),
                tag("td", mode, class_="mode"),
                tag("td", film, class_="num"),
                tag("td", minutes, class_="num"),
            )
        )
    return _section("first", title, tag("p", why), _table(head, rows))


def _name(order: Order, words: Words) -> Markup:
    if len(order.rows) == 1:
        return _link(order.rows[0], order.rows[0].file)
    links = [tag("small", _link(row, last(row.file)), words.size(row)) for row in order.rows]
    return joined(order.name, links)


def _totals(words: Words) -> Markup | None:
    found = words.totals()
    if found is None:
        return None
    title, (first, *others), lines = found
    rows = [
        tag("tr", tag("th", name, scope="row"), [tag("td", _above(cell), class_="num") for cell in cells])
        for name, cells in lines
    ]
    head = ((first, ""), *((each, "num") for each in others))
    lacking = words.lacking()
    note = None if lacking is None else tag("p", lacking)
    return _section("takes", title, _table(head, rows, "totals"), note)


def _above(text: str) -> Markup:
    """A figure, and below it what stands in brackets: the columns stay narrow enough for a page."""
    figure, bracket, rest = text.partition(" (")
    return joined(figure, tag("small", f"({rest}") if bracket else None)


def _waiting(words: Words) -> Markup | None:
    """Those for which somebody has to write or call, the worst first."""
    title, heads, orders = words.waiting()
    rows = [row for order in orders for row in _lines(order, words)]
    if not rows:
        return None
    why = words.language.say("Send the report that is linked here to the customer.")
    return _section("waiting", title, tag("p", why), _table(zip(heads, _COLUMNS, strict=True), rows))


def _lines(order: Order, words: Words) -> Iterator[Markup]:
    if len(order.rows) == 1:
        yield _line(order.rows[0], order.rows[0].file, "", words)
        return
    yield tag("tr", tag("th", order.name, colspan="3", scope="rowgroup"), class_="order")
    for row in order.rows:
        yield _line(row, last(row.file), "of", words)


def _line(row: Row, name: str, kind: str, words: Words) -> Markup:
    title, fix, more = words.what(row)
    what = joined(tag("b", title) if title else None, " ", fix, tag("small", more) if more else None)
    return tag(
        "tr",
        tag("th", _link(row, name), scope="row"),
        tag("td", parts.badge(row.verdict, words.badge(row.verdict))),
        tag("td", what),
        class_=kind or None,
    )


def _aside(words: Words) -> Markup | None:
    """What is not answered, or not with an answer on the artwork, and why."""
    blocks: list[Markup] = []
    heads, orders = words.unread()
    rows = [row for order in orders for row in _lines(order, words)]
    if rows:
        blocks.append(_table(zip(heads, _COLUMNS, strict=True), rows))
    for title, lines in words.lists():
        blocks.append(joined(tag("h3", title), tag("ul", [tag("li", line) for line in lines])))
    return _section("aside", words.aside(), *blocks) if blocks else None


def _link(row: Row, name: str) -> Markup:
    """The name, leading to its report: the page where there is one."""
    path = report(row)
    if path is None:
        return tag("span", name)
    return tag("a", name, href=quote(path.encode("utf-8", "surrogateescape")))


def _table(head: Iterable[tuple[str, str]], rows: Sequence[Markup], kind: str = "") -> Markup:
    cells = [tag("th", name, scope="col", class_=each or None) for name, each in head]
    whole = tag("table", tag("thead", tag("tr", cells)), tag("tbody", rows), class_=kind or None)
    return tag("div", whole, class_="wide", tabindex="0")


def _section(name: str, title: str, *inside: Markup | None) -> Markup:
    return tag("section", tag("h2", title, id=name), *inside, aria_labelledby=name)
