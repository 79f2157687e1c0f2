"""Transform lists: what cannot be read changes nothing."""

import pytest

from preflight.intake.pdf.matrix import IDENTITY
from preflight.intake.svg.transform import parse


def test_one_after_another():
    assert parse("translate(3,4) scale(2)") == pytest.approx((2, 0, 0, 2, 3, 4))
    assert parse("rotate(90 1 1)") == pytest.approx((0, 1, -1, 0, 2, 0))


@pytest.mark.parametrize(
    "text",
    ["rotate(1e400)", "rotate(-1e400 1 2)", "skewX(1e400)", "skewY(1e999)", "translate(1e400)",
     "matrix(1 0 0 1 1e400 0)",
     "scale(1e400)", "scale(2) rotate(1e400)", "rotate(", "", None],
)  # fmt: skip
def test_numbers_beyond_all_others(text):
    assert parse(text) == IDENTITY
