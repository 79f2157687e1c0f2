"""The PDF: its parts, its words, its fonts, and that nothing from a customer's file can become markup."""

from __future__ import annotations

import io
from dataclasses import replace

import pikepdf
import pypdfium2
import pytest

from preflight.model import Report, Severity, Verdict
from preflight.report.content import content
from preflight.report.language import ENGLISH, Language
from preflight.report.letterhead import Logo
from preflight.report.pdf import document
from preflight.report.pdf.fonts import clipped, width, written
from preflight.report.shown import Shown
from preflight.shop import Letterhead
from preflight.views.model import JPEG, PNG, CloseUp, Picture, Views
from tests.report.html.test_pages import NAUGHTY, naughty_report, shade, shown, views
from tests.report.samples import finding, report, saving_report, unordered_report, unread_report, unsized_report

from .reading import active, alternatives, fonts, pictures, sheets, tight, words

HEAD = Letterhead(name="Corner Press", lines=("3 Mill Yard", "hello@corner-press.example"))


def told_words(made: Report) -> list[str]:
    """All that a customer is told about the findings."""
    told = content(made, views(), ENGLISH)
    lines = []
    for each in told.findings:
        lines += [each.title, *(part for row in each.rows for part in row), *(text for _, text in each.places)]
    return [told.headline, told.lead, *lines]


def test_every_word_of_every_finding_is_there_to_be_read() -> None:
    made = report(Verdict.STOP, finding(), finding("heavy-ink", Severity.ASK), finding("stray-specks", Severity.NOTE))
    text = words(document(shown(made), HEAD))
    for line in told_words(made):
        assert tight(line) in text, line
    for line in ("Corner Press", "3 Mill Yard", "For the shop", "White ink lies under", "Coated reference", "SHA-256"):
        assert tight(line) in text


def test_every_kind_of_report_becomes_sheets() -> None:
    ready = replace(report(Verdict.READY), findings=(), fine=("Lines are wide enough.", "It fits on our film."))
    for made, drawn in (
        (ready, views()),
        (unread_report(), None),
        (unordered_report(), None),
        (unsized_report(), None),
        (saving_report(), views()),
    ):
        data = document(Shown(made, drawn), HEAD)
        assert tight(content(made, drawn, ENGLISH).headline) in words(data)
        assert all(fonts(data).values())
    assert "Yourapproval" not in words(document(Shown(unread_report(), None), HEAD))


def test_it_says_what_it_is() -> None:
    data = document(shown(), HEAD, language=Language(code="de"))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert str(pdf.docinfo.Title) == "One thing to change before we can print this – badge.png"
        assert str(pdf.docinfo.Author) == "Corner Press"
        assert str(pdf.docinfo.Creator).startswith("preflight ")
        assert str(pdf.Root.Lang) == "de"
        assert not pdf.is_encrypted
    assert active(data) == set()
    assert "orders" not in words(data)  # where the shop keeps its files is nobody's business


def test_pictures_have_words_in_their_place() -> None:
    told = alternatives(document(shown(), HEAD))
    assert told[0].startswith("Your artwork on #1d1d1f. 280 × 186.7 mm. 1a marks a place at the top left: Title of")
    assert any("The measured width is drawn in: 0.22 mm." in text for text in told)


def test_each_sheet_has_its_number_and_a_small_line_of_ours() -> None:
    data = document(shown(), HEAD)
    count = sheets(data)
    assert count > 1
    for number, sheet in enumerate(pypdfium2.PdfDocument(data), 1):
        text = sheet.get_textpage().get_text_range()
        assert f"Sheet {number} of {count}" in text
        assert text.count("preflight") == 1


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("letter", (612, 792))])
def test_the_paper_is_the_shops(paper: str, size: tuple[float, float]) -> None:
    data = document(shown(), replace(HEAD, paper=paper))
    for sheet in pypdfium2.PdfDocument(data):
        assert sheet.get_size() == pytest.approx(size, abs=0.1)
    for _, _, (left, bottom, right, top) in pictures(data):
        assert 10 < left < right < size[0] / 72 * 25.4 - 10
        assert 10 < bottom < top < size[1] / 72 * 25.4 - 10


def test_the_part_for_the_shop_may_be_left_out() -> None:
    whole, lean = (words(document(shown(), replace(HEAD, shop_part=part))) for part in (True, False))
    for line in ("For the shop", "Coated reference", "EUR", "14.81"):
        assert tight(line) in whole
        assert tight(line) not in lean
    assert tight("Your approval") in lean


