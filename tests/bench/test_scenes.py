"""The benchmark's own truth: what is said to be planted is truly in the picture."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from . import faults_alpha, faults_detail, faults_ground, scene, scenes, shapes, truth, widths
from .lettering import text_patch, text_size
from .raster import Sheet, signed_area
from .scoring import score

AREAS = {
    "disc": shapes.disc(10, 10, 6.3),
    "ring": shapes.ring(10, 10, 7, 0.3),
    "star": shapes.star(10, 10, 8, 5, 20, 13),
    "line": shapes.line(10, 10, 15, 0.2, 33),
    "arc": shapes.arc(10, 10, 6, 20, 200, 0.15),
    "wave": shapes.wave(10, 10, 15, 3, 0.25, 70),
    "blob": shapes.blob(10, 10, 8, np.random.default_rng(3)),
    "heart": shapes.heart(10, 10, 7),
    "rounded": shapes.rounded(2, 3, 14, 11, 2),
}


@pytest.mark.parametrize("name", AREAS)
@pytest.mark.parametrize("ppi", [150, 300, 600])
def test_coverage_adds_up_to_the_outlines_area(name: str, ppi: float) -> None:
    outline = AREAS[name]
    sheet = Sheet(20, 20, ppi, (0.013, 0.029))
    patch = sheet.patch(outline)
    assert patch is not None
    area = sum(signed_area(part) for part in outline)
    assert patch.cover.sum() / sheet.scale**2 == pytest.approx(area, rel=2e-3)


def test_known_areas() -> None:
    assert sum(map(signed_area, shapes.disc(0, 0, 5))) == pytest.approx(math.pi * 25, rel=1e-4)
    assert sum(map(signed_area, shapes.line(3, 4, 10, 0.2, 45))) == pytest.approx(2.0)
    assert sum(map(signed_area, shapes.ring(0, 0, 5, 1))) == pytest.approx(math.pi * 9, rel=1e-4)


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0, 90.0])
@pytest.mark.parametrize("width", [0.12, 0.3, 0.47])
@pytest.mark.parametrize("what", ["line", "gap"])
def test_profile_across_a_line_integrates_to_its_width(what: str, width: float, turn: float) -> None:
    sheet = widths.picture(widths.Trial(what, "straight", width, turn, 0))
    alpha = sheet.ink[..., 3] if what == "line" else 1 - sheet.ink[..., 3]
    middle = sheet.pixels(np.array([[widths.SIDE_MM / 2, widths.SIDE_MM / 2]]))[0]
    y, x = np.mgrid[0 : sheet.height, 0 : sheet.width] + 0.5
    along = np.cos(np.radians(turn)) * (x - middle[0]) + np.sin(np.radians(turn)) * (y - middle[1])
    across = -np.sin(np.radians(turn)) * (x - middle[0]) + np.cos(np.radians(turn)) * (y - middle[1])
    length = 4 * sheet.scale
    band = (np.abs(along) < length / 2) & (np.abs(across) < 20)
    assert alpha[band].sum() / length / sheet.scale == pytest.approx(width, abs=0.006)


def test_star_has_the_stated_tip() -> None:
    (points,) = shapes.star(0, 0, 10, 5, 24)
    tip = int(np.argmax(points[:, 0]))
    a, b = points[tip - 1] - points[tip], points[(tip + 1) % len(points)] - points[tip]
    angle = math.degrees(math.acos(a @ b / np.hypot(*a) / np.hypot(*b)))
    assert angle == pytest.approx(24)


def test_text_has_the_height_of_its_points() -> None:
    """DejaVu's capital H is 0.729 of the font's height, the built-in font's between 0.6 and 0.8."""
    patch = text_patch("H", "sans", 36, 300, 0, 0)
    rows = np.flatnonzero(patch.cover.max(axis=1) > 0.5)
    assert 0.6 < (rows[-1] - rows[0] + 1) / (36 / 72 * 300) < 0.8
    assert text_size("H", "sans", 36)[1] == pytest.approx((rows[-1] - rows[0] + 1) * 25.4 / 300, abs=0.15)


def test_straight_alpha_keeps_the_colour_at_the_edge() -> None:
    sheet = Sheet(10, 10, 300)
    sheet.fill(shapes.disc(5, 5, 3), (200, 30, 60))
    rgba = sheet.rgba((9, 9, 9))
    edge = (rgba[..., 3] > 8) & (rgba[..., 3] < 250)
    assert edge.any()
    assert np.abs(rgba[edge][:, :3].astype(int) - (200, 30, 60)).max() <= 1
    assert (rgba[rgba[..., 3] == 0, :3] == 9).all()


def test_rim_takes_the_grounds_colour() -> None:
    """The edge of a badly cut figure is lighter (or darker) than the figure; that of a sound design is not."""
    for number in range(4):
        rng = np.random.default_rng([77, number])
        picture = faults_alpha.fringe(rng)
        edge = (picture.rgba[..., 3] > 40) & (picture.rgba[..., 3] < 200)
        solid = picture.rgba[..., 3] == 255
        shift = abs(truth.luminance(picture.rgba[edge, :3]).mean() - truth.luminance(picture.rgba[solid, :3]).mean())
        assert shift > 0.05


