"""Which pieces of the alpha plane are looked at: every edge, and little else."""

import numpy as np
import pytest

from preflight.measure.places import Scale, spots_of_mask
from preflight.measure.sheet import shrink
from preflight.measure.spans import BAND, COARSE, Span, coarse_cells, cut, spans
from preflight.model import MOST_PLACES


def plane(height: int = 700, width: int = 900) -> np.ndarray:
    return np.zeros((height, width), np.uint8)


def looked_at(alpha: np.ndarray, **options: bool) -> np.ndarray:
    """How often each pixel lies in a span."""
    height, width = alpha.shape
    times = np.zeros(alpha.shape, int)
    for span in spans(shrink(alpha), width, height, **options):
        times[span.y0 : span.y1, span.x0 : span.x1] += 1
    return times


@pytest.mark.parametrize("at", [(0, 0), (63, 63), (64, 64), (255, 100), (256, 100), (699, 899), (300, 899)])
def test_a_lone_pixel_is_looked_at_once(at: tuple[int, int]) -> None:
    for inside, around in ((255, 0), (0, 255)):
        alpha = np.full((700, 900), around, np.uint8)
        alpha[at] = inside
        times = looked_at(alpha)
        assert times[at] == 1
        assert times.max() == 1
        assert times.mean() < 0.05


@pytest.mark.parametrize("edge", [320, 384, 128, 64, 1, 899, 321, 383])
def test_both_sides_of_an_edge_are_looked_at_wherever_it_runs(edge: int) -> None:
    alpha = plane()
    alpha[:, edge:] = 255
    assert looked_at(alpha)[:, edge - 1 : edge + 1].min() == 1
    assert looked_at(alpha.T[:, :700])[edge - 1 : edge + 1].min() == 1


def test_film_and_solid_art_are_not_looked_at() -> None:
    assert looked_at(plane()).sum() == 0
    assert looked_at(np.full((700, 900), 255, np.uint8)).sum() == 0
    assert looked_at(np.full((700, 900), 254, np.uint8)).min() == 1


def test_neighbours_widen_the_look_by_a_coarse_cell() -> None:
    alpha = plane()
    alpha[300, 450] = 255
    wide = looked_at(alpha, neighbours=True)
    assert wide[300 - COARSE, 450 - COARSE] == 1
    assert looked_at(alpha)[300, 450 - COARSE] == 0


def test_coarse_cells_are_mixed_full_or_neither() -> None:
    alpha = plane(256, 256)
    alpha[:128] = 255
    alpha[70, 70] = 254
    mixed, full = coarse_cells(shrink(alpha), neighbours=False)
    assert mixed.shape == full.shape == (4, 4)
    assert full[0].tolist() == [1, 1, 1, 1]
    assert mixed[1].tolist() == [1, 1, 1, 1]  # an edge along the seam of two cells
    assert mixed[2].tolist() == [1, 1, 1, 1]
    assert not mixed[3].any()
    assert not (mixed & full).any()


def test_a_band_holds_its_runs_apart() -> None:
    alpha = plane(300, 900)
    alpha[10:20, 10:20] = 255
    alpha[10:20, 800:810] = 255
    alpha[280:290, 400:410] = 255
    assert spans(shrink(alpha), 900, 300) == [
        Span(0, BAND, 0, 64),
        Span(0, BAND, 768, 832),
        Span(BAND, 300, 384, 448),
    ]


def test_a_piece_carries_its_surroundings_and_empty_film_beyond_the_canvas() -> None:
    alpha = np.random.default_rng(2).integers(1, 256, (300, 200), dtype=np.uint8)
    piece = cut(alpha, Span(0, 256, 128, 200), 20)
    assert piece.alpha.shape == (296, 112)
    assert np.array_equal(piece.inner(piece.alpha), alpha[:256, 128:200])
    assert not piece.alpha[:20].any()
    assert not piece.alpha[:, -20:].any()
    assert np.array_equal(piece.alpha[20:, :20], alpha[:276, 108:128])


# ---- places -----------------------------------------------------------------------------------------------------


def test_scale() -> None:
    scale = Scale(300)
    assert scale.px(25.4) == 300
    assert scale.mm(300) == 25.4  # 1 in = 25.4 mm (CSS Values)
    assert scale.mm2(300 * 300) == pytest.approx(25.4**2)


def size_of(_cells: tuple[slice, slice], inside: np.ndarray) -> float:
    return float(inside.sum())


def test_spots_of_a_mask_come_largest_first() -> None:
    mask = np.zeros((50, 60), np.uint8)
    mask[2:4, 3:8] = 1
    mask[20:30, 10:40] = 1
    mask[25, 20] = 0
    spots, total = spots_of_mask(mask, size_of)
    assert total == 2
    first, second = spots
    assert (first.x, first.y, first.width, first.height, first.value) == (40, 80, 120, 40, 299)
    assert (second.x, second.y, second.width, second.height, second.value) == (12, 8, 20, 8, 10)
    assert spots_of_mask(mask, size_of, least=11)[1] == 1
    assert spots_of_mask(mask, size_of, cell=8)[0][0].x == 80
    upside_down, _ = spots_of_mask(mask, lambda _, inside: 1000.0 - inside.sum())
    assert [spot.value for spot in upside_down] == [990, 701]  # by value, not by size


def test_spots_are_counted_beyond_what_is_carried() -> None:
    mask = np.zeros((100, 100), np.uint8)
    mask[::4, ::4] = 1
    spots, total = spots_of_mask(mask, size_of)
    assert len(spots) == MOST_PLACES
    assert total == 625
