"""What an order costs in material and minutes."""

from __future__ import annotations

from preflight.ink.grams import ink_range, powder_range
from preflight.ink.layout import lay_out
from preflight.model import Cost, InkUse, PrintSize, Saving, Ticket
from preflight.shop import Shop

#: One A3 sheet (ISO 216).
A3_MM2 = 297.0 * 420.0


def price(use: InkUse, print_size: PrintSize, ticket: Ticket, shop: Shop) -> Cost | None:
    """Material and time for all copies.

    Parameters
    ----------
    use
        Ink of one copy.
    print_size
        Size of one copy: its artwork box.
    ticket
        Copies and mode; the shop's usual mode where none is ordered.
    shop
        Prices, film, powder, waste and minutes.

    Returns
    -------
    Cost or None
        None when the print size is unknown, or a copy fits the film neither way round.

    Notes
    -----
    ink = Σ (grams of all copies + grams of a job's start) × price per kg; powder = area under white × grams per m² ×
    price per kg; film = length × price per metre; waste = (ink + powder + film) × (share of consumables + share of
    reprints). The four sum to the total.

    The interval holds ink and powder at the least and at the most the shop states for them, and waste with them. Film
    and prices have no range. Where the shop has weighed its ink, least and most are the ends of the fit's 95 %
    intervals (``calibration``). Grams per square metre and per job are taken at their least together and at their most
    together, though a fit that puts one too high puts the other too low: so the interval is rather too wide than too
    narrow, and a shop file needs no table of how they hang together.

    The start of a job is counted once for the order, whatever it prints: the printer readies all its inks. It belongs
    to no copy, so the ink of one copy (``weigh``) and a saving (``saving``) leave it out.

    minutes = area of the copies' boxes ÷ A3 (297 × 420 mm) × the mode's minutes for one A3. Gaps, warm-up and curing
    are not in it.
    """
    if print_size.width_mm is None or print_size.height_mm is None:
        return None
    layout = lay_out(print_size.width_mm, print_size.height_mm, ticket.copies, shop.film)
    if layout is None:
        return None
    film = layout.film_mm / 1000 * shop.prices.film_per_m
    likely, low, high = (
        _parts(ink * ticket.copies + start, powder * ticket.copies, film, shop)
        for ink, start, powder in zip(_ink_money(use, shop), _start_money(shop), _powder_money(use, shop), strict=True)
    )
    total = sum(likely.values())
    area = ticket.copies * print_size.width_mm * print_size.height_mm
    return Cost(
        currency=shop.currency,
        per_copy=total / ticket.copies,
        total=total,
        parts=likely,
        film_mm=layout.film_mm,
        minutes=area / A3_MM2 * shop.modes[ticket.mode or shop.default_mode],
        interval=(sum(low.values()), sum(high.values())),
        across=layout.across,
        turned=layout.turned,
    )


def saving(before: InkUse, after: InkUse, shop: Shop) -> Saving:
    """What mending a fault changes in one copy: ink in grams; ink, powder and their waste in money.

    Below zero where the mended copy needs more. The film stays as it is: the ordered size does not change.
    """
    money = [_ink_money(use, shop)[0] + _powder_money(use, shop)[0] for use in (before, after)]
    return Saving(ink_g=before.grams - after.grams, money=(money[0] - money[1]) * (1 + _waste_share(shop)))


def _parts(ink: float, powder: float, film: float, shop: Shop) -> dict[str, float]:
    return {"ink": ink, "powder": powder, "film": film, "waste": (ink + powder + film) * _waste_share(shop)}


def _ink_money(use: InkUse, shop: Shop) -> list[float]:
    """For one copy: likely, least, most."""
    grams = ink_range(use, shop)
    return [sum(each[way] / 1000 * shop.prices.ink_per_kg(name) for name, each in grams.items()) for way in range(3)]


def _start_money(shop: Shop) -> list[float]:
    """The start of one job: likely, least, most."""
    return [
        sum(each[way] / 1000 * shop.prices.ink_per_kg(name) for name, each in shop.per_job.items()) for way in range(3)
    ]


def _powder_money(use: InkUse, shop: Shop) -> list[float]:
    """For one copy: likely, least, most."""
    return [grams / 1000 * shop.powder.price_per_kg for grams in powder_range(use, shop)]


def _waste_share(shop: Shop) -> float:
    return shop.waste.consumables + shop.waste.reprints
