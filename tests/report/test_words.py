"""Words and figures of the reports."""

from __future__ import annotations

import codecs
import unicodedata
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.model import Measurement, Ticket, Verdict
from preflight.report import words
from tests.report.samples import report


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        ("plain name.png", "plain name.png"),
        ("Käse · 漢字 🚲.png", "Käse · 漢字 🚲.png"),
        ("a\x1b[31mb", "a\\x1b[31mb"),
        ("a\nb\tc", "a\\x0ab\\x09c"),
        ("a\u202eb\u200bc", "a\\u202eb\\u200bc"),
        ("\udcff", "\\udcff"),
        ("👩\u200d🌾", "👩\u200d🌾"),
        ("\U000e0041", "\\U000e0041"),
    ],
)
def test_plain(raw: str, shown: str) -> None:
    assert words.plain(raw) == shown


@given(st.text(st.characters(codec=None)))
def test_plain_text_can_be_printed_anywhere(raw: str) -> None:
    shown = words.plain(raw)
    steering = {"Cc", "Cf", "Cs", "Zl", "Zp"}
    assert all(letter == "\u200d" or unicodedata.category(letter) not in steering for letter in shown)
    shown.encode("utf-8")


def test_sentence_folds_lines() -> None:
    assert words.sentence("one\n two\x1b") == "one two\\x1b"


@pytest.mark.parametrize(
    ("value", "shown"), [(12.346, "12.35 EUR"), (0.0451, "0.045 EUR"), (0.0, "0.00 EUR"), (-0.04, "-0.040 EUR")]
)
def test_money(value: float, shown: str) -> None:
    assert words.money(value, "EUR") == shown


def test_ordered() -> None:
    made = report()
    assert words.ordered(replace(made, ticket=Ticket())) == "1 copy"
    fast = Ticket(copies=2, garments=("navy",), mode="fast")
    assert words.ordered(replace(made, ticket=fast)) == "2 copies, on navy, mode fast"


def test_an_order_that_was_not_read_is_not_told() -> None:
    unread = Measurement("ticket-unreadable", 1.0, "count")
    made = replace(report(), ticket=Ticket(), measures={"ticket-unreadable": unread})
    assert words.ordered(made) == ""


@pytest.mark.parametrize(
    ("text", "said"), [("the file is empty", "The file is empty"), ("", ""), ("Ärmel", "Ärmel"), ("ß", "SS")]
)
def test_capital(text: str, said: str) -> None:
    assert words.capital(text) == said


def test_tally() -> None:
    told = [Verdict.READY, Verdict.STOP, Verdict.READY, Verdict.UNCHECKED]
    assert words.tally(told) == "4 artworks: 2 ready, 1 stop, 1 not checked."


def test_a_poor_encoding_gets_stand_ins() -> None:
    assert "0.5 mm² ΔE00 × ☃".encode("ascii", words.STAND_IN) == b"0.5 mm2 dE00 x ?"
    assert "6 mm² Δ".encode("cp1252", words.STAND_IN) == "6 mm² d".encode("cp1252")
    with pytest.raises(UnicodeDecodeError):
        codecs.decode(b"\xff", "utf-8", words.STAND_IN)
