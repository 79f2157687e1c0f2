"""Orders on the film: nothing overlaps, straight cuts part it, never longer than rows, near the bound."""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight.ink.packing import Packing, Placed, Print, bound_mm, pack, rows_mm
from preflight.shop import Film

FILM = Film(width_mm=330.0, printable_mm=325.0, gap_mm=5.0)
_NEAR = 1e-3


def check(orders: Sequence[Print], found: Packing, film: Film) -> None:
    """Every copy is there in its size, inside the film, and a gap from the others; straight cuts part them all."""
    assert Counter(each.order for each in found.placed) == Counter(dict(enumerate(o.copies for o in orders)))
    for each in found.placed:
        order = orders[each.order]
        size = (order.height_mm, order.width_mm) if each.turned else (order.width_mm, order.height_mm)
        assert (each.width_mm, each.height_mm) == pytest.approx(size)
        assert each.x_mm >= -_NEAR
        assert each.y_mm >= -_NEAR
        assert each.x_mm + each.width_mm <= film.printable_mm + _NEAR
        assert each.y_mm + each.height_mm <= found.length_mm + _NEAR
    assert parts(list(found.placed), film.gap_mm, across=True), "no straight cut parts these"
    assert found.length_mm <= rows_mm(orders, film) + _NEAR
    assert found.length_mm >= bound_mm(orders, film) - _NEAR
    assert found.rows_mm == rows_mm(orders, film)


def parts(placed: list[Placed], gap: float, across: bool) -> bool:
    """Whether cuts from edge to edge, each a gap wide, part these into single copies."""
    if len(placed) < 2:
        return True
    for first in (across, not across):
        groups = parted(placed, gap, first)
        if len(groups) > 1:
            return all(parts(group, gap, not first) for group in groups)
    return False


def parted(placed: list[Placed], gap: float, across: bool) -> list[list[Placed]]:
    def ends(each: Placed) -> tuple[float, float]:
        return (each.y_mm, each.y_mm + each.height_mm) if across else (each.x_mm, each.x_mm + each.width_mm)

    groups: list[list[Placed]] = []
    end = -1e9
    for each in sorted(placed, key=ends):
        low, high = ends(each)
        if not groups or low >= end + gap - _NEAR:
            groups.append([])
        groups[-1].append(each)
        end = max(end, high)
    return groups


PRINTS = st.builds(Print, st.floats(5, 320), st.floats(5, 400), st.integers(1, 6))


@settings(max_examples=60, deadline=None)
@given(st.lists(PRINTS, min_size=1, max_size=12), st.sampled_from([0.0, 2.0, 5.0]))
def test_any_orders_lie_well(orders: list[Print], gap: float) -> None:
    film = Film(width_mm=330, printable_mm=325, gap_mm=gap)
    check(orders, pack(orders, film, 0.02), film)


def test_by_hand() -> None:
    # 3 × 105 + 2 × 5 = 325: two rows of three; nothing is lost but the gaps
    found = pack([Print(105, 105, 6)], FILM)
    assert found.length_mm == pytest.approx(215)
    assert found.bound_mm == pytest.approx(215)
    assert found.share == pytest.approx(6 * 105**2 / (215 * 325))
    # 200 × 300 and 120 × 300 side by side: 200 + 5 + 120 = 325
    assert pack([Print(200, 300, 1), Print(120, 300, 1)], FILM).length_mm == pytest.approx(300)
    # two that cannot lie side by side: each along with its shorter side
    found = pack([Print(300, 170, 2)], FILM)
    assert (found.length_mm, found.bound_mm) == (pytest.approx(345), pytest.approx(345))
    assert pack([], FILM).length_mm == 0


def test_what_fits_neither_way_round_is_refused() -> None:
    with pytest.raises(ValueError, match="neither way round"):
        pack([Print(326, 326, 1)], FILM)


def test_the_same_orders_lie_the_same_each_time() -> None:
    orders = [Print(60 + 7 * n, 40 + 11 * n, 1 + n % 3) for n in range(12)]
    assert pack(orders, FILM, 0.1) == pack(orders, FILM, 0.1)


