"""How large the artwork prints, and what is said of its size."""

import numpy as np
import pytest

from preflight.measure.examine import examine
from preflight.model import Box, Examination, Ticket
from preflight.shop import Shop
from tests.measure.pictures import INK, Picture, PlainInks, film, plain, solid


def art(x: int = 50, y: int = 20, width: int = 300, height: int = 200) -> np.ndarray:
    """A box of art on a canvas of 600 x 400 px."""
    covered = np.zeros((400, 600))
    covered[y : y + height, x : x + width] = 1
    return film(covered)


def seen(
    picture: Picture | np.ndarray,
    *,
    width_mm: float | None = None,
    height_mm: float | None = None,
    size_of: str = "artwork",
) -> Examination:
    opened = picture if isinstance(picture, Picture) else Picture(picture)
    ticket = Ticket(width_mm=width_mm, height_mm=height_mm, size_of=size_of)
    return examine(opened, ticket, Shop.default(), PlainInks())


# ---- from the ticket --------------------------------------------------------------------------------------------


def test_the_ordered_width_is_that_of_the_visible_art() -> None:
    found = seen(art(), width_mm=25.4)
    size = found.print_size
    assert size.artwork == Box(50, 20, 300, 200)
    assert size.canvas == (600, 400)
    assert size.ppi == pytest.approx(300)  # 300 px over an inch
    assert (size.width_mm, size.height_mm) == (pytest.approx(25.4), pytest.approx(25.4 * 2 / 3))
    assert size.size_from == "ticket"
    assert found.measures["effective-ppi"].value == pytest.approx(300)
    assert found.measures["print-width"].value == pytest.approx(25.4 * 2 / 3)


def test_the_ordered_width_may_be_that_of_the_canvas() -> None:
    size = seen(art(), width_mm=50.8, size_of="canvas").print_size
    assert size.ppi == pytest.approx(300)
    assert size.width_mm == pytest.approx(25.4)  # of the art


def test_an_ordered_height() -> None:
    assert seen(art(), height_mm=20.0).print_size.ppi == pytest.approx(200 * 25.4 / 20)
    assert seen(art(), height_mm=20.0, size_of="canvas").print_size.ppi == pytest.approx(400 * 25.4 / 20)


@pytest.mark.parametrize(("width", "height"), [(60.0, 20.0), (30.0, 90.0)])
def test_with_both_sides_ordered_the_art_fits_inside_and_is_never_stretched(width: float, height: float) -> None:
    size = seen(art(), width_mm=width, height_mm=height).print_size
    assert size.width_mm is not None
    assert size.height_mm is not None
    assert size.width_mm / size.height_mm == pytest.approx(1.5)
    assert max(size.width_mm / width, size.height_mm / height) == pytest.approx(1)


@pytest.mark.parametrize(
    ("width", "height", "difference"), [(30, 20, 0.0), (30.3, 20, 1.0), (30, 30, 50.0), (60, 20, 100.0)]
)
def test_proportions(width: float, height: float, difference: float) -> None:
    found = seen(art(), width_mm=width, height_mm=height).measures["proportion-difference"]
    assert found.value == pytest.approx(difference, abs=1e-6)
    assert found.applies
    assert found.details["artwork"] == "300 x 200 pixels"
    assert seen(art(), width_mm=20).measures["proportion-difference"].applies is False


def test_proportions_of_the_canvas() -> None:
    found = seen(art(width=100), width_mm=60, height_mm=40, size_of="canvas").measures["proportion-difference"]
    assert found.value == pytest.approx(0, abs=1e-6)
    assert found.details["artwork"] == "600 x 400 pixels"


# ---- from the file, or unknown ----------------------------------------------------------------------------------


def test_without_an_order_the_files_own_density_counts_and_is_said() -> None:
    found = seen(Picture(art(), density=(299.9994, 299.9994)))
    assert found.print_size.ppi == pytest.approx(300, abs=0.5)
    assert found.print_size.size_from == "file"
    assert any("pHYs" in said and "ask" in said for said in found.assumptions)
    ordered = seen(Picture(art(), density=(72.0, 72.0)), width_mm=25.4)
    assert ordered.print_size.ppi == pytest.approx(300)
    assert not any("pHYs" in said for said in ordered.assumptions)


def test_unequal_densities_keep_the_area() -> None:
    size = seen(Picture(art(), density=(200.0, 100.0))).print_size
    assert size.width_mm is not None
    assert size.height_mm is not None
    assert size.width_mm * size.height_mm == pytest.approx((300 / 200) * (200 / 100) * 25.4**2)


def test_an_unknown_size_leaves_lengths_unmeasured_and_says_so() -> None:
    found = seen(art())
    assert found.print_size.ppi is None
    assert found.print_size.size_from == "unknown"
    assert found.measures["size-missing"].value == 1
    assert found.coverage is None
    for name in ("effective-ppi", "print-width", "narrowest-line", "fade-width", "total-ink", "speck-count"):
        assert found.measures[name].value is None
        assert found.measures[name].why_not == "the print size is not known"
    # what needs no size is told all the same
    assert found.measures["printed-share"].value == pytest.approx(25, abs=0.01)
    assert found.measures["colour-shift"].why_not is None
    assert seen(art(), width_mm=10).measures["size-missing"].value == 0


# ---- what prints ------------------------------------------------------------------------------------------------


def test_printed_share() -> None:
    assert seen(art(), width_mm=20).measures["printed-share"].value == pytest.approx(25, abs=0.01)
    assert seen(solid(plain(INK, 41, 33)), width_mm=20).measures["printed-share"].value == pytest.approx(100)
    odd = np.zeros((401, 599))
    odd[:, 500:] = 1
    assert seen(film(odd), width_mm=20).measures["printed-share"].value == pytest.approx(100 * 99 / 599, abs=0.01)
    assert seen(film(0.5 * odd), width_mm=20).measures["printed-share"].value == pytest.approx(50 * 99 / 599, abs=0.1)


def test_blank_sheets() -> None:
    for blank in (
        np.zeros((90, 120, 4), np.uint8),
        solid(plain((255, 255, 255), 120, 90)),
        solid(plain((252, 253, 251), 120, 90)),
    ):
        assert seen(blank, width_mm=20).measures["printed-share"].value == 0
    spot = solid(plain((255, 255, 255), 120, 90))
    spot[40:60, 40:60, :3] = 0
    assert seen(spot, width_mm=20).measures["printed-share"].value == pytest.approx(100)
    assert seen(film(np.ones((90, 120)), (255, 255, 255)), width_mm=20).print_size.artwork == Box(0, 0, 120, 90)