def test_cut_edge_is_opaque_where_it_is_said_to_be() -> None:
    picture = faults_ground.cropped(np.random.default_rng(5))
    (fault,) = picture.planted
    x0, y0, x1, y1 = (round(v) for v in fault.where[0])
    assert (picture.rgba[y0 : y1 + 1, x0 : x1 + 1, 3] > 127).mean() > 0.4
    assert fault.value is not None
    assert fault.value >= 5


def test_specks_are_apart_from_the_art() -> None:
    picture = faults_detail.specks(np.random.default_rng(8))
    (fault,) = picture.planted
    assert len(fault.where) == fault.value
    alpha = picture.rgba[..., 3].copy()
    for x0, y0, x1, y1 in fault.where:
        near = round(1.2 * picture.ppi / 25.4)
        part = alpha[max(int(y0) - near, 0) : int(y1) + near, max(int(x0) - near, 0) : int(x1) + near]
        inside = alpha[int(y0) : math.ceil(y1) + 1, int(x0) : math.ceil(x1) + 1]
        assert inside.any()
        assert part.astype(int).sum() == inside.astype(int).sum()


def test_area_without_white() -> None:
    """A bar under twice the choke loses all of its white, one over it none; a rim is not counted."""
    sheet = Sheet(30, 20, 600)
    sheet.fill(shapes.rectangle(2, 2, 20, 0.3), (0, 0, 0))
    assert truth.without_white(sheet.rgba()[..., 3], 600) == pytest.approx(6, rel=0.08)
    sheet.fill(shapes.rectangle(2, 6, 20, 0.5), (0, 0, 0))
    sheet.fill(shapes.disc(15, 13, 4), (0, 0, 0))
    assert truth.without_white(sheet.rgba()[..., 3], 600) == pytest.approx(6, rel=0.08)


def test_contrast_truth() -> None:
    """WCAG 2: black on white 21 : 1, #767676 on white 4.54 : 1."""
    white, grey = truth.luminance([255, 255, 255]), truth.luminance([0x76] * 3)
    assert (white + 0.05) / (grey + 0.05) == pytest.approx(4.54, abs=0.005)
    art = np.zeros((4, 4, 4), np.uint8)
    art[..., 3] = 255
    assert truth.low_contrast(art, "white") == "no"
    assert truth.low_contrast(art, "black") == "yes"


def test_same_seed_same_case_and_every_kind_is_drawn(tmp_path: Path) -> None:
    order = scenes.schedule()
    assert {kind for kind, _ in order} == {kind for kind, _, _ in scenes.FAULTS + scenes.CLEAN}
    assert len(scenes.FAULTS) >= 14
    first, again = scenes.build(1, 6, tmp_path), scenes.build(1, 6, tmp_path)
    assert first.case == again.case
    assert np.array_equal(first.picture.rgba, again.picture.rgba)
    assert not np.array_equal(first.picture.rgba, scenes.build(2, 6, tmp_path).picture.rgba)


def test_ordered_size_gives_the_cases_resolution(tmp_path: Path) -> None:
    case = scenes.build(1, 6, tmp_path).case
    with Image.open(case.path) as picture:
        alpha = np.asarray(picture)[..., 3]
    x0, y0, x1, y1 = scene.art_box(alpha)
    size = (x1 - x0, y1 - y0) if case.ticket.size_of == "artwork" else alpha.shape[::-1]
    ordered = (case.ticket.width_mm, case.ticket.height_mm)
    for pixels, millimetres in zip(size, ordered, strict=True):
        if millimetres is not None:
            assert pixels * 25.4 / millimetres == pytest.approx(case.ppi, abs=0.5)


def test_scoring_knows_found_from_missed_and_from_elsewhere(tmp_path: Path) -> None:
    from .asking import Answer, Told

    case = scenes.build(1, 6, tmp_path).case
    (fault,) = [fault for fault in case.planted if fault.rule == "thin-line"]
    there = case.in_print(fault.where[0])
    far = (there[0] + 60, there[1], there[2] + 60, there[3])

    def judged(*told: Told) -> tuple[str, tuple[tuple[str, str], ...]]:
        result = score(case, Answer("stop", told, {}, {}, None, 0.1, 300.0, (0.0, 0.0)))
        how = next(caught.how for caught in result.caught if caught.rule == "thin-line")
        return how, result.alarms

    assert judged() == ("missed", ())
    assert judged(Told("thin-line", "stop", 0.2, (there,), "")) == ("found", ())
    assert judged(Told("thin-line", "stop", 0.2, (far,), "")) == ("elsewhere", ())
    found, alarms = judged(Told("soft-edge", "stop", 1.0, (), ""), Told("thin-line", "stop", 0.2, (there,), ""))
    assert (found, alarms) == ("found", (("soft-edge", "stop"),))
