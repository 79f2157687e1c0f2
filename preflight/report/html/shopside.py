"""The part of a page for the shop, from what is to be said to HTML."""

from __future__ import annotations

from collections.abc import Iterable

from preflight.report.html.markup import Markup, joined, tag
from preflight.report.language import Language
from preflight.report.shopside import ShopSide, Table


def shop_section(told: ShopSide, language: Language) -> Markup:
    """Figures, ink, cost and cautions."""
    return tag(
        "section",
        tag("h2", language.say("For the shop"), id="shop"),
        _pairs(told.file),
        [_table(each) for each in told.tables],
        _pairs(told.production),
        _listed(language.say("Could not be measured"), told.unmeasured),
        _listed(language.say("Taken for granted"), told.assumptions),
        _listed(language.say("When you print it"), told.cautions),
        class_="shopside",
        aria_labelledby="shop",
    )


def _pairs(pairs: Iterable[tuple[str, str]]) -> Markup | None:
    rows = [tag("div", tag("dt", label), tag("dd", text)) for label, text in pairs]
    return tag("dl", rows, class_="order") if rows else None


def _table(table: Table) -> Markup:
    head = tag("tr", [tag("th", name, scope="col") for name in table.head])
    rows = [tag("tr", tag("th", row[0], scope="row"), [tag("td", cell) for cell in row[1:]]) for row in table.rows]
    whole = tag("table", tag("caption", table.title), tag("thead", head), tag("tbody", rows))
    # Where a phone is too narrow for it, the table scrolls, not the page; a keyboard must be able to as well.
    return tag("div", whole, class_="wide", tabindex="0", role="group", aria_label=table.title)


def _listed(title: str, lines: tuple[str, ...]) -> Markup | None:
    if not lines:
        return None
    return joined(tag("h3", title), tag("ul", [tag("li", line) for line in lines]))
