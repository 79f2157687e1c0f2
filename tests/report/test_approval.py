"""The approval: what a customer signs, when there is something to sign, and what a stop takes away."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from preflight.model import Report, Severity, Verdict
from preflight.report.content import content
from preflight.report.html import page
from preflight.report.language import ENGLISH
from preflight.report.pdf import document
from preflight.report.shown import Shown
from preflight.shop import Letterhead
from tests.report.html.reading import read
from tests.report.html.test_pages import views
from tests.report.pdf.reading import tight, words
from tests.report.samples import finding, report, unordered_report, unread_report, unsized_report

HEAD = Letterhead(name="Corner Press")
ASK, NOTE, STOP = finding("heavy-ink", Severity.ASK), finding("stray-specks", Severity.NOTE), finding("thin-line")
READY = replace(report(Verdict.READY), findings=())


def told(made: Report):  # type: ignore[no-untyped-def]
    return content(made, views(), ENGLISH).approval


def test_it_names_the_version_the_size_and_the_day() -> None:
    facts = dict(told(report(Verdict.ASK, ASK)).facts)
    assert facts["File"] == "badge.png"
    assert facts["Fingerprint (SHA-256)"] == "ab" * 32
    assert facts["Size of the print"] == "280 × 186.7 mm"
    assert facts["Copies"] == "12"
    assert facts["Garment"] == "#1d1d1f, navy"
    assert date.fromisoformat(facts["Date of this check"]) <= date.today()


def test_questions_and_notes_are_ticked_and_signed() -> None:
    block = told(report(Verdict.ASK, ASK, NOTE))
    assert block.accept == ("I accept point 1: Title of heavy-ink.", "I accept point 2: Title of stray-specks.")
    assert (block.change, block.sign) == ((), ("Name", "Date", "Signature"))


def test_a_stop_must_change_and_nothing_is_signed() -> None:
    block = told(report(Verdict.STOP, STOP, ASK))
    assert block.change == ("Point 1: Title of thin-line.",)
    assert block.accept == ("I accept point 2: Title of heavy-ink.",)
    assert block.sign == ()
    assert "not printed" in block.lead


def test_good_artwork_is_signed_without_boxes() -> None:
    block = told(READY)
    assert (block.accept, block.change) == ((), ())
    assert block.sign == ("Name", "Date", "Signature")


@pytest.mark.parametrize(
    "made",
    [
        unread_report(),
        unordered_report(),
        unsized_report(),
        replace(report(Verdict.UNCHECKED), findings=()),
        replace(READY, sha256=None),
    ],
    ids=["unread", "unordered", "unsized", "unchecked", "unsummed"],
)
def test_there_is_nothing_to_approve(made: Report) -> None:
    assert content(made, None, ENGLISH).approval is None
    shown = Shown(made, None)
    assert "Your approval" not in page(shown, HEAD)
    assert tight("Your approval") not in words(document(shown, HEAD))


@pytest.mark.parametrize("made", [READY, report(Verdict.ASK, ASK, NOTE), report(Verdict.STOP, STOP, ASK)])
def test_page_and_sheet_say_the_same(made: Report) -> None:
    block, shown = told(made), Shown(made, views())
    section = read(page(shown, HEAD)).one("section", "approval")
    html, pdf = tight(section.text), words(document(shown, HEAD))
    lines = [block.title, block.lead, block.answer, *block.accept, *block.change, *block.sign]
    for line in [*lines, *(part for pair in block.facts for part in pair)]:
        assert tight(line) in html, line
        assert tight(line) in pdf, line
    assert len(list(section.all("span", "tick"))) == len(block.accept)
    assert not list(section.all("input"))
    assert not list(section.all("script"))
