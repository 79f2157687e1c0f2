"""Tickets: from options, from the file beside an artwork, and both together."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.colours import colour_names
from preflight.errors import SettingsError, UnitError, UsageError
from preflight.model import Ticket
from preflight.shop import Shop
from preflight.ticket import Order, TicketFile, garment_rgb, load_ticket, merge, read_options, ticket_beside

SHOP = Shop.default()


def load(folder: Path, text: str) -> TicketFile:
    path = folder / "art.ticket.toml"
    path.write_text(text, encoding="utf-8")
    return load_ticket(path)


FULL = """
width = "280mm"
height = "11in"
size_of = "canvas"
copies = 12
garments = ["#1d1d1f", "Navy", "anthracite"]
mode = "fine"
reference = "Spring fair, second order"
"""


def test_a_full_ticket(tmp_path: Path) -> None:
    assert load(tmp_path, FULL).order == Order(
        width_mm=280.0,
        height_mm=pytest.approx(279.4),
        size_of="canvas",
        copies=12,
        garments=("#1d1d1f", "Navy", "anthracite"),
        mode="fine",
        reference="Spring fair, second order",
    )


def test_an_empty_ticket_says_nothing(tmp_path: Path) -> None:
    assert load(tmp_path, "").order == Order()
    assert merge(Order(), load(tmp_path, ""), SHOP) == Ticket()


# text, line, key, words of the message, words of the next step
SLIPS = [
    ("width = 280", 1, "width", "280 has no unit", '"280mm"'),
    ('width = "12"', 1, "width", "has no unit", "12mm"),
    ('width = "12 parsecs"', 1, "width", "unit this program does not know", "mm, cm, in, pt"),
    ('width = "0,3 m"', 1, "width", "decimal comma", "0.3m"),
    ('width = "1m"', 1, "width", "unit this program does not know", "mm, cm, in, pt"),
    ('width = "1001cm"', 1, "width", "more than it can be", "from 1mm to 10000mm"),
    ('height = "0.5mm"', 1, "height", "less than it can be", "from 1mm"),
    ("copies = 0", 1, "copies", "less than it can be", "from 1 to 100000"),
    ("copies = -3", 1, "copies", "less than it can be", "from 1"),
    ("copies = 100001", 1, "copies", "more than it can be", "100000"),
    ("copies = 2.5", 1, "copies", "not a whole number", "decimal point"),
    ('copies = "12"', 1, "copies", "not a whole number", "without quotes"),
    ('size_of = "art"', 1, "size_of", "not known", "artwork"),
    ('garments = "red"', 1, "garments", "not a list", '["red"]'),
    ("garments = [1]", 1, "garments", "not text", "quotes"),
    ('copies = 1\ngarment = "red"', 2, "garment", "not a setting of this file", "Did you mean garments?"),
    ("garments = [" + '"red",' * 51 + "]", 1, "garments", "51 garments", "at most 50"),
    ('reference = "a\\u001b[31m"', 1, "reference", "invisible character", "one line"),
]


@pytest.mark.parametrize(("text", "line", "key", "what", "step"), SLIPS, ids=[case[0][:24] for case in SLIPS])
def test_a_slip_in_a_ticket(tmp_path: Path, text: str, line: int, key: str, what: str, step: str) -> None:
    with pytest.raises(SettingsError) as caught:
        load(tmp_path, text)
    assert (caught.value.file, caught.value.line, caught.value.key) == (str(tmp_path / "art.ticket.toml"), line, key)
    assert what in caught.value.what
    assert step in caught.value.next_step


@pytest.mark.parametrize(
    ("text", "key", "what", "step"),
    [
        ('\nmode = "fin"', "mode", 'no mode "fin"', "Did you mean fine? Its modes: fine, normal, fast."),
        ('\ngarments = ["red", "navi"]', "garments", '"navi" is not known', "Did you mean navy?"),
    ],
)
def test_what_the_shop_does_not_know(tmp_path: Path, text: str, key: str, what: str, step: str) -> None:
    ticket = load(tmp_path, text)
    with pytest.raises(SettingsError) as caught:
        merge(Order(), ticket, SHOP)
    assert (caught.value.key, caught.value.line) == (key, 2)
    assert what in caught.value.what
    assert step in caught.value.next_step


def test_which_ticket_lies_beside(tmp_path: Path) -> None:
    art = tmp_path / "my.art.png"
    assert ticket_beside(art) is None
    short, long = tmp_path / "my.art.ticket.toml", tmp_path / "my.art.png.ticket.toml"
    short.write_text("", encoding="utf-8")
    assert ticket_beside(art) == short
    assert ticket_beside(tmp_path / "other.png") is None
    long.write_text("", encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        ticket_beside(art)
    assert caught.value.file == str(short)
    assert long.name in str(caught.value)
    short.unlink()
    assert ticket_beside(str(art)) == long


def test_a_file_without_an_ending_has_one_name_for_its_ticket(tmp_path: Path) -> None:
    (tmp_path / "art.ticket.toml").write_text("", encoding="utf-8")
    assert ticket_beside(tmp_path / "art") == tmp_path / "art.ticket.toml"
    assert ticket_beside(Path()) is None


def test_an_option_wins_over_the_ticket(tmp_path: Path) -> None:
    ticket = load(tmp_path, FULL)
    options = read_options(width="10cm", size_of="artwork", copies=3, garments=["black"], mode="fast")
    merged = merge(options, ticket, SHOP)
    assert merged == Ticket(100.0, None, "artwork", 3, ("black",), "fast", "Spring fair, second order")


def test_width_and_height_are_one_size(tmp_path: Path) -> None:
    ticket = load(tmp_path, FULL)
    assert (merge(Order(height_mm=50.0), ticket, SHOP).width_mm) is None
    assert (merge(Order(copies=2), ticket, SHOP).width_mm) == 280.0


@pytest.mark.parametrize(
    ("options", "what", "step"),
    [
        ({"width": "11m"}, "unit this program does not know", "mm, cm, in, pt"),
        ({"width": "1001cm"}, "10010 mm", "from 1mm to 10000mm"),
        ({"height": "1pt"}, "0.353 mm", "check the unit"),
        ({"copies": 0}, "--copies 0 cannot be printed", "from 1 to 100000"),
        ({"copies": 100_001}, "--copies 100001", "from 1 to 100000"),
        ({"size_of": "all"}, "--size-of all is not known", "artwork, canvas"),
    ],
)
def test_a_slip_in_an_option(options: dict[str, object], what: str, step: str) -> None:
    with pytest.raises(UsageError) as caught:
        read_options(**options)  # type: ignore[arg-type]
    assert what in caught.value.what
    assert step in caught.value.next_step


@pytest.mark.parametrize(("text", "rgb"), [
    ("#1d1d1f", (29, 29, 31)),
    ("#ABC", (170, 187, 204)),  # CSS Color 4, 5.2: #abc is #aabbcc
    ("RebeccaPurple", (102, 51, 153)),  # CSS Color 4, 6.1
    (" navy ", (0, 0, 128)),
    ("Anthracite", (45, 45, 48)),  # the shop's own
])  # fmt: skip
def test_garment_colours(text: str, rgb: tuple[int, int, int]) -> None:
    assert garment_rgb(text, SHOP) == rgb


@pytest.mark.parametrize(
    "text", ["", "#12", "#12345", "#1234567", "#ggg", "rgb(1,2,3)", "hsl(0,0%,0%)", "navyy blue", "٣"]
)
def test_no_garment_colours(text: str) -> None:
    with pytest.raises(UsageError, match="is not known"):
        garment_rgb(text, SHOP)
    with pytest.raises(UsageError, match="is not known"):
        merge(Order(garments=(text,)), None, SHOP)


def test_the_shops_own_name_goes_before_css() -> None:
    assert garment_rgb("black", Shop(garments={"black": "#1a1a1a"})) == (26, 26, 26)


def test_all_names_of_css_are_known() -> None:
    assert len(colour_names()) == 148  # CSS Color Module Level 4, 6.1
    assert all(garment_rgb(name, SHOP) for name in colour_names())


def test_a_mode_that_the_shop_does_not_have() -> None:
    with pytest.raises(UsageError, match='no mode "glossy"'):
        merge(Order(mode="glossy"), None, SHOP)


@given(st.text(max_size=12))
def test_any_width_is_read_or_answered(text: str) -> None:
    answer = answered(text)
    if isinstance(answer, UsageError):
        assert isinstance(answer, UnitError) or "no print has that size" in answer.what
    else:
        assert answer.width_mm is not None
        assert 1 <= answer.width_mm <= 10_000


def answered(width: str) -> Order | UsageError:
    try:
        return read_options(width=width)
    except UsageError as error:
        return error