def mixed(chance: random.Random, low: float, high: float) -> list[Print]:
    """50 orders of one print, every size in the range equally likely."""
    return [Print(chance.uniform(low, high), chance.uniform(low, high), 1) for _ in range(50)]


@pytest.mark.parametrize(("low", "high"), [(40, 160), (40, 280)])
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_fifty_mixed_orders_come_within_a_tenth_of_the_bound(low: float, high: float, seed: int) -> None:
    orders = mixed(random.Random(seed), low, high)
    began = time.process_time()
    found = pack(orders, FILM)
    assert time.process_time() - began < 6
    check(orders, found, FILM)
    assert found.over_bound < 0.10
    assert found.length_mm < 0.85 * found.rows_mm


def typical(chance: random.Random) -> list[Print]:
    """50 orders as they come: chest, sleeve, neck, full front, back, cap and square, in small runs."""
    sizes = [(90, 90), (100, 60), (70, 20), (280, 350), (250, 300), (200, 260), (120, 120)]
    orders = []
    for _ in range(50):
        width, height = chance.choice(sizes)
        copies = chance.choice([1, 1, 2, 3, 5, 8, 12])
        orders.append(Print(min(width * chance.uniform(0.8, 1.15), 320), height * chance.uniform(0.8, 1.15), copies))
    return orders


def test_fifty_typical_orders_come_near_the_bound() -> None:
    """Large fronts leave a strip beside them that little fits: what nobody can use counts for the bound."""
    over, over_areas = [], []
    for seed in range(10):
        orders = typical(random.Random(100 + seed))
        found = pack(orders, FILM, 0.5)
        check(orders, found, FILM)
        over.append(found.over_bound)
        over_areas.append(found.length_mm / areas_mm(orders, FILM) - 1)
    assert sum(over) / len(over) < 0.07
    assert max(over) < 0.10
    assert sum(over_areas) / len(over_areas) < 0.10
    assert max(over_areas) < 0.16


def areas_mm(orders: Sequence[Print], film: Film) -> float:
    """The bound by the areas alone."""
    gap = film.gap_mm
    area = sum((one.width_mm + gap) * (one.height_mm + gap) * one.copies for one in orders)
    return area / (film.printable_mm + gap) - gap


def test_what_lies_beside_wide_prints_counts_for_the_bound() -> None:
    # 300 + 5 of 330: the strip of 25 takes nothing, and two cannot lie side by side
    wide = Print(300, 310, 4)
    assert bound_mm([wide], FILM) == pytest.approx(4 * 305 - 5)
    # the others have 105 for their shorter side, so those strips stay empty: 4 × 305 × 315 and 25 × 315 beside each
    other = Print(100, 100, 30)
    empty = 4 * 25 * 305  # laid the other way round, 310 across, the strip would be 15 × 305: the smaller one counts
    smaller = 4 * 15 * 305
    area = 4 * 305 * 315 + 30 * 105 * 105
    assert smaller < empty
    assert bound_mm([wide, other], FILM) == pytest.approx((area + smaller) / 330 - 5)
    # labels of 15 × 40 with their gap fill what they can of them
    label = Print(10, 35, 6)
    assert bound_mm([wide, other, label], FILM) == pytest.approx((area + smaller) / 330 - 5)
    many = Print(10, 35, 100)
    assert bound_mm([wide, other, many], FILM) == pytest.approx((area + 100 * 15 * 40) / 330 - 5)
    # one narrower than the strip by nothing: what fits exactly may lie there
    assert bound_mm([wide, Print(10, 300, 4)], FILM) == pytest.approx(4 * 305 - 5)


def test_the_bound_is_quick_for_many_orders() -> None:
    chance = random.Random(3)
    orders = [Print(chance.uniform(20, 320), chance.uniform(20, 400), 2) for _ in range(2000)]
    began = time.process_time()
    assert bound_mm(orders, FILM) >= areas_mm(orders, FILM)
    assert time.process_time() - began < 2


def test_a_hundred_thousand_copies_are_laid_in_seconds() -> None:
    began = time.process_time()
    found = pack([Print(90, 90, 100_000), Print(200, 260, 3)], FILM)
    assert time.process_time() - began < 10
    assert found.length_mm <= found.rows_mm
    assert len(found.placed) == 100_003
