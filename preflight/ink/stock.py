"""What is on the machine, held against the orders that wait: what runs out, and at which order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from typing import TypeAlias

from preflight.ink.bands import SLACK_MM
from preflight.ink.orders import Order
from preflight.ink.packing import Packing, Print, bound_mm, pack, rows_mm
from preflight.model import CHANNELS
from preflight.records import dataclass
from preflight.shop import CLEANED_WITH, Film, Shop

#: A need that exceeds the stock by less than this share is met: the rest is arithmetic.
_SLACK = 1e-9
#: Orders with these answers are not printed, and so take nothing.
_NOT_PRINTED = {"stop": "the customer must change the file", "unchecked": "it could not be checked"}
#: How hard a layout is tried when the question is only whether some orders fit.
_QUICK = 0.05
FILM = "film"
#: Grams of each channel for one order, likely and at the most.
_Need: TypeAlias = dict[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Stock:
    """What is on the machine."""

    grams: Mapping[str, float] = field(default_factory=dict)  #: by channel, and "cleaner"; what nobody told is missing
    film_mm: float | None = None
    taken: str | None = None  #: the day, such as "2026-11-24"


@dataclass(frozen=True, slots=True)
class Resource:
    """One thing that can run out; amounts in g, for the film in mm."""

    name: str  #: a channel, "cleaner" or "film"
    have: float | None  #: None: nobody told
    cleaning: float  #: goes into cleaning before the first order
    need: float  #: of all orders
    most: float  #: the same at the most, with what more the cleaning may take
    runs_out_at: int | None  #: number of the order that it does not reach for, from 1; 0: not even for cleaning
    may_run_out_at: int | None  #: the same if every order takes the most

    @property
    def short(self) -> float:
        """How much is missing for all orders; 0 when there is enough, or nobody knows."""
        return 0.0 if self.have is None or self.runs_out_at is None else self.cleaning + self.need - self.have

    @property
    def short_at_most(self) -> float:
        """The same if every order takes the most."""
        missing = self.have is None or self.may_run_out_at is None
        return 0.0 if missing or self.have is None else self.cleaning + self.most - self.have

    @property
    def unknown(self) -> bool:
        """Whether it is needed and nobody told how much there is."""
        return self.have is None and self.cleaning + self.most > 0


@dataclass(frozen=True, slots=True)
class SetAside:
    """An order that was not counted, and why."""

    order: Order
    why: str


@dataclass(frozen=True, slots=True)
class Outlook:
    """The answer. Orders are numbered from 1 in the order in which they came, those set aside left out."""

    orders: tuple[Order, ...]
    set_aside: tuple[SetAside, ...]
    resources: tuple[Resource, ...]
    fits: tuple[int, ...]  #: numbers of the orders that can be printed, the others passed over
    packing: Packing  #: of all orders
    fitting: Packing  #: of those that fit
    other_grams: bool  #: the reports were priced with other grams per m² than this shop's

    @property
    def short(self) -> bool:
        """Whether anything runs out before all orders are printed."""
        return any(resource.runs_out_at is not None for resource in self.resources)

    @property
    def unknown(self) -> bool:
        """Whether something is needed of which nobody knows how much there is."""
        return any(resource.unknown for resource in self.resources)


def film_left_mm(gross_g: float, core_g: float, film: Film) -> float:
    """Length left on a roll, from its weight: (gross − core) ÷ (grams per m² × width). Arithmetic; mm.

    Raises
    ------
    ValueError
        When the roll weighs less than its core.
    """
    if gross_g < core_g:
        raise ValueError("a roll weighs at least as much as its core")
    return (gross_g - core_g) / (film.g_per_m2 * film.width_mm / 1000) * 1000


def hold(stock: Stock, waiting: Sequence[Order], shop: Shop, cleaning_days: float = 1.0) -> Outlook:
    """Hold the waiting orders against the stock.

    Parameters
    ----------
    stock
        What is on the machine before the cleaning.
    waiting
        In the order in which they will be printed.
    shop
        Grams per m², per job and per day of cleaning; film, gap and room for cut marks.
    cleaning_days
        So many days' cleaning comes first.
    """
    film = replace(shop.film, printable_mm=shop.film.printable_mm - 2 * shop.film.cut_mark_mm)
    orders, aside = _sorted_out(waiting, film)
    prints = [_print(order) for order in orders]
    marks = 2 * film.cut_mark_mm if orders else 0.0
    packing = pack(prints, film)
    needs = [_need(order, shop) for order in orders]
    inks = [_ink(name, stock, shop, needs, cleaning_days) for name in CLEANED_WITH]
    told = [ink for ink in inks if ink.have is not None or ink.cleaning + ink.most > 0]
    length = packing.length_mm + marks
    out = _film_runs_out(prints, film, stock.film_mm, marks, packing)
    roll = Resource(FILM, stock.film_mm, 0.0, length, length, out, out)
    fits = _fitting(prints, needs, told, film, None if out is None else stock.film_mm, marks)
    fitting = packing if len(fits) == len(prints) else _shorter([prints[number - 1] for number in fits], film)
    other = any(_other_grams(order, shop) for order in orders)
    return Outlook(tuple(orders), tuple(aside), (*told, roll), tuple(fits), packing, fitting, other)


def _shorter(prints: Sequence[Print], film: Film) -> Packing:
    """The better of a long search and the quick one: by the quick one these were found to fit."""
    return min(pack(prints, film), pack(prints, film, _QUICK), key=lambda laid: laid.length_mm)


def _sorted_out(waiting: Sequence[Order], film: Film) -> tuple[list[Order], list[SetAside]]:
    orders, aside = [], []
    for order in waiting:
        why = _why_aside(order, film)
        if why is None:
            orders.append(order)
        else:
            aside.append(SetAside(order, why))
    return orders, aside


def _why_aside(order: Order, film: Film) -> str | None:
    if order.verdict in _NOT_PRINTED:
        return _NOT_PRINTED[order.verdict]
    if order.width_mm is None or order.height_mm is None or order.areas_mm2 is None:
        return "its print size is unknown"
    if min(order.width_mm, order.height_mm) > film.printable_mm + SLACK_MM:
        return "it fits across the film neither way round"
    return None


def _print(order: Order) -> Print:
    if order.width_mm is None or order.height_mm is None:  # cannot be: those were set aside
        raise TypeError("a print without a size")
    return Print(order.width_mm, order.height_mm, order.copies)


def _need(order: Order, shop: Shop) -> _Need:
    need: _Need = {}
    for channel in CHANNELS:
        area = (order.areas_mm2 or {}).get(channel, 0.0) * order.copies / 1e6
        laydown, start = shop.laydown[channel], shop.per_job.get(channel)
        likely, most = area * laydown.g_per_m2, area * laydown.high
        need[channel] = (likely + (start.likely if start else 0.0), most + (start.high if start else 0.0))
    return need


def _other_grams(order: Order, shop: Shop) -> bool:
    """Whether the report was priced with other grams per m²: then it was made with another shop file."""
    for channel, grams in (order.grams or {}).items():
        ours = (order.areas_mm2 or {}).get(channel, 0.0) / 1e6 * shop.laydown[channel].g_per_m2
        if abs(ours - grams) > 1e-3 * max(ours, grams) + 1e-9:
            return True
    return False


def _ink(name: str, stock: Stock, shop: Shop, needs: Sequence[_Need], days: float) -> Resource:
    cleaned = shop.cleaning.get(name)
    cleaning = days * cleaned.likely if cleaned else 0.0
    at_most = days * cleaned.high if cleaned else 0.0
    likely = [need.get(name, (0.0, 0.0))[0] for need in needs]
    most = [need.get(name, (0.0, 0.0))[1] for need in needs]
    have = stock.grams.get(name)
    return Resource(
        name, have, cleaning, sum(likely), sum(most) + at_most - cleaning,
        _runs_out(have, cleaning, likely), _runs_out(have, at_most, most),
    )  # fmt: skip


def _runs_out(have: float | None, before: float, needs: Sequence[float]) -> int | None:
    """Number of the first order that the stock does not reach for. What is used up exactly has reached."""
    if have is None:
        return None
    used = 0.0
    for number, need in enumerate([before, *needs]):
        used += need
        if used > have * (1 + _SLACK) + 1e-12:
            return number
    return None


def _film_runs_out(
    prints: Sequence[Print], film: Film, have: float | None, marks: float, packing: Packing
) -> int | None:
    """Number of the first order with which the layout is longer than the film."""
    if have is None or packing.length_mm + marks <= have + SLACK_MM:
        return None
    enough, over = 0, len(prints)
    while over - enough > 1:
        middle = (enough + over) // 2
        enough, over = (middle, over) if _film_reaches(prints[:middle], film, have - marks) else (enough, middle)
    return over


def _film_reaches(prints: Sequence[Print], film: Film, room: float) -> bool:
    """Whether a layout of these is found that is no longer than ``room``; only in doubt is one looked for."""
    if rows_mm(prints, film) <= room + SLACK_MM:
        return True
    if bound_mm(prints, film) > room + SLACK_MM:
        return False
    return pack(prints, film, _QUICK).length_mm <= room + SLACK_MM


def _fitting(
    prints: Sequence[Print],
    needs: Sequence[_Need],
    inks: Sequence[Resource],
    film: Film,
    have_film: float | None,
    marks: float,
) -> list[int]:
    """Numbers of the orders that can be printed: each is taken if all that is known suffices, else passed over.

    ``have_film`` is None when the film is known to be enough for all, or nobody knows how much there is.
    """
    left = {ink.name: ink.have - ink.cleaning for ink in inks if ink.have is not None}
    taken: list[int] = []
    for number, need in enumerate(needs, 1):
        if not _ink_reaches(left, need):
            continue
        chosen = [prints[other - 1] for other in (*taken, number)]
        if have_film is not None and not _film_reaches(chosen, film, have_film - marks):
            continue
        taken.append(number)
        for name, (likely, _) in need.items():
            if name in left:
                left[name] -= likely
    return taken


def _ink_reaches(left: Mapping[str, float], need: _Need) -> bool:
    return all(need.get(name, (0.0, 0.0))[0] <= grams + _SLACK * max(abs(grams), 1.0) for name, grams in left.items())


def refills(outlook: Outlook) -> Iterator[tuple[Resource, float, float]]:
    """What to refill before the night: each resource with what is missing for all orders, likely and at the most."""

    def when(each: Resource) -> float:
        return float("inf") if each.runs_out_at is None else each.runs_out_at

    for resource in sorted(outlook.resources, key=when):
        if resource.runs_out_at is not None or resource.may_run_out_at is not None:
            yield resource, max(resource.short, 0.0), max(resource.short_at_most, 0.0)
