"""Strokes: their width after every matrix; width 0 is the thinnest line of the device (ISO 32000-1, 8.4.3.2)."""

import math

import pytest
from pikepdf import Array, Dictionary, Name

from tests.intake.pdf.making import MM, form, look, stream


def strokes(make, content, resources=None):
    return look(make(content, resources)).document.strokes


def only(make, content, resources=None):
    (found,) = strokes(make, content, resources)
    return found


@pytest.mark.parametrize(
    ("content", "points"),
    [
        (b"10 10 m 90 10 l S", 1),  # the width that a page starts with
        (b"0.25 w 10 10 m 90 10 l S", 0.25),
        (b"0 w 10 10 m 90 10 l S", 0),
        (b"0.1 0 0 0.1 0 0 cm 3 w 100 100 m 900 100 l S", 0.3),
        (b"0 2 -2 0 50 0 cm 0.5 w 5 5 m 9 9 l S", 1),
        (b"0.5 w 10 10 30 20 re s", 0.5),
        (b"0.5 w 10 10 30 20 re B", 0.5),
        (b"0.5 w 10 10 m 20 20 30 20 40 10 c b*", 0.5),
        (b"q 7 w Q 0.5 w 1 1 m 9 9 l S", 0.5),
        (b"/W gs 1 1 m 9 9 l S", 0.75),
        # A matrix that stretches one way: across the line counts
        (b"1 0 0 0.1 0 0 cm 2 w 10 100 m 90 100 l S", 0.2),
        (b"1 0 0 0.1 0 0 cm 2 w 10 100 m 10 200 l S", 2),
        (b"1 0 0 0.1 0 0 cm 2 w 10 100 30 200 re S", 0.2),
        (b"1 0 0 0.1 0 0 cm 2 w 10 100 m 10 200 l 20 200 l S", 0.2),
        (b"1 0 0 0.1 0 0 cm 2 w 10 100 m 10 200 l 12 150 l h S", None),
        (b"1 0 0 0.1 0 0 cm 2 w 10 100 m 20 300 30 300 40 100 c S", 0.2),
    ],
)
def test_width_after_the_matrix(content, points, make):
    found = only(make, content, lambda pdf: {"ExtGState": Dictionary(W=Dictionary(LW=0.75))})
    if points is None:  # the closing line runs from (12, 150) to (10, 100): on the page 2 wide and 5 high
        points = 0.1 * 2 * math.hypot(2, 50) / math.hypot(2, 5)
    assert found.width_mm == pytest.approx(points * MM)


@pytest.mark.parametrize("turn", [0, 15, 30, 45, 60, 75, 90])
def test_a_turned_line_keeps_its_width(turn, make):
    """The matrix turns and then squeezes: the width follows from the direction on the page."""
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    matrix = f"{cos} {0.5 * sin} {-sin} {0.5 * cos} 60 20"
    found = only(make, f"{matrix} cm 1 w 0 0 m 30 0 l S".encode())
    # Area of the strip is kept up to the determinant: width × length = 0.5 × 1 × 30
    length = 30 * math.hypot(cos, 0.5 * sin)
    assert found.width_mm == pytest.approx(0.5 * 30 / length * MM)


def test_where_a_stroke_lies(make):
    area = only(make, b"4 w 20 30 m 60 30 l S").area
    assert (area.x_mm, area.y_mm) == pytest.approx((18 * MM, (72 - 32) * MM))
    assert (area.width_mm, area.height_mm) == pytest.approx((44 * MM, 4 * MM))


@pytest.mark.parametrize(
    "content",
    [
        b"10 10 m 90 10 l n",
        b"10 10 m 90 10 l f",
        b"S",
        b"500 500 m 600 600 l S",
        b"0 0 5 5 re W n 50 50 m 60 60 l S",
        b"/Gone gs 10 10 m 90 10 l S",
        b"/None CS 1 SCN 10 10 m 90 10 l S",
    ],
)
def test_what_is_not_stroked(content, make):
    def resources(pdf):
        tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1], C1=[0], N=1)
        return {
            "ExtGState": Dictionary(Gone=Dictionary(CA=0)),
            "ColorSpace": Dictionary({"/None": Array([Name.Separation, Name("/None"), Name.DeviceGray, tint])}),
        }

    assert not strokes(make, content, resources)


def test_a_clip_ends_with_its_state(make):
    found = only(make, b"q 0 0 5 5 re W n Q 50 50 m 60 60 l S")
    assert found.area.width_mm == pytest.approx(11 * MM)


def test_strokes_in_forms_and_patterns(make):
    def resources(pdf):
        cell = stream(pdf, b"0.1 w 0 0 m 5 5 l S", PatternType=1, PaintType=1, TilingType=1, BBox=Array([0, 0, 5, 5]),
                      XStep=5, YStep=5, Resources=Dictionary(), Matrix=Array([2, 0, 0, 2, 0, 0]))  # fmt: skip
        return {
            "XObject": Dictionary(F=form(pdf, b"0.3 w 0 0 m 5 5 l S", Matrix=Array([3, 0, 0, 3, 0, 0]))),
            "Pattern": Dictionary(Q=cell),
        }

    found = strokes(make, b"/F Do /Pattern cs /Q scn 0 0 50 50 re f", resources)
    assert sorted(stroke.width_mm for stroke in found) == pytest.approx([0.2 * MM, 0.9 * MM])


def test_the_thinnest_of_many_are_kept(make):
    lines = b"".join(b"%f w 10 10 m 90 10 l S " % (n / 1000) for n in range(3000, 0, -1))
    found = strokes(make, lines)
    assert len(found) == 2000
    assert max(stroke.width_mm for stroke in found) == pytest.approx(2 * MM)
