"""The ticket: what was ordered, from options and from the ticket file that lies beside an artwork."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from preflight.colours import RGB, colour_names, read_colour
from preflight.errors import PreflightError, SettingsError, UsageError
from preflight.model import Ticket
from preflight.records import dataclass
from preflight.shop import Shop
from preflight.tomlfile import Section, TomlFile, load_toml
from preflight.tomlslips import meant, safe
from preflight.units import MM_PER_INCH, PRINT_UNITS, parse_length, show_number

SIZES_OF = ("artwork", "canvas")
#: The sizes of an order that can be meant: 1 mm to 10 m. Wider than the film is a finding, not a slip.
SMALLEST_MM, LARGEST_MM = 1.0, 10_000.0
MOST_COPIES = 100_000
MOST_GARMENTS = 50


@dataclass(frozen=True, slots=True)
class Order:
    """What one source says of an order, None or empty where it is silent."""

    width_mm: float | None = None
    height_mm: float | None = None
    size_of: str | None = None
    copies: int | None = None
    garments: tuple[str, ...] = ()
    mode: str | None = None
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class TicketFile:
    """A ticket file that was read."""

    order: Order
    source: TomlFile


def ticket_beside(artwork: str | os.PathLike[str]) -> Path | None:
    """The ticket of ``art.png``: ``art.ticket.toml`` or ``art.png.ticket.toml`` in the same folder, or None.

    Raises
    ------
    SettingsError
        When there are both.
    """
    path = Path(artwork)
    if not path.name:
        return None
    names = dict.fromkeys((f"{path.stem}.ticket.toml", f"{path.name}.ticket.toml"))
    # A link that leads nowhere is a ticket too: one that cannot be read.
    found = [path.with_name(name) for name in names if os.path.lexists(path.with_name(name))]
    if len(found) > 1:
        step = f"Keep one of the two and delete {found[1].name}, or the other way round."
        raise SettingsError(f"{path.name} has a second ticket, {found[1].name}", step, file=str(found[0]))
    return found[0] if found else None


def load_ticket(path: str | os.PathLike[str]) -> TicketFile:
    """Read a ticket file.

    Raises
    ------
    SettingsError
        For the first slip: file, line, key, what is wrong and what to write instead.
    """
    file = load_toml(path)
    top = file.top
    order = Order(
        width_mm=_size(top, "width"),
        height_mm=_size(top, "height"),
        size_of=top.take_choice("size_of", SIZES_OF, None),
        copies=top.take_whole("copies", None, low=1, high=MOST_COPIES),
        garments=_garments(top),
        mode=top.take_text("mode", None, longest=60),
        reference=top.take_text("reference", None, longest=200),
    )
    top.finish()
    return TicketFile(order, file)


def read_options(
    *,
    width: str | None = None,
    height: str | None = None,
    size_of: str | None = None,
    copies: int | None = None,
    garments: Iterable[str] = (),
    mode: str | None = None,
) -> Order:
    """Read what the command's options say of the order; lengths with their units.

    Raises
    ------
    UsageError
        When an option cannot be meant; UnitError for a length that cannot be read.
    """
    if size_of is not None and size_of not in SIZES_OF:
        raise UsageError(f"--size-of {size_of} is not known", f"Choose one of {', '.join(SIZES_OF)}.")
    if copies is not None and not 1 <= copies <= MOST_COPIES:
        raise UsageError(f"--copies {copies} cannot be printed", f"Write a whole number from 1 to {MOST_COPIES}.")
    return Order(
        width_mm=None if width is None else _option_size("--width", width),
        height_mm=None if height is None else _option_size("--height", height),
        size_of=size_of,
        copies=copies,
        garments=tuple(garments),
        mode=mode,
    )


def merge(options: Order, ticket: TicketFile | None, shop: Shop) -> Ticket:
    """What was ordered: an option wins over the ticket.

    Width and height are one thing, the size: one of them as an option replaces both of the ticket.

    Raises
    ------
    UsageError
        When the shop knows no such mode or garment colour; a SettingsError when the ticket file says so.
    """
    order = Order() if ticket is None else ticket.order
    sized = options if (options.width_mm, options.height_mm) != (None, None) else order
    _check_mode(options.mode, shop, None)
    _check_garments(options.garments, shop, None)
    if ticket is not None:
        _check_mode(order.mode, shop, ticket.source)
        _check_garments(order.garments, shop, ticket.source)
    return Ticket(
        width_mm=sized.width_mm,
        height_mm=sized.height_mm,
        size_of=options.size_of or order.size_of or SIZES_OF[0],
        copies=options.copies or order.copies or 1,
        garments=options.garments or order.garments,
        mode=options.mode or order.mode,
        reference=options.reference or order.reference,
    )


def garment_rgb(name: str, shop: Shop) -> RGB:
    """sRGB, 0…255 each, of a garment colour: the shop's own name, a CSS name, ``#1d1d1f`` or ``#abc``.

    Raises
    ------
    UsageError
        When it is none of these.
    """
    folded = " ".join(name.lower().split())
    rgb = read_colour(shop.garments.get(folded, folded))
    if rgb is None:
        near = meant(folded, [*shop.garments, *colour_names()])
        step = f'{near}Write a CSS colour name, one such as "#1d1d1f", or add yours to [garments] of the shop file.'
        raise UsageError(f'the garment colour "{safe(name, 60)}" is not known', step)
    return rgb


def _size(top: Section, name: str) -> float | None:
    return top.take_length(name, None, low=SMALLEST_MM, high=LARGEST_MM, units=PRINT_UNITS)


def _garments(top: Section) -> tuple[str, ...]:
    garments = top.take_texts("garments", (), longest=60)
    if len(garments) > MOST_GARMENTS:
        raise top.slip("garments", f"{len(garments)} garments are listed", f"List at most {MOST_GARMENTS}.")
    return tuple(dict.fromkeys(garments))


def _option_size(option: str, text: str) -> float:
    length = parse_length(text, what=option)
    if not SMALLEST_MM <= length <= LARGEST_MM:
        inches = show_number(length / MM_PER_INCH)
        step = f"Write a size from {SMALLEST_MM:g}mm to {LARGEST_MM:g}mm, and check the unit."
        raise UsageError(f"{option} {text} is {show_number(length)} mm ({inches} in): no print has that size", step)
    return length


def _check_mode(mode: str | None, shop: Shop, source: TomlFile | None) -> None:
    if mode is None or mode in shop.modes:
        return
    step = f"{meant(mode, shop.modes)}Its modes: {', '.join(shop.modes)}."
    error = UsageError(f'the shop has no mode "{safe(mode, 60)}"', step)
    raise _of_ticket(error, source, "mode") from None


def _check_garments(garments: tuple[str, ...], shop: Shop, source: TomlFile | None) -> None:
    for garment in garments:
        try:
            garment_rgb(garment, shop)
        except UsageError as error:
            raise _of_ticket(error, source, "garments") from None


def _of_ticket(error: UsageError, source: TomlFile | None, key: str) -> PreflightError:
    return error if source is None else source.slip(key, error.what, error.next_step)
