"""``preflight check --format html``: where the pages go, and what is refused before any work is done."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from preflight.model import ExitStatus
from tests.views.made import clear, disc, paint, stroke

from .reading import read

ROOT = Path(__file__).parents[3]


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"}
    return subprocess.run(
        [sys.executable, "-m", "preflight", "check", *arguments],
        capture_output=True, text=True, encoding="utf-8", cwd=folder, env=environment, check=False,
    )  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two artworks: a good one, and one with a thin line."""
    rgba = clear(50, 40)
    paint(rgba, disc(rgba, (25, 20), 10), (160, 60, 50))
    Image.fromarray(rgba).save(tmp_path / "good.png", dpi=(300, 300))
    paint(rgba, stroke(rgba, (25, 35), 30, 0.2, 0), (160, 60, 50))
    Image.fromarray(rgba).save(tmp_path / "thin.png", dpi=(300, 300))
    return tmp_path


def test_one_artwork_goes_into_a_file(folder: Path) -> None:
    done = run(folder, "thin.png", "--format", "html", "--output", "thin.html", "--garment", "navy")
    assert (done.returncode, done.stdout, done.stderr) == (ExitStatus.STOP, "", "")
    whole = read((folder / "thin.html").read_text(encoding="utf-8"))
    assert "before we can print this" in whole.one("h1").text
    assert len(list(whole.one("figure", "overview").all("img"))) == 1
    assert list(whole.all("figure", "closely"))
    assert sorted(path.name for path in folder.iterdir()) == ["good.png", "thin.html", "thin.png"]


def test_one_artwork_goes_to_the_screen_too(folder: Path) -> None:
    done = run(folder, "good.png", "--format", "html")
    assert done.returncode == ExitStatus.READY
    assert "ready to print" in read(done.stdout).one("h1").text


def test_several_go_into_a_folder_with_a_list(folder: Path) -> None:
    done = run(folder, "good.png", "thin.png", "missing.png", "--format", "html", "--output", "reports", "--jobs", "2")
    assert (done.returncode, done.stderr) == (ExitStatus.UNCHECKED, "")
    names = sorted(path.name for path in (folder / "reports").iterdir())
    assert names == ["good.html", "index.html", "missing.html", "thin.html"]
    links = [node.attributes["href"] for node in read((folder / "reports" / "index.html").read_text("utf-8")).all("a")]
    assert links == ["good.html", "thin.html", "missing.html"]
    again = run(folder, "good.png", "--format", "html", "--output", "reports")
    assert again.returncode == ExitStatus.READY


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("good.png", "thin.png", "--format", "html"), "do not go on the screen. Name a folder"),
        (
            ("good.png", "thin.png", "--format", "html", "--output", "all.html"),
            "do not go into one file. Name a folder",
        ),
        (("good.png", "--format", "html", "--output", "good.png"), "written over the artwork"),
        (("good.png", "--format", "html", "--output", "no/such/folder"), "Make that folder first"),
        (("good.png", "--format", "html", "--output", "no/such.html"), "there is no folder"),
    ],
)
def test_what_cannot_be_is_said_before_any_work(folder: Path, arguments: tuple[str, ...], said: str) -> None:
    done = run(folder, *arguments)
    assert done.returncode == ExitStatus.USED_WRONGLY
    assert said in done.stderr
    assert sorted(path.name for path in folder.iterdir()) == ["good.png", "thin.png"]


def test_every_page_of_a_document_has_a_page(folder: Path) -> None:
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(folder / "sheet.pdf"), pagesize=(200, 150))
    for colour in ("#a03020", "#2040a0"):
        canvas.setFillColor(colour)
        canvas.circle(100, 75, 50, stroke=0, fill=1)
        canvas.showPage()
    canvas.save()
    one = run(folder, "sheet.pdf", "--format", "html", "--output", "sheet.html")
    assert one.returncode == ExitStatus.ASK, one.stderr
    assert {path.name for path in folder.glob("*.html")} == {"sheet.html", "sheet.page-2.html"}
    many = run(folder, "sheet.pdf", "--format", "html", "--output", "out")
    assert many.returncode == ExitStatus.ASK
    names = {path.name for path in (folder / "out").iterdir()}
    assert names == {"index.html", "sheet.html", "sheet.page-2.html"}
    second = read((folder / "out" / "sheet.page-2.html").read_text("utf-8"))
    assert list(second.one("figure", "overview").all("img"))
    screen = run(folder, "sheet.pdf", "--format", "html")
    assert screen.returncode == ExitStatus.USED_WRONGLY
    assert "each has a report of its own" in screen.stderr


def test_other_formats_draw_no_pictures(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither the module that draws nor that of the pages is loaded for them."""
    code = (
        "import sys; from preflight.cli import main\n"
        "try: main(['check', 'good.png', '--format', 'json', '--output', 'x.json'])\n"
        "except SystemExit: pass\n"
        "print([name for name in sys.modules if 'preflight.views' in name or 'report.html' in name])"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=folder, env=environment)
    assert done.stdout.strip() == "[]", done.stderr


def test_a_picture_that_cannot_be_drawn_does_not_cost_the_answer(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from preflight.engine import TRACEBACK, VIEWS, Checker, check
    from preflight.rulebook import load_rulebook
    from preflight.shop import Shop
    from preflight.ticket import Order
    from preflight.views import wishes

    def impossible(*_: object, **__: object) -> object:
        return replace_canvas(wanted(*_, **__))

    wanted = wishes.wanted

    def replace_canvas(wish: object) -> object:
        from dataclasses import replace

        return replace(wish, canvas=(1, 1))  # type: ignore[type-var]

    monkeypatch.setattr(wishes, "wanted", impossible)
    report = check(folder / "good.png", Checker(Order(), Shop.default(), load_rulebook(Shop.default()), pictures=True))
    assert report.verdict == "ready"
    assert VIEWS not in report.extra
    assert "changed while" in report.extra[TRACEBACK]


def test_the_artwork_of_an_a3_is_small_on_the_page(folder: Path) -> None:
    """A photograph of A3 at 300 ppi: the most that is usual."""
    rng = np.random.default_rng(2)
    coarse = rng.integers(0, 256, (70, 50, 3), np.uint8)
    Image.fromarray(coarse).resize((3508, 4961), Image.Resampling.BICUBIC).save(folder / "a3.jpg", quality=85)
    done = run(folder, "a3.jpg", "--width", "297mm", "--garment", "navy", "--format", "html", "--output", "a3.html")
    assert done.stderr == ""
    assert (folder / "a3.html").stat().st_size < 2_000_000
