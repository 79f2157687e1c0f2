"""EPS, PS and AI without PDF inside, through Ghostscript; and the answer where that is not installed."""

from __future__ import annotations

import struct
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest

from preflight.errors import IntakeError
from preflight.intake import ghostscript
from preflight.intake.postscript import open_postscript

LIMIT = 118_800_000
HEAD = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 10 20 110 70\n%%EndComments\n"
#: A red rectangle of 50 × 25 points in the lower left corner of the box, and a line of 0.2 points.
ART = b"1 0 0 setrgbcolor 10 20 50 25 rectfill 0 setgray 0.2 setlinewidth 20 60 moveto 100 60 lineto stroke\n"
TAIL = b"showpage\n%%EOF\n"
EPS = HEAD + ART + TAIL
AT_END = EPS.replace(b"10 20 110 70", b"(atend)").replace(b"%%EOF", b"%%Trailer\n%%BoundingBox: 10 20 110 70\n%%EOF")


def with_preview(start, size, after=b""):
    """The head of a file that holds a preview too; where the drawing starts, and its length."""
    return b"\xc5\xd0\xd3\xc6" + struct.pack("<IIIIIIH", start, size, 0, 0, 0, 0, 0xFFFF) + after


PT = 25.4 / 72

needs_ghostscript = pytest.mark.skipif(ghostscript.command() is None, reason="Ghostscript is not installed")


def opened(data, save, name="art.eps"):
    return open_postscript(save(data, name), pixel_limit=LIMIT)


def whole(page) -> np.ndarray:
    return np.concatenate([strip.rgba for strip in page.strips()])


@needs_ghostscript
def test_an_eps(save):
    (page,) = opened(EPS, save)
    assert (page.name, page.page, page.facts.format) == ("art.eps", 1, "PostScript")
    document = page.document
    assert (document.width_mm, document.height_mm) == pytest.approx((100 * PT, 50 * PT), abs=0.01)
    assert document.size_certain
    assert page.facts.width * 25.4 / page.facts.density_ppi[0] == pytest.approx(100 * PT, abs=0.1)
    assert [stroke.width_mm for stroke in document.strokes] == pytest.approx([0.2 * PT])
    rgba = whole(page)
    assert rgba.shape == (page.facts.height, page.facts.width, 4)
    assert tuple(rgba[-5, 5]) == (255, 0, 0, 255)
    assert rgba[5, 5, 3] == 0  # nothing is drawn there: no paper either
    assert not any("no size" in note for note in page.facts.notes)


@needs_ghostscript
@pytest.mark.parametrize(
    ("data", "size"),
    [
        (EPS.replace(b"%%EndComments", b"%%HiResBoundingBox: 10.25 20.5 109.5 70\n%%EndComments"), (99.25, 49.5)),
        (AT_END, (100, 50)),
        (EPS.replace(b" EPSF-3.0", b""), (100, 50)),  # as drawing programs wrote their own files
        (b"\x04" + EPS, (100, 50)),
        (EPS.replace(b"\n", b"\r"), (100, 50)),
        (with_preview(32, len(EPS), b"\0\0" + EPS + b"preview"), (100, 50)),
        (b"%!PS\n<</PageSize [300 200]>> setpagedevice\n" + ART + TAIL, (300, 200)),
    ],
)
def test_size(data, size, save):
    page = opened(data, save)[0]
    found = (page.document.width_mm / PT, page.document.height_mm / PT)
    assert found == pytest.approx(size, abs=0.02)
    assert not any("no size" in note for note in page.facts.notes)


@needs_ghostscript
def test_without_a_box_an_a4_page_is_assumed_and_said(save):
    page = opened(b"%!PS\n" + ART + TAIL, save)[0]
    assert (page.document.width_mm, page.document.height_mm) == pytest.approx((210, 297), abs=0.1)
    assert any("A4 page was assumed" in note for note in page.facts.notes)
    asked = opened(b"%!PS\na4\n" + ART + TAIL, save)[0]  # the file asks for it itself
    assert not any("A4 page was assumed" in note for note in asked.facts.notes)


@needs_ghostscript
def test_fonts_that_are_put_in_are_not_the_files_own(save):
    text = b"/Helvetica findfont 12 scalefont setfont 20 50 moveto (Hello) show\n"
    text += b"/NoFontOfThisName findfont 7 scalefont setfont 20 30 moveto (small) show\n"
    page = opened(HEAD + text + TAIL, save)[0]
    runs = {run.font: run for run in page.document.texts}
    assert {name: run.embedded for name, run in runs.items()} == {"Helvetica": False, "NoFontOfThisName": False}
    assert runs["NoFontOfThisName"].size_pt == pytest.approx(7)
    assert any("Helvetica, NoFontOfThisName" in note for note in page.facts.notes)


@needs_ghostscript
def test_a_font_inside_the_file_is_its_own(save):
    glyphs = b"""8 dict begin /FontType 3 def /FontMatrix [.001 0 0 .001 0 0] def /FontBBox [0 0 700 700] def
    /Encoding 256 array def 0 1 255 {Encoding exch /.notdef put} for Encoding 65 /A put
    /BuildChar {pop pop 700 0 0 0 700 700 setcachedevice 0 0 700 700 rectfill} def currentdict end
    /Own exch definefont pop /Own findfont 10 scalefont setfont 20 40 moveto (AA) show\n"""
    page = opened(HEAD + glyphs + TAIL, save)[0]
    assert all(run.embedded for run in page.document.texts)
    assert not any("replaced" in note for note in page.facts.notes)


