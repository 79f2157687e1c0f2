"""What a fix saves is the difference to the same art drawn without the fault."""

import numpy as np
import pytest

from preflight.model import Coverage
from preflight.shop import RuleChange, Shop
from tests.measure.pictures import (
    INK,
    Picture,
    blurred,
    box,
    cover,
    disc,
    dots,
    examined,
    film,
    less,
    over,
    plain,
    px,
    solid,
)

SIDE = 600
DISC = cover(disc(300.3, 300.6, 200), SIDE, SIDE)
CHANNELS = ("cyan", "magenta", "yellow", "black", "white")


def mended(art: np.ndarray | Picture, rule: str, shop: Shop | None = None) -> Coverage:
    return examined(art, shop=shop).coverage_fixed[rule]


def clean(art: np.ndarray | Picture) -> Coverage:
    coverage = examined(art).coverage
    assert coverage is not None
    return coverage


def assert_same(found: Coverage, expected: Coverage, share: float = 0.005) -> None:
    """All channels within a share of the whole."""
    whole = sum(expected.solid_mm2.values())
    for name in CHANNELS:
        assert found.solid_mm2[name] == pytest.approx(expected.solid_mm2[name], rel=share, abs=share * whole / 5)
    assert found.inked_mm2 == pytest.approx(expected.inked_mm2, rel=share)


@pytest.mark.parametrize("ground", [(255, 255, 255), (240, 225, 190), (0, 0, 0)])
@pytest.mark.parametrize("colour", [INK, (230, 140, 20)])
def test_without_its_box_the_art_uses_what_it_uses_on_film(
    ground: tuple[int, int, int], colour: tuple[int, int, int]
) -> None:
    boxed = solid(over(plain(ground, SIDE, SIDE), DISC, colour))
    assert_same(mended(boxed, "background-left"), clean(film(DISC, colour)))


def test_without_its_box_on_a_larger_film() -> None:
    ring = cover(less(disc(300.3, 300.6, 220), disc(300.3, 300.6, 120)), SIDE, SIDE)
    sheet = np.zeros((900, 900, 4), np.uint8)
    sheet[150:750, 150:750] = film(ring)
    on_film = clean(sheet)
    sheet[150:750, 150:750] = solid(over(plain((255, 255, 255), SIDE, SIDE), ring, INK))
    found = mended(sheet, "background-left")
    # white inside the ring does not hang together with the box's rim: it stays
    inner = np.pi * (120 - px(0.18)) ** 2 / px(1) ** 2
    assert found.solid_mm2["black"] == pytest.approx(on_film.solid_mm2["black"], rel=0.005)
    assert found.solid_mm2["white"] > on_film.solid_mm2["white"] + inner


def test_without_leftovers() -> None:
    faint = 0.04 * cover(box(20, 20, 580, 90), SIDE, SIDE)
    assert_same(mended(film(np.maximum(DISC, faint)), "faint-residue"), clean(film(DISC)))


def test_without_specks() -> None:
    dust = dots([(30, 40), (570, 50), (40, 560)], px(0.35), SIDE, SIDE)
    dirty = film(np.maximum(DISC, dust))
    assert_same(mended(dirty, "stray-specks"), clean(film(DISC)), 0.001)
    assert clean(dirty).solid_mm2["black"] > mended(dirty, "stray-specks").solid_mm2["black"]


def test_a_translucent_fill_made_solid() -> None:
    assert_same(mended(film(0.4 * DISC), "translucent-area"), clean(film(DISC)), 0.02)


def test_a_soft_rim_made_hard() -> None:
    assert_same(mended(film(blurred(DISC, px(0.5))), "soft-edge"), clean(film(DISC)), 0.02)


def test_without_the_painted_pattern() -> None:
    y, x = np.mgrid[0:SIDE, 0:SIDE]
    board = np.repeat(np.where((x // 16 + y // 16) % 2, 255, 204)[..., None], 3, axis=2)
    painted = solid(over(board, DISC, (200, 40, 30)))
    assert_same(mended(painted, "painted-checkerboard"), clean(film(DISC, (200, 40, 30))), 0.02)


def heavy(percent: float) -> Picture:
    inks = np.full((SIDE, SIDE, 4), round(percent / 4 * 2.55), np.uint8)
    return Picture(solid(plain((40, 40, 40), SIDE, SIDE)), inks)


def test_heavy_ink_brought_to_the_limit() -> None:
    found = mended(heavy(360), "heavy-ink")
    before = clean(heavy(360))
    for name in CHANNELS[:4]:
        assert found.solid_mm2[name] == pytest.approx(before.solid_mm2[name] * 300 / 360, rel=0.005)
    assert found.solid_mm2["white"] == pytest.approx(before.solid_mm2["white"])
    assert "heavy-ink" not in examined(heavy(280)).coverage_fixed


def test_the_limit_is_the_shops_own() -> None:
    strict = Shop(rules={"heavy-ink": RuleChange(limits={"ask": 240.0})})
    before = clean(heavy(280)).solid_mm2["cyan"]
    assert mended(heavy(280), "heavy-ink", strict).solid_mm2["cyan"] == pytest.approx(before * 240 / 280, rel=0.01)


def test_sound_art_needs_no_mending() -> None:
    assert examined(film(DISC)).coverage_fixed == {}
