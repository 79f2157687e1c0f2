"""Grams and money, worked out by hand, and what must hold for any order."""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from preflight.ink.cost import price, saving
from preflight.ink.grams import ink_range, powder_range, weigh
from preflight.model import CHANNELS, Box, Coverage, InkUse, PrintSize, Ticket
from preflight.shop import Film, Laydown, Powder, Prices, Shop, Waste

#: Round figures, so that a reader can follow.
SHOP = Shop(
    film=Film(width_mm=330, printable_mm=325, gap_mm=5),
    laydown={
        channel: Laydown(20.0, 10.0, 40.0) if channel == "white" else Laydown(10.0, 5.0, 15.0) for channel in CHANNELS
    },
    powder=Powder(100.0, 50.0, 120.0, price_per_kg=30.0),
    prices=Prices(colour_ink_per_kg=100.0, white_ink_per_kg=50.0, film_per_m=2.0, invented=()),
    waste=Waste(consumables=0.05, reprints=0.025),
    modes={"normal": 6.0, "fine": 12.0},
)
#: 100 cm² cyan, 50 cm² magenta, 200 cm² white on an inked area of 210 cm².
COVERAGE = Coverage(
    solid_mm2={"cyan": 10_000.0, "magenta": 5_000.0, "white": 20_000.0},
    total_percent_max=180.0,
    total_percent_mean=75.0,
    inked_mm2=21_000.0,
)


def size(width_mm: float | None, height_mm: float | None) -> PrintSize:
    return PrintSize((100, 100), Box(0, 0, 100, 100), 300.0, width_mm, height_mm, "ticket")


USE = weigh(COVERAGE, SHOP, "some profile")
A3 = size(297.0, 420.0)


def test_grams_are_area_times_laydown() -> None:
    grams = {name: channel.grams for name, channel in USE.channels.items()}
    # 0.01 m² × 10 g, 0.005 m² × 10 g, 0.02 m² × 20 g
    assert grams == pytest.approx({"cyan": 0.1, "magenta": 0.05, "yellow": 0, "black": 0, "white": 0.4})
    assert USE.grams == pytest.approx(0.55)
    assert USE.channels["cyan"].solid_mm2 == 10_000
    assert (USE.separation, USE.total_percent_max, USE.total_percent_mean) == ("some profile", 180.0, 75.0)
    assert ink_range(USE, SHOP)["white"] == pytest.approx((0.4, 0.2, 0.8))
    assert powder_range(USE, SHOP) == pytest.approx((2.1, 1.05, 2.52))


def test_cost_by_hand() -> None:
    cost = price(USE, A3, Ticket(copies=4), SHOP)
    assert cost is not None
    # one copy: ink 0.15 g × 0.10 + 0.4 g × 0.05 = 0.035; powder 2.1 g × 0.03 = 0.063
    # film: 297 mm fits the 325, 420 does not; 4 rows of 420 and 3 gaps of 5 = 1695 mm × 2 per m = 3.39
    assert cost.film_mm == pytest.approx(1695.0)
    assert (cost.across, cost.turned) == (1, False)
    assert cost.parts == pytest.approx(
        {"ink": 4 * 0.035, "powder": 4 * 0.063, "film": 3.39, "waste": (4 * 0.098 + 3.39) * 0.075}
    )
    assert cost.total == pytest.approx(sum(cost.parts.values()))
    assert cost.total == pytest.approx((4 * 0.098 + 3.39) * 1.075)
    assert cost.per_copy == pytest.approx(cost.total / 4)
    assert cost.minutes == pytest.approx(4 * 6.0)
    assert cost.currency == "EUR"
    # least: ink 0.075 × 0.1 + 0.2 × 0.05 = 0.0175, powder 1.05 × 0.03 = 0.0315
    # most: ink 0.225 × 0.1 + 0.8 × 0.05 = 0.0625, powder 2.52 × 0.03 = 0.0756
    assert cost.interval == pytest.approx(((4 * 0.049 + 3.39) * 1.075, (4 * 0.1381 + 3.39) * 1.075))


def test_minutes_by_mode() -> None:
    for mode, minutes in (("fine", 12.0), ("normal", 6.0), (None, 6.0)):
        cost = price(USE, A3, Ticket(mode=mode), SHOP)
        assert cost is not None
        assert cost.minutes == pytest.approx(minutes)


def test_no_price_without_a_size_or_a_film_wide_enough() -> None:
    assert price(USE, size(None, None), Ticket(), SHOP) is None
    assert price(USE, size(326.0, 326.0), Ticket(), SHOP) is None
    assert price(USE, size(326.0, 300.0), Ticket(), SHOP) is not None


def test_saving_is_of_one_copy_with_its_waste() -> None:
    lighter = weigh(replace(COVERAGE, solid_mm2={"cyan": 10_000.0, "white": 10_000.0}, inked_mm2=11_000.0), SHOP, "p")
    saved = saving(USE, lighter, SHOP)
    # magenta 0.05 g × 0.1, white 0.2 g × 0.05, powder 1 g × 0.03
    assert saved.ink_g == pytest.approx(0.25)
    assert saved.money == pytest.approx((0.005 + 0.010 + 0.030) * 1.075)
    back = saving(lighter, USE, SHOP)
    assert (back.ink_g, back.money) == (-saved.ink_g, -saved.money)
    assert saving(USE, USE, SHOP).money == 0