@needs_ghostscript
def test_inks(save):
    paint = b"0 1 0 0 setcmykcolor 10 20 20 20 rectfill\n"
    paint += (
        b"[/Separation (White) /DeviceCMYK {0 0 0 4 -1 roll pop 0}] setcolorspace 1 setcolor 40 20 20 20 rectfill\n"
    )
    page = opened(HEAD + paint + TAIL, save)[0]
    kinds = {ink.name: ink.kind for ink in page.document.inks}
    assert (kinds["Magenta"], kinds["White"]) == ("process", "white")


@needs_ghostscript
def test_pages(save):
    pages = opened(b"%!PS\n" + ART + b"showpage 10 10 20 20 rectfill showpage\n", save)
    assert [page.page for page in pages] == [1, 2]
    assert pages[0].document.pages == 2
    assert all(whole(page).any() for page in pages)


@needs_ghostscript
def test_another_resolution(save):
    page = opened(EPS, save)[0]
    assert page.at_ppi(72).facts.width == pytest.approx(100, abs=1)
    assert page.for_print(100 * PT * 2, None, "canvas").facts.width == pytest.approx(2 * page.facts.width, abs=2)


@needs_ghostscript
def test_the_folder_goes_away_with_the_page(save, tmp_path, monkeypatch):
    place = tmp_path / "temporary"
    place.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    pages = opened(EPS, save)
    assert list(place.iterdir())
    assert whole(pages[0]).any()
    del pages
    assert list(place.iterdir()) == []


@needs_ghostscript
@pytest.mark.parametrize(
    ("program", "what"),
    [
        (b"(/etc/passwd) (r) file\n", "wants to read another file"),
        (b"(%pipe%id) (r) file\n", "wants to read another file"),
        (b"(written) (w) file\n", "wants to read another file"),
        (b"1 0 div\n", "damaged or unusual"),
        (b"(unclosed string\n", "damaged or unusual"),
        (b"quit\n", None),
    ],
)
def test_hostile(program, what, save, tmp_path):
    """A file of one's own under the private folder may be written; nothing else may be read or written."""
    data = b"%!PS\n" + program + TAIL
    if what is None:
        assert not whole(opened(data, save)[0]).any()
        return
    if program.startswith(b"(written)"):
        data = data.replace(b"(written)", f"({tmp_path}/written)".encode())
    with pytest.raises(IntakeError, match=what) as caught:
        opened(data, save)
    assert caught.value.next_step.endswith(".")
    assert not (tmp_path / "written").exists()


@needs_ghostscript
def test_a_program_without_end_is_ended(save, monkeypatch):
    from preflight.intake import postscript

    monkeypatch.setattr(postscript, "_SECONDS", 1.0)
    with pytest.raises(IntakeError, match="took more than 1 seconds"):
        opened(b"%!PS\n{} loop\n", save)


@needs_ghostscript
def test_refusals_name_the_customers_file(save):
    page = opened(EPS.replace(b"10 20 110 70", b"0 0 140000 140000"), save)[0]
    with pytest.raises(IntakeError, match="too large to draw") as caught:
        _ = page.facts
    assert Path(caught.value.file).name == "art.eps"


@pytest.mark.parametrize(
    ("data", "what", "rule"),
    [
        (EPS[: len(HEAD) + 40], "before its closing mark", "cut-short"),
        (with_preview(32, 10**6), "ends before", "cut-short"),
        (with_preview(4, 10), "own part is not in the file", "cut-short"),
        (EPS.replace(b"10 20 110 70", b"0 0 99999999 99999999"), "larger than any film", "unreadable-file"),
    ],
)
def test_refused_before_anything_runs(data, what, rule, save, monkeypatch):
    monkeypatch.setattr(ghostscript, "run", lambda *_: pytest.fail("it ran"))
    with pytest.raises(IntakeError, match=what) as caught:
        opened(data, save)
    assert caught.value.rule == rule


def test_without_ghostscript_the_answer_says_what_to_do(save, monkeypatch):
    monkeypatch.setattr(ghostscript, "command", lambda: None)
    with pytest.raises(IntakeError, match="Ghostscript, which reads such files, is not installed") as caught:
        opened(EPS, save)
    assert "as a PDF" in caught.value.next_step
    assert "install Ghostscript" in caught.value.next_step


def test_names_of_the_command():
    windows = sys.platform == "win32"
    assert (("gswin64c", "gswin32c") if windows else ("gs",)) == ghostscript.COMMANDS


def test_where_no_folder_can_be_made_the_private_one_is_used_and_left(tmp_path, monkeypatch):
    """So it is in the child process of a file."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr(tempfile, "mkdtemp", lambda prefix: (_ for _ in ()).throw(PermissionError(13, prefix)))
    (tmp_path / "kept").write_text("x", encoding="utf-8")
    folder = ghostscript.Folder("drawing-")
    assert folder.path == tmp_path
    del folder
    assert (tmp_path / "kept").exists()


def test_a_program_that_may_not_be_ended_is_not_waited_for(tmp_path, monkeypatch):
    """In the child process signals are not allowed; the limit on the processor's time ends it."""
    import subprocess

    class Endless:
        def __init__(self, *_, **__):
            self.waited = 0

        def wait(self, seconds=None):
            self.waited += 1
            assert self.waited == 1
            raise subprocess.TimeoutExpired("gs", seconds)

        def kill(self):
            raise PermissionError(1, "kill")

    monkeypatch.setattr(subprocess, "Popen", Endless)
    with pytest.raises(ghostscript.Stopped, match="took more than 1 seconds"):
        ghostscript.run("gs", [], tmp_path, 1)
