"""The stock against the waiting orders, for a person at a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from preflight.ink.stock import FILM, Outlook, Resource, Stock, refills
from preflight.report.terminal import labelled, listed
from preflight.report.words import capital, many, plain, sentence

_LABEL = 9
#: Orders named one by one; of more only how many.
_MOST_NAMED = 100


def render(stock: Stock, outlook: Outlook, path: str) -> RenderableType:
    """What is there, what runs out where, what fits, what to refill, and how the film is laid out."""
    day = f", {plain(stock.taken)}" if stock.taken else ""
    blocks: list[RenderableType] = [Text(f"On the machine ({plain(path)}{day})\n", style="bold"), _table(outlook)]
    if not outlook.orders and not outlook.set_aside:
        return Group(*blocks)
    rows = [("Orders", many(len(outlook.orders), "order") + " to print, in the order in which they were named")]
    rows += [("Answer" if not number else "", text) for number, text in enumerate(answer(outlook))]
    rows += [("Refill" if not number else "", text) for number, text in enumerate(_refill(outlook))]
    if outlook.orders:
        rows.append(("Film", _film(outlook)))
    blocks += [Text(), labelled(rows, _LABEL)]
    if outlook.short:
        blocks += [Text(), listed("These can be printed with what is there", _named(outlook))]
    if outlook.set_aside:
        aside = [f"{plain(each.order.name)}: {each.why}" for each in outlook.set_aside]
        blocks += [Text(), listed("Not counted", aside)]
    blocks += [Text(), listed("Taken for granted", list(_assumed(outlook)))] if outlook.orders else []
    return Group(*blocks)


def answer(outlook: Outlook) -> Iterator[str]:
    """What runs out, the first first; whole sentences."""
    out = [each for each in outlook.resources if each.runs_out_at is not None]
    for each in sorted(out, key=lambda one: one.runs_out_at or 0):
        yield f"{capital(each.name)} runs out {_where(outlook, each.runs_out_at)}."
    for each in outlook.resources:
        if each.runs_out_at is None and each.may_run_out_at is not None:
            yield f"{capital(each.name)} may run out {_where(outlook, each.may_run_out_at)}, if all takes the most."
    unknown = [each.name for each in outlook.resources if each.unknown]
    if unknown:
        yield f"Nobody told how much there is of {', '.join(unknown)}: whether that is enough is not known."
    if not out and not unknown:
        yield "Everything is enough for all orders."


def _where(outlook: Outlook, number: int | None) -> str:
    if not number:
        return "in the cleaning, before the first order"
    return f"at order {number}, {plain(outlook.orders[number - 1].name)}"


def _table(outlook: Outlook) -> Table:
    table = Table(box=None, padding=(0, 3, 0, 0), show_edge=False)
    for number, head in enumerate(("", "there is", "cleaning", "all orders take", "then left")):
        table.add_column(head, justify="left" if not number else "right")
    for each in outlook.resources:
        have = "not told" if each.have is None else _amount(each, each.have)
        need = _amount(each, each.need)
        if each.most > each.need * 1.001:
            need += f" (up to {_amount(each, each.most)})"
        left = "–" if each.have is None else _amount(each, each.have - each.cleaning - each.need)
        table.add_row(f" {each.name}", have, _amount(each, each.cleaning) if each.cleaning else "–", need, left)
    return table


def _amount(resource: Resource, value: float) -> str:
    if resource.name == FILM:
        return f"{value / 1000:.2f} m"
    return f"{value:.1f} g" if abs(value) < 100 else f"{value:.0f} g"


def _refill(outlook: Outlook) -> Iterator[str]:
    for resource, likely, most in refills(outlook):
        if likely > 0:
            more = f", up to {_amount(resource, most)}" if most > likely * 1.01 else ""
            yield f"{resource.name}: {_amount(resource, likely)} more{more}"
        else:
            yield f"{resource.name}: {_amount(resource, most)} more, to be on the safe side"


def _film(outlook: Outlook) -> str:
    laid = outlook.packing
    told = (
        f"{laid.length_mm / 1000:.2f} m for all orders together; the prints cover {100 * laid.share:.0f} % of it. "
        f"No layout can be shorter than {laid.bound_mm / 1000:.2f} m; this is {100 * laid.over_bound:.1f} % longer. "
        f"Each order in rows by itself would take {laid.rows_mm / 1000:.2f} m. "
        "Cut it across into bands first, then each band by straight cuts from edge to edge."
    )
    marks = next((each.need for each in outlook.resources if each.name == FILM), 0.0) - laid.length_mm
    return told + (
        f" With the cut marks at both ends: {(laid.length_mm + marks) / 1000:.2f} m." if marks > 1e-6 else ""
    )


def _named(outlook: Outlook) -> list[str]:
    named = [f"{number}  {plain(outlook.orders[number - 1].name)}" for number in outlook.fits[:_MOST_NAMED]]
    if len(outlook.fits) > _MOST_NAMED:
        named.append(f"and {len(outlook.fits) - _MOST_NAMED} more")
    if not named:
        return ["none"]
    return [*named, f"in all {outlook.fitting.length_mm / 1000:.2f} m of film"]


def _assumed(outlook: Outlook) -> Iterator[str]:
    if outlook.other_grams:
        yield sentence(
            "The reports were made with other grams per m² than this answer uses. Name the same shop file with --shop."
        )
    yield "Ink of the orders is an estimate; 'up to' is what they take at the shop's most."
    asking = sum(order.verdict == "ask" for order in outlook.orders)
    if asking:
        yield f"{many(asking, 'order')} still to be talked about with the customer: counted as if printed."
