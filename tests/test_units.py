"""Quantities with units."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.errors import UnitError
from preflight.units import parse_length, parse_mass, ppi, show_number

ALL = ("mm", "cm", "m", "in", "pt")


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("280mm", 280.0),
        ("280 mm", 280.0),
        (" 28cm ", 280.0),
        ("11in", 279.4),  # 1 in = 25.4 mm (CSS Values and Units, 6.2)
        ("72pt", 25.4),  # 72 pt = 1 in (CSS Values and Units, 6.2; ISO 32000-1, 8.3.2.3)
        ("0.3m", 300.0),
        (".5mm", 0.5),
        ("+5MM", 5.0),
    ],
)
def test_lengths_are_read_in_millimetres(text: str, millimetres: float) -> None:
    assert parse_length(text, units=ALL) == pytest.approx(millimetres, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "what", "next_step"),
    [
        ("12", "has no unit", "12mm"),
        ("12 parsecs", "unit this program does not know", "mm, cm, in, pt"),
        ("0,3 m", "decimal comma", "0.3m"),
        ("0,3", "decimal comma", "0.3mm"),
        ("0.3 m", "unit this program does not know", "mm, cm, in, pt"),
        ("", "is not a length", "280mm"),
        ("mm", "is not a length", "280mm"),
        ("nan mm", "is not a length", "280mm"),
        ("inf", "is not a length", "280mm"),
        ("1e9mm", "is not a length", "280mm"),
        ("9" * 400 + "mm", "is not a length", "280mm"),
        ("0mm", "more than zero", "280mm"),
        ("-4mm", "more than zero", "280mm"),
        ("1 2 mm", "is not a length", "280mm"),
        ("4mm2", "is not a length", "280mm"),
        ('11"', "unit this program does not know", "mm, cm, in, pt"),
        ("x" * 5000, "is not a length", "280mm"),
    ],
)
def test_a_slip_in_a_length_is_said(text: str, what: str, next_step: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_length(text, what="--width")
    assert what in caught.value.what
    assert next_step in caught.value.next_step
    assert caught.value.what.startswith("--width '")
    assert len(str(caught.value)) < 250


def test_zero_only_where_it_is_allowed() -> None:
    assert parse_length("0mm", zero=True) == 0
    with pytest.raises(UnitError):
        parse_length("-1mm", zero=True)


def test_masses_are_read_in_grams() -> None:
    assert parse_mass("420g") == 420
    assert parse_mass("1.2 kg") == pytest.approx(1200)
    with pytest.raises(UnitError, match="has no unit"):
        parse_mass("420")
    with pytest.raises(UnitError, match="does not know"):
        parse_mass("420mm")


@given(st.text())
def test_any_text_is_a_length_above_zero_or_a_unit_error(text: str) -> None:
    answer = answered(text)
    if isinstance(answer, UnitError):
        assert answer.next_step
    else:
        assert math.isfinite(answer)
        assert answer > 0


def answered(text: str) -> float | UnitError:
    try:
        return parse_length(text, units=ALL)
    except UnitError as error:
        return error


def test_ppi_of_a_png_that_says_11811_per_metre() -> None:
    # ISO/IEC 15948, 11.3.5.3: pHYs counts pixels per metre
    assert ppi(11811, 1000) == pytest.approx(299.9994, abs=1e-9)


def test_twice_the_size_is_half_the_ppi() -> None:
    assert ppi(3000, 2 * 254) == ppi(3000, 254) / 2 == 150


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(0, 3, "0"), (0.1834, 3, "0.183"), (5.0, 3, "5"), (1234.5, 4, "1234"), (99.99, 3, "100"), (-0.25, 3, "-0.25")],
)
def test_numbers_are_shown_short(value: float, digits: int, text: str) -> None:
    assert show_number(value, digits) == text


def test_what_was_written_is_shown_without_control_characters() -> None:
    with pytest.raises(UnitError) as caught:
        parse_length("\x1b[31m9\x00mm")
    assert "'?[31m9?mm'" in caught.value.what
    with pytest.raises(UnitError) as caught:
        parse_length("1,\x00/2mm")
    assert caught.value.next_step == "Write the number with a point: 1.?/2mm."