def test_a_saving_is_what_the_cost_of_one_copy_goes_down_by() -> None:
    lighter = weigh(replace(COVERAGE, solid_mm2={"cyan": 4_000.0, "white": 10_000.0}, inked_mm2=11_000.0), SHOP, "p")
    before, after = price(USE, A3, Ticket(), SHOP), price(lighter, A3, Ticket(), SHOP)
    assert before is not None
    assert after is not None
    assert saving(USE, lighter, SHOP).money == pytest.approx(before.total - after.total)


AREAS = st.floats(0, 1e7)
COVERAGES = st.builds(
    Coverage,
    solid_mm2=st.dictionaries(st.sampled_from(CHANNELS), AREAS),
    total_percent_max=st.floats(0, 400),
    total_percent_mean=st.floats(0, 400),
    inked_mm2=AREAS,
)
RANGES = st.tuples(*[st.floats(0, 100)] * 3).map(sorted).map(lambda each: Laydown(each[1], each[0], each[2]))
MONEY = st.floats(0, 1000)
SHOPS = st.builds(
    Shop,
    laydown=st.fixed_dictionaries(dict.fromkeys(CHANNELS, RANGES)),
    powder=st.builds(lambda grams, money: Powder(*grams, price_per_kg=money), RANGES, MONEY),
    prices=st.builds(Prices, colour_ink_per_kg=MONEY, white_ink_per_kg=MONEY, film_per_m=MONEY),
    waste=st.builds(Waste, consumables=st.floats(0, 1), reprints=st.floats(0, 1)),
)
SIDES = st.floats(1, 10_000)


@given(COVERAGES, SHOPS, SIDES, SIDES, st.integers(1, 100_000))
def test_any_cost_is_a_number_and_lies_in_its_interval(
    coverage: Coverage, shop: Shop, width: float, height: float, copies: int
) -> None:
    use = weigh(coverage, shop, "p")
    cost = price(use, size(width, height), Ticket(copies=copies), shop)
    if cost is None:
        assert min(width, height) > 325
        return
    figures = [*cost.parts.values(), cost.total, cost.per_copy, cost.film_mm, cost.minutes, *cost.interval, use.grams]
    assert all(math.isfinite(figure) and figure >= 0 for figure in figures)
    assert cost.interval[0] <= cost.total <= cost.interval[1]
    assert sum(cost.parts.values()) == pytest.approx(cost.total)


def scaled(use: Coverage, factor: float) -> Coverage:
    return replace(
        use,
        solid_mm2={name: area * factor for name, area in use.solid_mm2.items()},
        inked_mm2=use.inked_mm2 * factor,
    )


@given(COVERAGES, SHOPS)
def test_twice_the_size_is_four_times_the_ink(coverage: Coverage, shop: Shop) -> None:
    once, twice = weigh(coverage, shop, "p"), weigh(scaled(coverage, 4.0), shop, "p")
    assert twice.grams == pytest.approx(4 * once.grams)
    small, large = (price(use, size(100.0 * n, 60.0 * n), Ticket(), shop) for use, n in ((once, 1), (twice, 2)))
    assert small is not None
    assert large is not None
    assert large.parts["ink"] == pytest.approx(4 * small.parts["ink"])
    assert large.parts["powder"] == pytest.approx(4 * small.parts["powder"])
    assert large.minutes == pytest.approx(4 * small.minutes)


@given(COVERAGES, SHOPS, st.floats(1, 325), st.floats(1, 325), st.integers(1, 1000))
def test_turned_by_90_degrees_it_costs_the_same(
    coverage: Coverage, shop: Shop, width: float, height: float, copies: int
) -> None:
    use, ticket = weigh(coverage, shop, "p"), Ticket(copies=copies)
    one, other = price(use, size(width, height), ticket, shop), price(use, size(height, width), ticket, shop)
    assert one is not None
    assert other is not None
    assert one.total == pytest.approx(other.total, rel=1e-6)
    assert one.minutes == pytest.approx(other.minutes)


@given(COVERAGES, SHOPS, st.floats(1, 100), st.floats(1, 100))
def test_a_second_copy_on_the_same_row_takes_no_more_film(
    coverage: Coverage, shop: Shop, width: float, height: float
) -> None:
    assume(abs(width - height) < 1)
    use = weigh(coverage, shop, "p")
    one, two = (price(use, size(width, height), Ticket(copies=copies), shop) for copies in (1, 2))
    assert one is not None
    assert two is not None
    assert two.film_mm == pytest.approx(one.film_mm)
    assert two.parts["ink"] == pytest.approx(2 * one.parts["ink"])
    assert two.per_copy <= one.per_copy * (1 + 1e-9)


def test_use_of_an_empty_sheet_costs_only_film() -> None:
    empty: InkUse = weigh(Coverage({}, 0.0, 0.0, 0.0), SHOP, "p")
    cost = price(empty, A3, Ticket(), SHOP)
    assert cost is not None
    assert cost.parts == pytest.approx({"ink": 0, "powder": 0, "film": 0.84, "waste": 0.84 * 0.075})
    assert cost.interval == pytest.approx((cost.total, cost.total))
