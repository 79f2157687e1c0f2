"""Annotations: those that print are walked, each with a state of its own. ISO 32000-1, 12.5 (from memory)."""

import pytest
from pikepdf import Array, Dictionary, Name

from tests.intake.pdf.making import MM, drawn, form, look, opened


def noted(make, content=b"", *, appearance=b"0.1 w 0 0 m 10 10 l S 0 0 10 10 re f", shape=None, **entries):
    def edit(pdf):
        look_ = form(pdf, appearance, (0, 0, 10, 10), Resources=Dictionary(), **(shape or {}))
        settings = {"F": 4, "Subtype": Name.Stamp, "Rect": Array([20, 30, 40, 50]), "AP": Dictionary(N=look_)}
        settings |= {key: value(look_) if callable(value) else value for key, value in entries.items()}
        pdf.pages[0].obj.Annots = Array([pdf.make_indirect(Dictionary(**settings))])

    return make(content, edit=edit)


def test_an_annotation_is_fitted_into_its_place(make):
    path = noted(make)
    (stroke,) = look(path).document.strokes
    assert stroke.width_mm == pytest.approx(0.2 * MM)
    assert (stroke.area.x_mm, stroke.area.y_mm) == pytest.approx((20 * MM, 22 * MM), abs=0.1)
    assert drawn(opened(path).at_ppi(72))[72 - 31, 21, 3] == 255


def test_a_turned_appearance(make):
    """A quarter turn of its own: the turned box is fitted, not the box as it was."""
    path = noted(make, shape={"Matrix": Array([0, 1, -1, 0, 0, 0])}, appearance=b"1 w 0 2 m 10 2 l S")
    (stroke,) = look(path).document.strokes
    assert stroke.area.width_mm == pytest.approx(2 * MM)
    assert stroke.area.height_mm == pytest.approx(20 * MM)
    alpha = drawn(opened(path).at_ppi(72))[..., 3]
    row, column = (72 - 40, round((stroke.area.x_mm + stroke.area.width_mm / 2) / MM))
    assert alpha[row, column] == 255


@pytest.mark.parametrize(
    "entries",
    [
        {"F": 0},  # for the screen only
        {"F": 6},  # hidden
        {"Subtype": Name.Popup},
        {"AP": Dictionary()},
        {"AP": lambda look_: Dictionary(N=Dictionary(On=look_)), "AS": Name.Off},
        {"Rect": Array([500, 500, 520, 520])},
    ],
)
def test_what_does_not_print(entries, make):
    path = noted(make, **entries)
    assert not look(path).document.strokes
    assert not drawn(opened(path).at_ppi(72)).any()


def test_the_appearance_of_the_current_state(make):
    path = noted(make, AP=lambda look_: Dictionary(N=Dictionary(On=look_)), AS=Name.On)
    assert len(look(path).document.strokes) == 1


def test_the_state_of_the_page_does_not_leak(make):
    """Whatever the page left open, the annotation starts anew."""
    path = noted(make, b"q 0 0 1 1 re W n 9 0 0 9 0 0 cm 7 w", appearance=b"0 0 m 10 10 l S")
    (stroke,) = look(path).document.strokes
    assert stroke.width_mm == pytest.approx(2 * MM)
    assert stroke.area.width_mm > 19 * MM
