"""Overprint that does something. ISO 32000-1, 8.6.7 (from memory)."""

import pytest
from pikepdf import Dictionary, Name

from tests.intake.pdf.making import MM, look, picture, separation

UNDER = b"1 0 0 0 k 20 20 40 40 re f "
ON_IT = b"30 30 10 10 re f"
BESIDE = b"100 20 10 10 re f"


def resources(pdf):
    return {
        "ExtGState": Dictionary(
            O1=Dictionary(OP=True, op=True, OPM=1),
            O0=Dictionary(OP=True, op=True, OPM=0),
            Both=Dictionary(OP=True),
            Strokes=Dictionary(OP=True, op=False, OPM=1),
            Off=Dictionary(OP=False),
        ),
        "ColorSpace": Dictionary(G=separation("Gold"), W=separation("White")),
        "XObject": Dictionary(C=picture(pdf, 2, 2, bytes(16), ColorSpace=Name.DeviceCMYK)),
    }


def overprinted(make, content):
    return look(make(content, resources)).document.overprint


@pytest.mark.parametrize(
    "content",
    [
        UNDER + b"/O1 gs 0 0 0 1 k " + ON_IT,
        UNDER + b"/O1 gs 0 0 0 1 K 25 25 m 55 55 l S",
        UNDER + b"/O0 gs /G cs 1 scn " + ON_IT,
        UNDER + b"/Both gs /G cs 1 scn " + ON_IT,
        UNDER + b"q /O1 gs Q /O1 gs 0 0 0 1 k " + ON_IT,
        b"/O1 gs 0 0 0 0 k " + BESIDE,  # white that overprints vanishes wherever it lies
    ],
)
def test_what_acts_on_what_lies_below(content, make):
    assert len(overprinted(make, content)) == 1


@pytest.mark.parametrize(
    "content",
    [
        UNDER + b"/O1 gs 0 0 0 1 k " + BESIDE,  # nothing below
        b"/O1 gs 0 0 0 1 k " + ON_IT + b" /Off gs " + UNDER,  # painted before
        UNDER + b"/O0 gs 0 0 0 1 k " + ON_IT,  # mode 0 replaces every process ink
        UNDER + b"/O1 gs 1 0 0 rg " + ON_IT,
        UNDER + b"/O1 gs 0 g " + ON_IT,
        UNDER + b"/O1 gs 0.2 0.2 0.2 1 k " + ON_IT,  # every ink is replaced
        UNDER + b"/O1 gs 9 0 0 9 30 30 cm /C Do",  # mode 1 is not for pictures
        UNDER + b"/Strokes gs 0 0 0 1 k " + ON_IT,
        UNDER + b"/O1 gs /Off gs 0 0 0 1 k " + ON_IT,
        UNDER + b"q /O1 gs Q 0 0 0 1 k " + ON_IT,
        UNDER + b"/O1 gs 0 0 0 1 k 900 900 9 9 re f",
        UNDER + b"/O0 gs /W cs 1 scn " + ON_IT,  # a white plate has to overprint
    ],
)
def test_what_does_nothing(content, make):
    assert not overprinted(make, content)


def test_where_it_is(make):
    (area,) = overprinted(make, UNDER + b"/O1 gs 0 0 0 1 k " + ON_IT)
    assert (area.x_mm, area.y_mm) == pytest.approx((30 * MM, (72 - 40) * MM))
    assert (area.width_mm, area.height_mm) == pytest.approx((10 * MM, 10 * MM))


def test_the_second_walk_tells_the_same_as_the_first(make):
    """A page that overprints is walked twice; nothing is counted double."""
    content = UNDER + b"1 w 10 10 m 50 50 l S 9 0 0 9 0 0 cm /C Do "
    plain, over = (look(make(content + end, resources)).document for end in (b"", b"/O1 gs 0 0 0 1 k 3 3 1 1 re f"))
    assert len(over.overprint) == 1
    assert (plain.strokes, plain.pictures) == (over.strokes, over.pictures)
