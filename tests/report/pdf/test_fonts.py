"""The letters of a PDF: which there are, that they are inside, and what stands for those that are not there."""

from __future__ import annotations

import hashlib
import io
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

import preflight
from preflight.model import Bytes
from preflight.report.pdf import document
from preflight.report.pdf.fonts import BOLD, REGULAR, known, width, written
from preflight.report.shown import Shown
from preflight.shop import Letterhead
from tests.report.html.test_pages import shown, views
from tests.report.samples import report, saving_report

from .reading import fonts, tight, words

HEAD = Letterhead(name="Corner Press")
DATA = Path(preflight.__file__).parent / "data"
#: Every letter that the five languages need, and the signs of figures.
LETTERS = (
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
    "ÄÖÜäöüßẞÀÂÆÇÈÉÊËÎÏÔŒÙÛŸàâæçèéêëîïôœùûÿÁÍÓÚÑáíóúñ¿¡ÃÕãõªº"
    "€–—“”„‚‘’«»…²³·×°•±½§%()[]{}<>&@#\"'*/\\Δ→✓"
)
#: Words of other alphabets that are read from left to right.
NAMES = (
    "Zażółć gęślą jaźń", "Příliš žluťoučký kůň", "Ελληνικά άέήίόύώ ΐΰ", "Съешь ещё этих булок, їжак ґанок",
    "Tiếng Việt ổ ữ", "Ğüşıöç", "Ąčęėįšųūž", "Հայերեն", "ქართული", "₹ ₺ ₴ ₽",
)  # fmt: skip


def test_all_fonts_are_inside() -> None:
    data = document(shown(saving_report()), HEAD)
    found = fonts(data)
    assert found
    assert all(found.values()), found
    assert all("DejaVuSans" in name for name in found)


def test_the_letters_of_five_languages_are_known() -> None:
    assert not set(LETTERS) - known()
    assert written("3.2 ΔE00") == "3.2\u00a0ΔE00"
    assert written("20 mm") == "20\u00a0mm"


@pytest.mark.parametrize("name", NAMES)
def test_names_of_other_alphabets_can_be_read_in_the_pdf(name: str) -> None:
    made = replace(report(), file=f"{name}.png", sha256="0" * 64)
    data = document(Shown(made, views()), HEAD)
    assert written(name) == name
    assert tight(f"{name}.png") in words(data)


def test_a_greek_letter_has_a_shape_of_its_own() -> None:
    """That a letter has a number in the font does not say that anything is drawn for it."""
    pages = [drawn(letter) for letter in ("Δ", "Ж", "ł", "\ufffd")]
    assert len({page.tobytes() for page in pages}) == len(pages)
    assert all(page.min() < 100 for page in pages)


def drawn(letter: str) -> Bytes:
    """The letter as pixels, uint8 (60, 60)."""
    known()
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(60, 60))
    canvas.setFont(REGULAR, 40)
    canvas.drawString(10, 10, letter)
    canvas.save()
    return np.array(pypdfium2.PdfDocument(stream.getvalue())[0].render(scale=1, grayscale=True).to_pil())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("漢字.png", "[U+6F22 U+5B57].png"),
        ("a漢b字", "a[U+6F22]b[U+5B57]"),
        ("שלום", "[U+05E9 U+05DC U+05D5 U+05DD]"),  # read from right to left: in this order it would be wrong
        ("🦄", "[U+1F984]"),
        ("─", "-"),
        ("a\u202e", "a\\u202e"),
        ("e\u0301", "é"),
    ],
)
def test_what_the_font_lacks_is_shown_by_number(text: str, said: str) -> None:
    assert written(text) == said


def test_no_figure_and_no_name_becomes_an_empty_box() -> None:
    made = replace(report(), file="漢字 Δ мир.png")
    read = words(document(Shown(made, views()), HEAD))
    assert tight("[U+6F22 U+5B57] Δ мир.png") in read
    assert "\ufffd" not in read
    assert "\x00" not in read


def test_both_fonts_have_the_same_letters_and_widths_of_their_own() -> None:
    assert len(known()) > 2000
    assert width("Δ мир", 10, BOLD) > width("Δ мир", 10) > 0


def test_the_story_of_the_fonts_tells_of_these_files() -> None:
    told = (DATA / "report-fonts.txt").read_text(encoding="utf-8")
    for name in ("report-regular.ttf", "report-bold.ttf"):
        data = (DATA / name).read_bytes()
        assert hashlib.sha256(data).hexdigest() in told
        assert len(data) < 256 * 1024
        assert name in told
    assert re.search("Permission is hereby granted, free of charge", told)
