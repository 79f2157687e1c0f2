"""Orders against the stock, made so that the answer is known: what runs out where, the exact tie, what still fits."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.errors import PreflightError, SettingsError, UsageError
from preflight.ink.orders import Order, read_orders
from preflight.ink.stock import FILM, Outlook, Stock, film_left_mm, hold, refills
from preflight.ink.stock_file import read_stock, update_stock, write_starter
from preflight.model import CHANNELS
from preflight.shop import Film, Grams, Laydown, Shop

#: 10 g on a square metre, at most 15, so that a reader can follow.
LAYDOWN = {channel: Laydown(10.0, 5.0, 15.0) for channel in CHANNELS}
SHOP = Shop(film=Film(width_mm=330, printable_mm=325, gap_mm=5, g_per_m2=123), laydown=LAYDOWN)
PLENTY = Stock(dict.fromkeys((*CHANNELS, "cleaner"), 1e4), 100_000.0)


def order(number: int, copies: int = 1, verdict: str = "ready", size: float = 100.0, **areas_m2: float) -> Order:
    areas = {channel: areas_m2.get(channel, 0.0) * 1e6 for channel in CHANNELS}
    grams = {channel: area / 1e6 * 10 for channel, area in areas.items()}
    return Order("r.json", number, f"{number}.png", 1, verdict, copies, "", size, size, areas, grams, "film A")


def resource(found: Outlook, name: str) -> tuple[int | None, int | None]:
    (one,) = (each for each in found.resources if each.name == name)
    return one.runs_out_at, one.may_run_out_at


def test_the_order_at_which_ink_runs_out() -> None:
    waiting = [order(1, cyan=0.1), order(2, 3, cyan=0.1, white=0.2), order(3, cyan=0.1), order(4, cyan=0.05)]
    # cyan 1 + 3 + 1 + 0.5 g, at most half as much again; white 6 g
    found = hold(Stock({**PLENTY.grams, "cyan": 4.9}, 1e5), waiting, SHOP)
    assert resource(found, "cyan") == (3, 2)
    assert resource(found, "white") == (None, None)
    assert found.fits == (1, 2, 4)  # 1 + 3 + 0.5 = 4.5 g: the third is passed over
    assert found.short
    ((one, likely, most),) = refills(found)
    assert (one.name, likely, most) == ("cyan", pytest.approx(0.6), pytest.approx(8.25 - 4.9))


def test_the_exact_tie_is_enough() -> None:
    waiting = [order(number, cyan=0.1) for number in range(1, 4)]
    for grams, at in ((3.0, None), (2.9999, 3), (2.0, 3), (1.9999, 2), (0.0, 1)):
        found = hold(Stock({**PLENTY.grams, "cyan": grams}, 1e5), waiting, SHOP)
        assert resource(found, "cyan")[0] == at, grams
        assert len(found.fits) == (3 if at is None else at - 1)
    # thirty times 0.1 is not 3 in binary: that is arithmetic, not ink
    waiting = [order(number, cyan=0.01) for number in range(1, 31)]
    assert resource(hold(Stock({**PLENTY.grams, "cyan": 3.0}, 1e5), waiting, SHOP), "cyan")[0] is None


def test_the_order_at_which_the_film_runs_out_and_its_tie() -> None:
    # each order is a row of its own: 300 mm wide, 300 long, a gap of 5 between
    waiting = [order(number, size=300.0) for number in range(1, 6)]
    for film, at in ((5 * 300 + 4 * 5, None), (5 * 300 + 4 * 5 - 0.01, 5), (300.0, 2), (299.9, 1), (910.0, 4)):
        found = hold(Stock(PLENTY.grams, film), waiting, SHOP)
        assert resource(found, FILM) == (at, at), film
        assert len(found.fits) == (5 if at is None else at - 1)


def test_a_later_order_may_still_fit_on_the_film() -> None:
    waiting = [order(1, size=300.0), order(2, 4, size=300.0), order(3, size=90.0)]
    found = hold(Stock(PLENTY.grams, 500.0), waiting, SHOP)
    assert resource(found, FILM)[0] == 2
    assert found.fits == (1, 3)
    assert found.fitting.length_mm <= 500
    assert {each.order for each in found.fitting.placed} == {0, 1}


def test_a_night_that_is_too_long_for_the_roll() -> None:
    chance = random.Random(2)
    waiting = [
        replace(order(n, chance.choice([1, 2, 5]), cyan=0.01), width_mm=chance.uniform(60, 300), height_mm=200.0)
        for n in range(1, 26)
    ]
    found = hold(Stock(PLENTY.grams, 6000.0), waiting, SHOP)
    at = resource(found, FILM)[0]
    assert at is not None
    assert set(range(1, at)) <= set(found.fits)
    assert found.fitting.length_mm <= 6000 < found.packing.length_mm
    assert len({each.order for each in found.fitting.placed}) == len(found.fits)


def test_cut_marks_take_their_room() -> None:
    marked = Shop(film=Film(width_mm=330, printable_mm=325, gap_mm=5, cut_mark_mm=4), laydown=LAYDOWN)
    waiting = [order(1, size=300.0)]
    assert resource(hold(Stock(PLENTY.grams, 308.0), waiting, marked), FILM)[0] is None
    assert resource(hold(Stock(PLENTY.grams, 307.9), waiting, marked), FILM)[0] == 1
    found = hold(PLENTY, [order(1, size=320.0)], marked)
    assert [each.why for each in found.set_aside] == ["it fits across the film neither way round"]


def test_cleaning_comes_first_and_each_job_takes_its_start() -> None:
    cleaning = {"cyan": Grams(0.5, 0.4, 0.6), "cleaner": Grams(20, 15, 30)}
    shop = Shop(laydown=LAYDOWN, per_job={"cyan": Grams(0.2, 0.1, 0.3)}, cleaning=cleaning)
    waiting = [order(1, cyan=0.1), order(2, cyan=0.1)]
    for grams, days, at in ((2.9, 1, None), (2.89, 1, 2), (2.4, 0, None), (3.4, 2, None), (0.9, 2, 0)):
        found = hold(Stock({**PLENTY.grams, "cyan": grams}, 1e5), waiting, shop, days)
        assert resource(found, "cyan")[0] == at, (grams, days)
    found = hold(Stock({**PLENTY.grams, "cleaner": 25.0}, 1e5), waiting, shop)
    assert resource(found, "cleaner") == (None, 0)


def test_what_nobody_told_is_not_taken_for_enough() -> None:
    found = hold(Stock({"cyan": 10.0}, None), [order(1, cyan=0.1, white=0.1)], SHOP)
    unknown = [each.name for each in found.resources if each.unknown]
    assert unknown == ["white", "film"]
    assert (found.unknown, found.short) == (True, False)


def test_what_is_not_printed_is_set_aside_with_the_reason() -> None:
    lost = Order("r.json", 5, "5.png", 1, "ask", 1, "", None, None, None, None, "")
    waiting = [order(1, verdict="stop"), order(2, verdict="unchecked"), order(3, size=400.0), order(4, cyan=0.1), lost]
    found = hold(PLENTY, waiting, SHOP)
    assert [each.file for each in found.orders] == ["4.png"]
    told = [each.why for each in found.set_aside]
    assert told[0] == "the customer must change the file"
    assert told[1:] == [
        "it could not be checked",
        "it fits across the film neither way round",
        "its print size is unknown",
    ]


def test_reports_of_another_shop_file_are_noticed() -> None:
    assert not hold(PLENTY, [order(1, cyan=0.1)], SHOP).other_grams
    assert hold(PLENTY, [order(1, cyan=0.1)], Shop()).other_grams


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=8), st.floats(0, 40))
def test_an_order_runs_out_exactly_where_the_sum_passes_the_stock(areas: list[float], grams: float) -> None:
    waiting = [order(number, cyan=area, size=20.0) for number, area in enumerate(areas, 1)]
    found = hold(Stock({**PLENTY.grams, "cyan": grams}, 1e5), waiting, SHOP)
    at = resource(found, "cyan")[0]
    if at is None:
        assert 10 * sum(areas) <= grams * (1 + 1e-8) + 1e-9
    else:
        assert 10 * sum(areas[:at]) > grams
        assert 10 * sum(areas[: at - 1]) <= grams * (1 + 1e-8) + 1e-9
    assert sum(10 * areas[number - 1] for number in found.fits) <= grams + 1e-6


# ---- the stock's file ------------------------------------------------------------------------------------------------


def test_metres_from_the_weight_of_the_roll() -> None:
    # (2860 − 420) ÷ (123 × 0.33) = 60.11 m
    assert film_left_mm(2860, 420, SHOP.film) == pytest.approx((2860 - 420) / (123 * 0.33) * 1000)
    assert film_left_mm(420, 420, SHOP.film) == 0
    with pytest.raises(ValueError, match="at least as much"):
        film_left_mm(400, 420, SHOP.film)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("s.toml", 'cyan = "480g"\nwhite = "0.82kg"\nroll = "2860g"\ncore = "420g"\ntaken = "2026-11-24"\n'),
        ("s.toml", 'cyan_g = 480\nwhite_g = 820.0\nroll_g = 2860\ncore_g = 420\ntaken = "2026-11-24"\n'),
        ("s.json", '{"cyan": "480g", "white_g": 820, "roll": "2860g", "core_g": 420, "taken": "2026-11-24"}'),
        ("s.csv", "what,amount\ncyan,480g\nwhite,0.82kg\nroll_g,2860\ncore,420g\ntaken,2026-11-24\n"),
        ("s.csv", "cyan;480g\nwhite;0,82kg\nroll_g;2860,0\n\ncore;420g\ntaken;2026-11-24\n"),
    ],
)
def test_the_same_stock_in_every_format(tmp_path: Path, name: str, text: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    stock = read_stock(path, SHOP.film)
    assert stock.grams == {"cyan": 480.0, "white": 820.0}
    assert stock.film_mm == pytest.approx(60_113.3, rel=1e-5)
    assert stock.taken == "2026-11-24"


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("s.toml", "cyan = 480", "480 has no unit"),
        ("s.toml", 'cyan = "480"', "has no unit"),
        ("s.toml", 'cyna = "480g"', "Did you mean cyan?"),
        ("s.toml", 'cyan = "480g"\ncyan_g = 480', "both say how much"),
        ("s.toml", 'roll = "2860g"', "nobody knows what its core weighs"),
        ("s.toml", 'roll = "400g"\ncore = "420g"', "weighs less than its core"),
        ("s.toml", 'roll = "2860g"\ncore = "420g"\nfilm = "60m"', "as weight and as length"),
        ("s.toml", 'film = "60"', "has no unit"),
        ("s.json", "[1]", "this is no stock"),
        ("s.json", "{", "this is no JSON"),
        ("s.csv", "cyan,480g\ncyan,1g\n", "line 2: 'cyan' stands twice"),
        ("s.csv", "cyan_g,many9\n", "is not a number"),
        ("none.toml", None, "there is no such file"),
    ],
)
def test_every_slip_of_the_stock_is_told(tmp_path: Path, name: str, text: str | None, said: str) -> None:
    path = tmp_path / name
    if text is not None:
        path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError) as slip:
        read_stock(path, SHOP.film)
    assert said in str(slip.value)
    assert str(path) in str(slip.value)


def test_options_change_the_file_and_keep_its_comments(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    write_starter(path)
    starter = path.read_text(encoding="utf-8")
    assert read_stock(path, SHOP.film) == Stock()
    update_stock(path, {"cyan": "480g", "film": "60m"}, SHOP.film)
    assert path.read_text(encoding="utf-8").startswith(starter)
    assert read_stock(path, SHOP.film).film_mm == 60_000
    update_stock(path, {"roll": "2860g", "core": "420g", "cyan": "470g"}, SHOP.film)
    stock = read_stock(path, SHOP.film)
    assert (stock.grams, round(stock.film_mm or 0)) == ({"cyan": 470.0}, 60_113)
    before = path.read_bytes()
    for amounts in ({"cyan": "480"}, {"film": "60"}, {"roll": "400g"}):
        with pytest.raises(PreflightError):
            update_stock(path, amounts, SHOP.film)
        assert path.read_bytes() == before
    with pytest.raises(UsageError, match="belong to another program"):
        update_stock(tmp_path / "stock.csv", {"cyan": "1g"}, SHOP.film)
    assert [each.name for each in tmp_path.iterdir()] == ["stock.toml"]


# ---- reports ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"no json", "this is no JSON"),
        (b"[]", "this is no report"),
        (b'{"artworks": []}', "of another format"),
        (b'{"schema": 1, "artworks": [{}]}', "not as preflight writes it"),
        (b'{"schema": 1, "artworks": 5}', "not as preflight writes it"),
        (None, "there is no such file"),
    ],
)
def test_what_is_no_report_is_told(tmp_path: Path, raw: bytes | None, said: str) -> None:
    path = tmp_path / "job.json"
    if raw is not None:
        path.write_bytes(raw)
    with pytest.raises(UsageError) as slip:
        read_orders(path)
    assert said in str(slip.value)
    assert str(path) in str(slip.value)


def test_a_report_that_a_shell_wrote_as_utf16_is_read(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text(json.dumps({"schema": 1, "artworks": []}), encoding="utf-16")
    assert read_orders(path) == ()
