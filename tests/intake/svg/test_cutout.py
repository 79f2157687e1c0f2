"""A small artwork on a large sheet is drawn by itself."""

import numpy as np
import pytest

from preflight.intake.svg import open_svg

NAMESPACE = 'xmlns="http://www.w3.org/2000/svg"'
#: A circle of 20 mm with a line of text's size in it, at the middle of a sheet of A4; once in percent.
SHAPES = '<circle cx="50%" cy="50%" r="10" fill="#a83e34"/><path d="M100 148 h10" stroke="#fff" stroke-width="0.4"/>'
SHEETS = {
    "view box": f'<svg {NAMESPACE} width="210mm" height="297mm" viewBox="0 0 210 297">{SHAPES}</svg>',
    "placed root": f'<svg {NAMESPACE} x="9" y="9" width="210mm" height="297mm" viewBox="0 0 210 297">{SHAPES}</svg>',
    "prolog and comments": (
        f'<?xml version="1.0"?><!-- a > b --><svg {NAMESPACE} width="210mm" height="297mm" viewBox="0 0 210 297">'
        f"{SHAPES}</svg><!-- end -->\n"
    ),
    "letterboxed": f'<svg {NAMESPACE} width="297mm" height="297mm" viewBox="0 0 210 297">{SHAPES}</svg>',
    "prefixed": (
        '<s:svg xmlns:s="http://www.w3.org/2000/svg" width="210mm" height="297mm" viewBox="0 0 210 297">'
        + SHAPES.replace("<", "<s:")
        + "</s:svg>"
    ),
}


def pixels(page):
    return np.concatenate([strip.rgba for strip in page.strips()])


@pytest.fixture
def page(tmp_path):
    def open_one(text, limit=118_800_000):
        path = tmp_path / "art.svg"
        path.write_text(text, encoding="utf-8")
        return open_svg(path, pixel_limit=limit)[0]

    return open_one


#: Without a size of their own: a unit of the view box is taken as a px, or the box around what is painted as the page.
UNSIZED = {
    "no size": f'<svg {NAMESPACE} viewBox="0 0 210 297">{SHAPES}</svg>',
    "size in percent": f'<svg {NAMESPACE} width="100%" height="100%" viewBox="0 0 210 297">{SHAPES}</svg>',
    "width only": f'<svg {NAMESPACE} width="420" viewBox="0 0 210 297">{SHAPES}</svg>',
}


@pytest.mark.parametrize("name", UNSIZED)
def test_the_part_is_the_same_where_no_size_is_stated(name, page):
    part = page(UNSIZED[name]).for_print(40, None)
    cut, full = pixels(part), pixels(page(UNSIZED[name]).at_ppi(part.ppi))
    assert cut.shape[1] < 0.5 * full.shape[1]
    assert (cut[..., 3] > 12).sum() == pytest.approx((full[..., 3] > 12).sum(), rel=0.002)


@pytest.mark.parametrize("name", SHEETS)
def test_the_part_is_the_same_as_on_the_whole_sheet(name, page):
    part = page(SHEETS[name]).for_print(40, None)
    whole = page(SHEETS[name]).at_ppi(part.ppi)
    assert part.facts.width < 0.2 * whole.facts.width
    assert part.facts.density_ppi[0] == pytest.approx(600, rel=0.03)
    assert part.document.size_certain
    cut, full = pixels(part), pixels(whole)
    assert [(cut[..., 3] > 12).sum()] == pytest.approx([(full[..., 3] > 12).sum()], rel=0.002)
    columns, rows = (np.flatnonzero((cut[..., 3] > 12).any(axis=axis)) for axis in (0, 1))
    assert len(columns) == pytest.approx(20 / 25.4 * part.ppi, abs=3)
    assert len(rows) == pytest.approx(len(columns), abs=2)
    assert min(columns[0], rows[0]) > 5  # clear all round: it is not taken for cut


def test_facts_are_those_of_the_part(page):
    part = page(SHEETS["view box"]).for_print(40, None)
    (line,) = part.document.strokes
    assert line.width_mm == pytest.approx(0.4)
    assert (line.area.x_mm, line.area.y_mm) == pytest.approx(
        (part.document.width_mm / 2 - 5, part.document.height_mm / 2 - 0.7), abs=0.5
    )
    assert part.document.width_mm < 25


def test_a_sheet_that_is_full_stays_whole(page):
    text = f'<svg {NAMESPACE} width="100mm" height="50mm"><rect width="90%" height="90%" fill="red"/></svg>'
    part = page(text).for_print(200, None)
    assert part.document.width_mm == pytest.approx(100)


def test_an_order_for_the_canvas_keeps_the_sheet(page):
    assert page(SHEETS["view box"]).for_print(40, None, "canvas").document.width_mm == pytest.approx(210)


def test_an_uncertain_size_stays_uncertain(page):
    text = f'<svg {NAMESPACE} viewBox="0 0 210 297">{SHAPES}</svg>'
    part = page(text).for_print(40, None)
    assert not part.document.size_certain
    assert part.facts.density_ppi is None
    assert any("pixels or not at all" in note for note in part.facts.notes)


def test_a_faint_trace_beside_the_art_is_kept(page):
    faint = '<rect x="60" y="60" width="3" height="3" fill="#000" fill-opacity="0.02"/>'
    part = page(SHEETS["view box"].replace("</svg>", f"{faint}</svg>")).for_print(40, None)
    alpha = pixels(part)[..., 3]
    assert ((alpha > 0) & (alpha < 12)).sum() > 3000
