"""Documents on their whole way, from the command's side: pages, locks, Ghostscript only where it is wanted."""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest

from fixtures import documents
from preflight.child import Job
from preflight.engine import MOST_UNASKED, TRACEBACK, Checker, check_pages
from preflight.intake import ghostscript
from preflight.jobs import answers
from preflight.model import Report, Verdict
from preflight.pages import Pages
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order
from tests.direct import Direct

needs_ghostscript = pytest.mark.skipif(ghostscript.command() is None, reason="Ghostscript is not installed")
BAR = "0.2 0.4 0.6 rg 2 2 60 20 re f"


def checker(pages: str | None = None) -> Checker:
    shop = Shop.default()
    chosen = None if pages is None else Pages.read(pages)
    return Checker(Order(width_mm=60.0), shop, load_rulebook(shop), chosen)


def write(folder: Path, count: int, broken: int | None = None) -> Path:
    """A document of several pages; one of them may have no area."""

    def edit(document: pikepdf.Pdf) -> None:
        for _ in range(count - 1):
            document.pages.append(document.pages[0])
        if broken is not None:
            page = document.pages[broken - 1]
            page.obj.MediaBox = pikepdf.Array([0, 0, 0, 0])

    path = folder / "pages.pdf"
    path.write_bytes(documents.pdf(BAR, edit))
    return path


def rules(report: Report) -> list[str]:
    assert TRACEBACK not in report.extra
    return [finding.rule for finding in report.findings]


def test_every_page_is_an_artwork(tmp_path: Path) -> None:
    reports = check_pages(write(tmp_path, 3), checker())
    assert [(report.page, report.pages) for report in reports] == [(1, 3), (2, 3), (3, 3)]
    assert [rules(report) for report in reports] == [["extra-pages"]] * 3
    assert len({report.sha256 for report in reports}) == 1


def test_chosen_pages_are_no_surplus(tmp_path: Path) -> None:
    reports = check_pages(write(tmp_path, 5), checker("2,4-5"))
    assert [report.page for report in reports] == [2, 4, 5]
    assert [rules(report) for report in reports] == [[]] * 3
    assert {report.verdict for report in reports} == {Verdict.READY}


def test_pages_beyond_the_end_are_passed_over_and_said(tmp_path: Path) -> None:
    reports = check_pages(write(tmp_path, 2), checker("2-9"))
    assert [report.page for report in reports] == [2]
    assert "The file has 2 pages; pages beyond that were asked for." in reports[0].assumptions


def test_a_page_that_is_not_there_is_an_answer(tmp_path: Path) -> None:
    (report,) = check_pages(write(tmp_path, 2), checker("7"))
    assert (report.page, report.verdict, rules(report)) == (7, Verdict.UNCHECKED, ["unreadable-file"])
    assert "there is no page 7" in report.findings[0].seen


@pytest.mark.parametrize("broken", [1, 2])
def test_a_broken_page_costs_only_itself(tmp_path: Path, broken: int) -> None:
    reports = check_pages(write(tmp_path, 3, broken), checker())
    assert [report.page for report in reports] == [1, 2, 3]
    assert [report.verdict is Verdict.UNCHECKED for report in reports] == [page == broken for page in (1, 2, 3)]


def test_a_long_document_is_not_checked_to_its_end_unasked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("preflight.engine.MOST_UNASKED", 3)
    reports = check_pages(write(tmp_path, 9), checker())
    assert [report.page for report in reports] == [1, 2, 3, 4]
    assert reports[-1].verdict is Verdict.UNCHECKED
    assert "9 pages" in reports[-1].findings[0].seen
    assert "--pages 4-9" in reports[-1].findings[0].seen + reports[-1].findings[0].fix
    assert MOST_UNASKED == 50


def test_a_picture_has_one_page(tmp_path: Path) -> None:
    from fixtures.drawing import png
    from fixtures.examples import badge

    path = tmp_path / "badge.png"
    path.write_bytes(png(badge().image()))
    (report,) = check_pages(path, checker("1"))
    assert (report.page, report.pages) == (1, 1)


def test_a_password_leaves_it_unchecked(tmp_path: Path) -> None:
    path = tmp_path / "locked.pdf"
    path.write_bytes(documents.pdf(BAR, lock=pikepdf.Encryption(owner="invented", user="invented")))
    (report,) = check_pages(path, checker())
    assert (report.verdict, rules(report)) == (Verdict.UNCHECKED, ["locked-file"])
    assert report.findings[0].severity == "stop"
    assert "password" in report.findings[0].seen


def jobs_of(path: Path) -> list[bool]:
    """Whether each job for a file may start another program."""
    asked: list[bool] = []

    class Watched(Direct):
        def start(self, job: Job[object], *, more: bool = False) -> object:
            asked.append(job.programs)
            return super().start(job, more=more)

    list(answers([path], checker().way, Watched(), 1))
    return asked


@needs_ghostscript
@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("screen.pdf", documents.pdf(BAR)),
        ("inks.pdf", documents.pdf(documents.INK_FIELD)),
        ("art.eps", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n1 1 7 7 rectfill\nshowpage\n%%EOF\n"),
    ],
)
def test_another_program_is_allowed_only_where_it_is_wanted(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    (report,) = check_pages(tmp_path / name, checker())
    assert TRACEBACK not in report.extra
    assert report.verdict is Verdict.READY
    if name == "inks.pdf":
        assert report.ink is not None
        assert report.ink.separation == "the file's own inks"
        assert report.ink.total_percent_max == pytest.approx(145, abs=1)


@needs_ghostscript
def test_the_first_look_is_without_another_program(tmp_path: Path) -> None:
    (tmp_path / "screen.pdf").write_bytes(documents.pdf(BAR))
    assert jobs_of(tmp_path / "screen.pdf") == [False]
