"""The whole examination: every measure is there, and what must not matter does not."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from preflight.errors import IntakeError
from preflight.intake import open_artwork
from preflight.measure.catalogue import MEASURES
from preflight.measure.examine import examine
from preflight.model import Examination, Ticket
from preflight.shop import Shop
from tests.measure.pictures import (
    FONTS,
    INK,
    Picture,
    PlainInks,
    blurred,
    box,
    cover,
    disc,
    dots,
    enlarged,
    examined,
    film,
    lettering,
    over,
    photo,
    plain,
    px,
    solid,
    stroke,
)

HEIGHT, WIDTH = 700, 900


def faulty() -> np.ndarray:
    """A sheet with something of everything: a thin line, a glow, a veil, leftovers, dust, a small mark, a cut disc."""
    page = np.zeros((HEIGHT, WIDTH))
    page = np.maximum(page, cover(stroke(300, 60, 8, 480, px(0.25)), WIDTH, HEIGHT))
    page = np.maximum(page, blurred(cover(disc(200, 320, 90), WIDTH, HEIGHT), px(0.6)))
    page = np.maximum(page, 0.5 * cover(box(400, 250, 560, 380), WIDTH, HEIGHT))
    page = np.maximum(page, 0.03 * cover(box(600, 450, 800, 560), WIDTH, HEIGHT))
    page = np.maximum(page, dots([(700, 100), (820, 240), (560, 640)], px(0.25), WIDTH, HEIGHT))
    page = np.maximum(page, cover(disc(WIDTH + 50, 350, 110), WIDTH, HEIGHT))
    return film(page)


SHEETS: dict[str, Callable[[], np.ndarray]] = {
    "faulty": faulty,
    "text": lambda: film(lettering("Whale & Otter, est. 1987", 24, 300, FONTS["plain"], fine=4)),
    "photograph": lambda: solid(enlarged(photo("coffee.png"), 2)),
    "box": lambda: solid(over(plain((255, 255, 255), 600, 500), cover(disc(300.3, 250.6, 190), 600, 500), INK)),
}
#: Measures that are counted or summed over the sheet, with how far a turn may change them.
TURNED = dict.fromkeys(MEASURES, 0.03) | {
    "effective-ppi": 1e-9,
    "print-width": 1e-9,
    "printed-share": 1e-3,
    "narrowest-line": 0.01,
    "detail-ppi": 0.12,  # other tiles are looked at
    "fringe-share": 0.2,  # other pixels are asked
}


def values(seen: Examination) -> dict[str, float | None]:
    return {name: found.value for name, found in seen.measures.items()}


# ---- whole ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SHEETS)
def test_every_measure_is_answered_in_its_unit(name: str) -> None:
    seen = examined(SHEETS[name](), garments=("black",))
    assert set(seen.measures) == {name for name, quantity in MEASURES.items() if not quantity.on_opening}
    for name, found in seen.measures.items():
        quantity = MEASURES[name]
        assert found.id == name
        assert found.unit == quantity.unit
        assert found.kind is None or found.kind in quantity.kinds
        assert found.value is None or math.isfinite(found.value)
        assert found.spots_total >= len(found.spots)
        if found.value:
            assert set(quantity.details) <= set(found.details)
        for spot in found.spots:
            assert 0 <= spot.x < spot.x + spot.width <= seen.print_size.canvas[0] + 4
            assert 0 <= spot.y < spot.y + spot.height <= seen.print_size.canvas[1] + 4
        if quantity.extreme and found.spots:
            assert found.value == pytest.approx(found.spots[0].value)


def test_the_faults_of_a_faulty_sheet() -> None:
    found = values(examined(faulty()))
    assert found["narrowest-line"] == pytest.approx(0.25, abs=0.02)
    assert found["fade-width"] == pytest.approx(3.29 * 0.6, rel=0.1)
    assert found["translucent-area"] == pytest.approx(160 * 130 / px(1) ** 2, rel=0.02)
    assert found["residue-area"] == pytest.approx(200 * 110 / px(1) ** 2, rel=0.05)
    assert found["speck-count"] == 3
    assert found["cut-edge"] == pytest.approx(2 * math.sqrt(110**2 - 50**2) / px(1), rel=0.03)
    for name in ("narrowest-gap", "background-share", "checkerboard-cell", "code-module", "detail-ppi"):
        assert found[name] is None


def test_details_are_ready_to_be_read() -> None:
    seen = examined(faulty(), garments=("black",))
    for found in seen.measures.values():
        assert all(isinstance(text, str) and text for text in found.details.values())


# ---- metamorphic ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["faulty", "text", "photograph"])
def test_twice_the_size_is_half_the_ppi_and_four_times_the_ink(name: str) -> None:
    art = SHEETS[name]()
    small, large = examined(art, 400), examined(art, 200)
    assert large.measures["effective-ppi"].value == pytest.approx(small.measures["effective-ppi"].value / 2)
    assert large.measures["print-width"].value == pytest.approx(small.measures["print-width"].value * 2)
    assert small.coverage is not None
    assert large.coverage is not None
    for channel in ("cyan", "magenta", "yellow", "black"):
        assert large.coverage.solid_mm2[channel] == pytest.approx(4 * small.coverage.solid_mm2[channel])
    # white is pulled in by so many millimetres whatever the size: a little less than four times before, more after
    assert large.coverage.solid_mm2["white"] >= 4 * small.coverage.solid_mm2["white"]
    assert large.coverage.total_percent_mean == pytest.approx(small.coverage.total_percent_mean)


def test_twice_the_size_doubles_lengths() -> None:
    art = film(cover(stroke(200, 150, 17, 300, px(0.2)), 400, 300))
    small, large = values(examined(art, 400)), values(examined(art, 200))
    assert small["narrowest-line"] is not None
    assert large["narrowest-line"] == pytest.approx(2 * small["narrowest-line"], rel=0.02)


@pytest.mark.parametrize("name", SHEETS)
def test_turned_by_a_quarter_the_answers_are_the_same(name: str) -> None:
    art = Picture(SHEETS[name]())
    upright = examined(art, garments=("navy",))
    side = art.turned()
    # the same print: what was the width is now the height
    ticket = Ticket(height_mm=art.rgba.shape[1] * 25.4 / 300, size_of="canvas", garments=("navy",))
    turned = examine(side, ticket, Shop.default(), PlainInks())
    for measure, value in values(upright).items():
        other = turned.measures[measure].value
        if value is None:
            assert not other, measure  # "too few to ask" and "none of them" are one answer
        else:
            assert other == pytest.approx(value, rel=TURNED[measure], abs=1e-6), measure
    assert upright.coverage is not None
    assert turned.coverage is not None
    for channel, area in upright.coverage.solid_mm2.items():
        assert turned.coverage.solid_mm2[channel] == pytest.approx(area, rel=0.01, abs=0.1)


def test_more_empty_film_around_changes_no_place_and_no_ink() -> None:
    art = faulty()[:, :760]
    tight = examined(art)
    wide = examined(np.pad(art, ((128, 64), (256, 192), (0, 0))))
    for measure in ("narrowest-line", "fade-width", "translucent-area", "residue-area", "speck-count"):
        assert wide.measures[measure].value == pytest.approx(tight.measures[measure].value, rel=0.03)
    first, moved = tight.measures["narrowest-line"].spots[0], wide.measures["narrowest-line"].spots[0]
    assert (moved.x - first.x, moved.y - first.y) == (pytest.approx(256, abs=1), pytest.approx(128, abs=1))
    assert tight.coverage is not None
    assert wide.coverage is not None
    for channel, area in tight.coverage.solid_mm2.items():
        assert wide.coverage.solid_mm2[channel] == pytest.approx(area, rel=0.01)


def test_what_lies_under_clear_film_does_not_matter() -> None:
    art = faulty()
    hidden = art.copy()
    noise = np.random.default_rng(5).integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)
    hidden[..., :3] = np.where(art[..., 3:] == 0, noise, art[..., :3])
    assert values(examined(hidden, garments=("black",))) == values(examined(art, garments=("black",)))
    assert examined(hidden).coverage == examined(art).coverage


@pytest.mark.parametrize("name", ["faulty", "photograph"])
def test_the_same_art_in_other_files_is_the_same(name: str, tmp_path: Path) -> None:
    art = SHEETS[name]()
    ticket = Ticket(width_mm=art.shape[1] * 25.4 / 300, size_of="canvas", garments=("black",))
    expected = examined(art, garments=("black",))
    for number, (ending, options) in enumerate(
        [("png", {}), ("png", {"compress_level": 1}), ("tif", {}), ("tif", {"compression": "tiff_lzw"})]
    ):
        path = tmp_path / f"art{number}.{ending}"
        Image.fromarray(art).save(path, **options)
        seen = examine(open_artwork(path, pixel_limit=10**7), ticket, Shop.default(), PlainInks())
        assert values(seen) == pytest.approx(values(expected), nan_ok=True)
        assert seen.coverage == expected.coverage


# ---- what is said -----------------------------------------------------------------------------------------------


def test_too_coarse_to_judge_is_said_and_is_no_pass() -> None:
    seen = examined(film(cover(disc(150, 150, 100), 300, 300)), 150)
    for name in ("narrowest-line", "narrowest-gap"):
        assert seen.measures[name].value is None
        assert "too coarse" in (seen.measures[name].why_not or "")
    assert any("too coarse" in said for said in seen.assumptions)
    fine = examined(film(cover(disc(150, 150, 100), 300, 300)), 250)
    assert fine.measures["narrowest-line"].why_not is None


def test_a_file_that_ends_early_gives_no_half_answer(tmp_path: Path) -> None:
    path = tmp_path / "art.png"
    Image.fromarray(SHEETS["photograph"]()).save(path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(IntakeError):
        examine(open_artwork(path, pixel_limit=10**7), Ticket(width_mm=80), Shop.default(), PlainInks())


@pytest.mark.parametrize("shape", [(1, 1), (1, 700), (700, 1), (3, 5), (4, 4), (65, 63), (257, 255)])
def test_odd_sizes_are_measured(shape: tuple[int, int]) -> None:
    for art in (solid(plain(INK, shape[1], shape[0])), film(np.ones(shape) * 0.5), np.zeros((*shape, 4), np.uint8)):
        seen = examined(art, garments=("white",))
        assert set(seen.measures) == {name for name, quantity in MEASURES.items() if not quantity.on_opening}
