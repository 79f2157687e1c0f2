"""``preflight check --format pdf``: where the sheets go, and what they never take the place of."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from preflight.model import ExitStatus
from tests.report.html.test_command import ROOT, folder, run

from .reading import sheets, tight, words

__all__ = ["folder"]


def order(path: Path, pages: int = 1) -> bytes:
    """A customer's PDF."""
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(path), pagesize=(200, 150))
    for _ in range(pages):
        canvas.setFillColor("#a03020")
        canvas.circle(100, 75, 50, stroke=0, fill=1)
        canvas.showPage()
    canvas.save()
    return path.read_bytes()


def test_one_artwork_goes_into_a_file_and_again(folder: Path) -> None:
    for _ in range(2):
        done = run(folder, "thin.png", "--format", "pdf", "--output", "thin.pdf", "--garment", "navy")
        assert (done.returncode, done.stdout, done.stderr) == (ExitStatus.STOP, "", "")
    assert tight("before we can print this") in words((folder / "thin.pdf").read_bytes())
    assert sorted(path.name for path in folder.iterdir()) == ["good.png", "thin.pdf", "thin.png"]


def test_one_artwork_goes_through_a_pipe(folder: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "preflight", "check", "good.png", "--format", "pdf"]
    done = subprocess.run(command, capture_output=True, cwd=folder, env=environment, check=False)
    assert done.returncode == ExitStatus.READY, done.stderr
    assert done.stdout.startswith(b"%PDF-")
    assert sheets(done.stdout) >= 2


def test_several_go_into_a_folder(folder: Path) -> None:
    done = run(folder, "good.png", "thin.png", "missing.png", "--format", "pdf", "--output", "reports")
    assert (done.returncode, done.stderr) == (ExitStatus.UNCHECKED, "")
    assert sorted(path.name for path in (folder / "reports").iterdir()) == ["good.pdf", "missing.pdf", "thin.pdf"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("good.png", "thin.png", "--format", "pdf"), "Name a folder"),
        (("good.png", "thin.png", "--format", "pdf", "--output", "all.pdf"), "do not go into one file. Name a folder"),
        (("good.png", "--format", "pdf", "--output", "good.png"), "written over the artwork"),
        (("good.png", "--format", "pdf", "--output", "no/such.pdf"), "there is no folder"),
    ],
)
def test_what_cannot_be_is_said_before_any_work(folder: Path, arguments: tuple[str, ...], said: str) -> None:
    done = run(folder, *arguments)
    assert done.returncode == ExitStatus.USED_WRONGLY
    assert said in done.stderr
    assert sorted(path.name for path in folder.iterdir()) == ["good.png", "thin.png"]


def test_a_customers_pdf_is_never_replaced(folder: Path) -> None:
    before = order(folder / "good.pdf")
    done = run(folder, "good.png", "--format", "pdf", "--output", "good.pdf")
    assert done.returncode == ExitStatus.USED_WRONGLY
    assert "a file that is no report is there already" in done.stderr
    for _ in range(2):
        done = run(folder, "good.png", "good.pdf", "--format", "pdf", "--output", ".")
        assert done.stderr == ""
    assert (folder / "good.pdf").read_bytes() == before
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["good-2.pdf", "good-3.pdf", "good.pdf", "good.png", "thin.png"]


def test_every_page_of_a_document_has_a_report(folder: Path) -> None:
    order(folder / "sheet.pdf", pages=2)
    one = run(folder, "sheet.pdf", "--format", "pdf", "--output", "answer.pdf")
    assert one.returncode == ExitStatus.READY or one.returncode == ExitStatus.ASK, one.stderr
    assert {path.name for path in folder.glob("answer*")} == {"answer.pdf", "answer.page-2.pdf"}
    kept = order(folder / "other.page-2.pdf")
    two = run(folder, "sheet.pdf", "--format", "pdf", "--output", "other.pdf")
    assert two.returncode == ExitStatus.USED_WRONGLY
    assert (folder / "other.page-2.pdf").read_bytes() == kept


def test_other_formats_do_not_load_it(folder: Path) -> None:
    code = (
        "import sys; from preflight.cli import main\n"
        "try: main(['check', 'good.png', '--format', 'html', '--output', 'x.html'])\n"
        "except SystemExit: pass\n"
        "print([name for name in sys.modules if name.startswith('reportlab')])"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=folder, env=environment)
    assert done.stdout.strip() == "[]", done.stderr