def test_the_logo_stands_at_the_head() -> None:
    data = document(shown(), HEAD, Logo(PNG, shade(300, 100).data))
    first = [place for sheet, pixels, place in pictures(data) if sheet == 0 and pixels == (300, 100)]
    ((left, bottom, right, top),) = first
    assert (right - left, top - bottom) == pytest.approx((48, 16), abs=0.1)
    assert left == pytest.approx(16, abs=0.1)
    for broken in (
        Logo(PNG, b"\x89PNG\r\n\x1a\nrest"),
        Logo(JPEG, b"\xff\xd8\xff rest"),
        Logo(JPEG, shade().data[:60]),
    ):
        assert "CornerPress" in words(document(shown(), HEAD, broken))


@pytest.mark.parametrize(
    "bad",
    [
        replace(shade(), data=b"%!PS-Adobe-3.0\n%%BoundingBox: 0 0 60 40\n"),
        replace(shade(), data=b"GIF89a" + bytes(100)),
        replace(shade(), data=shade().data[:80]),
        replace(shade(), data=shade(50, 50).data),
        replace(shade(), kind="image/svg+xml"),
    ],
    ids=["postscript", "gif", "half", "size", "kind"],
)
def test_a_picture_that_is_not_what_it_says_is_left_out(bad: Picture) -> None:
    drawn = Views((replace(views().on_cloth[0], picture=bad),), bad, (CloseUp(1, replace(bad, mm_per_px=0.1)),))
    data = document(Shown(report(), drawn), HEAD)
    assert not list(pictures(data))
    assert tight("Title of thin-line") in words(data)


@pytest.mark.parametrize("text", NAUGHTY, ids=range(len(NAUGHTY)))
def test_no_text_from_outside_becomes_markup(text: str) -> None:
    head = Letterhead(name=text[:100], lines=(text[:200],))
    data = document(Shown(naughty_report(text), views(text)), head)
    assert active(data) == set()
    harmless = document(Shown(naughty_report("harmless"), views("harmless")), HEAD)
    assert len(list(pictures(data))) == len(list(pictures(harmless)))
    assert all(fonts(data).values())
    assert len(fonts(data)) == len(fonts(harmless))
    # What can be shown is shown as it is, letter by letter: no mark of reportlab's was taken for one.
    assert tight(written(text[:400])) in words(data)


@pytest.mark.parametrize(
    "text",
    [
        "<b>bold</b>", '<font size="90" color="red">large</font>', '<img src="file:///etc/hostname" width="10"/>',
        '<a href="https://example.com">here</a>', "<br/><br/>", "<para>a</para>", "<unichar code='65'/>", "<onDraw/>",
        "<!-- hidden -->", "&nbsp;&#x41;&bogus;", "</para><seq/>", "a\u2028b", "%%EOF\nendobj\ntrailer <<>>",
        ") Tj ET /Launch (", "\\) \\( \\\\",
    ],
)  # fmt: skip
def test_the_markup_of_paragraphs_and_of_pdf_itself_is_text(text: str) -> None:
    data = document(Shown(naughty_report(text), views(text)), HEAD)
    assert active(data) == set()
    told = tight(written(" ".join(text.split())))
    assert told in words(data)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert not pdf.check_pdf_syntax()


def test_a_long_text_fills_as_many_sheets_as_it_needs() -> None:
    long = "A sentence that a shop wrote at length. " * 400
    made = report(Verdict.STOP, replace(finding(), fix=long, why=long))
    data = document(shown(made), HEAD)
    assert sheets(data) > 5
    assert words(data).count(tight("at length.")) >= 780  # but for the few that a sheet's foot parts


def test_many_findings_all_stand_there() -> None:
    made = report(Verdict.STOP, *(finding(f"rule-{n}") for n in range(40)))
    text = words(document(shown(made, views(close_ups=12)), HEAD))
    assert all(tight(f"Title of rule-{n}") in text for n in range(40))


def test_a_name_is_clipped_to_its_room() -> None:
    assert clipped("short.png", 7, 200) == "short.png"
    cut = clipped("x" * 400, 7, 100)
    assert cut.endswith("…")
    assert 90 < width(cut, 7) <= 100


@pytest.mark.parametrize("more", range(0, 40, 4))
def test_what_to_mind_at_the_press_stands_together(more: int) -> None:
    """Wherever it falls, no line of it is left alone on a sheet."""
    made = replace(report(), assumptions=tuple(f"Taken for granted, number {number}." for number in range(more)))
    pages = pypdfium2.PdfDocument(document(shown(made), HEAD))
    told = [tight(page.get_textpage().get_text_range()) for page in pages]
    (sheet,) = [text for text in told if "Whenyouprintit" in text]
    assert "Rulesforfire" in sheet
