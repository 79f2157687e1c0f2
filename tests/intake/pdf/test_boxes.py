"""Print area, unit and rotation of a page. ISO 32000-1: boxes 14.11.2, UserUnit and Rotate Table 30 (from memory)."""

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name, Pdf

from preflight.errors import IntakeError
from tests.intake.pdf.making import MM, add_page, drawn, look, opened

MARK = b"1 0 0 rg 10 20 30 15 re f"  # left 10, bottom 20, 30 wide, 15 high


def marked(path, ppi=72 * 4):
    """Box of the red mark in the drawing, in millimetres: x, y, width, height."""
    page = opened(path).at_ppi(ppi)
    rgba = drawn(page)
    ys, xs = np.nonzero(rgba[..., 3] > 127)
    pixel = 25.4 / ppi
    return xs.min() * pixel, ys.min() * pixel, (np.ptp(xs) + 1) * pixel, (np.ptp(ys) + 1) * pixel


def stroke_area(path):
    area = look(path).document.strokes[0].area
    return area.x_mm, area.y_mm, area.width_mm, area.height_mm


@pytest.mark.parametrize(
    ("boxes", "name", "size"),
    [
        ({}, "media box", (144, 72)),
        ({"CropBox": [10, 10, 110, 60]}, "crop box", (100, 50)),
        ({"ArtBox": [10, 10, 100, 60], "CropBox": [0, 0, 144, 72]}, "art box", (90, 50)),
        ({"TrimBox": [20, 10, 100, 60], "ArtBox": [30, 30, 40, 40]}, "trim box", (80, 50)),
        ({"TrimBox": [100, 60, 20, 10]}, "trim box", (80, 50)),  # corners the other way round
        ({"TrimBox": [0, 0, 0, 0], "ArtBox": [10, 10, 100, 60]}, "art box", (90, 50)),  # nonsense is passed over
        ({"TrimBox": [500, 500, 600, 600]}, "media box", (144, 72)),  # nothing of it lies on the page
        ({"TrimBox": [-50, -50, 100, 60]}, "trim box", (100, 60)),  # what lies outside the page is not shown
        ({"TrimBox": [1, 2, 3]}, "media box", (144, 72)),
    ],
)
def test_the_print_area_is_the_innermost_box_that_makes_sense(boxes, name, size, make):
    facts = look(make(MARK, **{key: Array(value) for key, value in boxes.items()}))
    assert facts.box.name == name
    assert (facts.document.width_mm, facts.document.height_mm) == pytest.approx([side * MM for side in size])
    assert facts.document.size_certain


def test_it_is_said_when_more_than_the_print_area_is_shown(make):
    (note,) = look(make(MARK, TrimBox=Array([0, 0, 72, 72]))).notes
    assert "25.4 × 25.4 mm" in note
    assert "trim box" in note


def test_user_unit_multiplies_every_length(make):
    content = MARK + b" 0 0 1 RG 2 w 10 20 30 15 re S BT /F 10 Tf 1 1 Td (x) Tj ET"
    fonts = lambda pdf: {"Font": Dictionary(F=Dictionary(Subtype=Name.Type1, BaseFont=Name.Helvetica))}  # noqa: E731
    plain, doubled = (look(make(content, fonts, **unit)).document for unit in ({}, {"UserUnit": 2}))
    assert doubled.width_mm == pytest.approx(2 * plain.width_mm) == pytest.approx(4 * 25.4)
    assert doubled.strokes[0].width_mm == pytest.approx(2 * plain.strokes[0].width_mm)
    assert doubled.texts[0].size_pt == pytest.approx(20)
    assert marked(make(MARK, UserUnit=2)) == pytest.approx([2 * v for v in marked(make(MARK))], abs=0.2)


@pytest.mark.parametrize("unit", [0, -1, 1e9])
def test_a_unit_that_makes_no_sense_counts_as_one(unit, make):
    assert look(make(MARK, UserUnit=unit)).document.width_mm == pytest.approx(50.8)


@pytest.mark.parametrize("turn", [0, 90, 180, 270, -90, 450])
@pytest.mark.parametrize("box", [(0, 0, 144, 72), (-20, 7, 80.7, 70.9)])
def test_facts_and_drawing_agree_on_where_things_are(turn, box, make):
    """The drawing library turns the page by itself; the facts have their own matrix."""
    path = make(MARK + b" 0 w 1 0 0 RG 10 20 30 15 re S", box=box, Rotate=turn)
    assert marked(path) == pytest.approx(stroke_area(path), abs=0.2)
    width, height = look(path).box.size_mm
    expected = (box[2] - box[0], box[3] - box[1])
    assert (width, height) == pytest.approx([v * MM for v in (expected[::-1] if turn % 180 else expected)])


@pytest.mark.parametrize(("turn", "corner"), [(0, (10, 37)), (90, (20, 10)), (180, (104, 20)), (270, (37, 104))])
def test_rotation_is_clockwise(turn, corner, make):
    path = make(MARK + b" 0 w 10 20 30 15 re S", Rotate=turn)
    assert stroke_area(path)[:2] == pytest.approx([v * MM for v in corner])


def test_boxes_and_rotation_are_inherited(make, tmp_path):
    def edit(pdf):
        page = pdf.pages[0].obj
        parent = page.Parent
        parent.MediaBox, parent.Rotate = page.MediaBox, 90
        del page["/MediaBox"]

    facts = look(make(MARK, edit=edit))
    assert facts.box.rotate == 90
    assert facts.document.width_mm == pytest.approx(25.4)


@pytest.mark.parametrize("box", [(0, 0, 0, 0), (0, 0, 100, 0), (5, 5, 5.5, 100)])
def test_a_page_without_area_is_refused(box, make):
    with pytest.raises(IntakeError, match="no area") as caught:
        look(make(MARK, box=box))
    assert caught.value.file is not None
    assert "page size" in caught.value.next_step


def test_a_page_without_a_size_is_not_certain(tmp_path):
    pdf = Pdf.new()
    page = add_page(pdf, MARK)
    del page["/MediaBox"]
    pdf.save(tmp_path / "art.pdf")
    page = opened(tmp_path / "art.pdf")
    assert not page.document.size_certain
    assert page.facts.density_ppi is None
    assert any("no size" in note for note in page.facts.notes)


def test_the_largest_page_is_refused_and_not_drawn(make):
    page = opened(make(MARK, box=(0, 0, 14_400, 14_400), UserUnit=72))  # 14,400 in a side
    assert page.document.width_mm == pytest.approx(14_400 * 25.4)
    with pytest.raises(IntakeError, match="too large to draw") as caught:
        next(page.strips())
    assert "art.pdf" in caught.value.file
