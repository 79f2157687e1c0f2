"""Files that shops write: ticket, shop, rule; and the quantities in them."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from pathlib import Path

from preflight.colours import read_colour
from preflight.rulebook.changes import with_changes
from preflight.rulebook.files import read_folder, read_rule, rules_folder
from preflight.rulebook.rule import Rule
from preflight.shop import Shop
from preflight.shopfile import load_shop
from preflight.ticket import Order, load_ticket, merge, ticket_beside
from preflight.units import parse_length, parse_mass

from .targets import Target

SHOP = Shop.default()
_TICKETS = (
    b'width = "280mm"\nheight = "11in"\nsize_of = "canvas"\ncopies = 12\ngarments = ["#1d1d1f", "Navy"]\n'
    b'mode = "fine"\n'
    b'reference = "Spring fair, second order"\n',
    b'width = "12in"\n',
    b'\xef\xbb\xbf# a remark\r\ncopies = 2\r\ngarments = []\r\n',
)  # fmt: skip
_SHOPS = (
    b'name = "Fenwater"\ncurrency = "EUR"\ndefault_mode = "fine"\n[film]\nwidth = "330mm"\ngap = "5mm"\n[white]\n'
    b'choke = "0.1mm"\n'
    b'[garments]\nanthracite = "#2b2b2e"\n[modes]\nfine = 12\n[prices]\nfilm_per_m = 3.2\n[machine]\nseconds = 20\n'
    b'[rules.thin-line]\nstop = "0.3mm"\nask = "0.45mm"\n[rules.soft-edge]\nseverity = "note"\n',
    b'[rules.thin-line]\noff = true\n[rules.low-resolution.line-art]\nstop = "150ppi"\nask = "300ppi"\n'
    b'[rules.stray-specks]\nask = 9\n',
    b'[heavy_ink]\nallowed_mm2 = 25\naperture = "0.5mm"\n[laydown.white]\nleast = 9\nlikely = 14\nmost = 20\n'
    b'[letterhead]\n'
    b'lines = ["12 Quay", "Fenwater"]\n[separation]\nintent = "perceptual"\n',
)  # fmt: skip
_WORDS = tuple(
    word.encode()
    for word in (
        "=",
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        '"',
        "'",
        '"""',
        "'''",
        ",",
        ".",
        "#",
        "\n",
        "\r\n",
        "\\",
        "\\u0000",
        "true",
        "false",
        "nan",
        "inf",
        "-inf",
        "1979-05-27",
        "07:32:00",
        "mm",
        "in",
        "mm2",
        "a.b.c",
        "[film]",
        "[rules.",
        "width = ",
        "stop = ",
        '"280mm"',
        '"1,5mm"',
        '"$(x)"',
        "{value}",
        "{",
        "{{",
        "}",
        "\x00",
        "\x1b[31m",
        "\ufeff",
        "\u202e",
        "é",
        "0x",
        "1_0",
        "1e9",
        '"film.printable_width"',
        "limits",
        "severity",
        "garments = [",
        "a." * 60,
        "[" * 200,
        "9" * 5000,
    )
)


@functools.cache
def _rules() -> tuple[Rule, ...]:
    return tuple(read_folder(rules_folder(), SHOP))


def _written(data: bytes, path: Path) -> Path:
    path.write_bytes(data)
    return path


def _ticket(data: bytes, folder: Path) -> object:
    _written(data, folder / "art.ticket.toml")
    beside = ticket_beside(folder / "art.png")
    assert beside is not None
    return merge(Order(), load_ticket(beside), SHOP)


def _shop(data: bytes, folder: Path) -> object:
    shop = load_shop(_written(data, folder / "shop.toml"))
    return with_changes(_rules(), shop)


def _rule(data: bytes, folder: Path) -> object:
    return read_rule(_written(data, folder / "thin-line.toml"), SHOP)


def _quantity(data: bytes, _folder: Path) -> object:
    text = data.decode("utf-8", "replace")
    read_colour(text)
    read = parse_mass if text.endswith("g") else parse_length
    number = read(text)
    assert 0 < number < math.inf
    return number


def targets() -> Iterator[Target]:
    """All of them."""
    rules = tuple(path.read_bytes() for path in sorted(rules_folder().glob("*.toml")))
    yield Target("ticket files", _ticket, _TICKETS, _WORDS)
    yield Target("shop files", _shop, _SHOPS, _WORDS, examples=120)
    yield Target("rule files", _rule, rules, _WORDS, examples=120)
    yield Target("quantities", _quantity, (b"280mm", b"11 in", b"0.5 pt", b"14g", b"#1d1d1f", b"navy"), _WORDS)
