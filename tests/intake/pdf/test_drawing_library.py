"""The walk against the drawing library's own list of a page's objects, which was made by other people."""

from collections import Counter

import pytest
from reportlab.lib.units import mm
from reportlab.pdfgen import canvas

from tests.intake.pdf.making import look
from tests.intake.pdf.pdfium_objects import Listed


@pytest.fixture
def busy(tmp_path, monkeypatch):
    """A page that a third program wrote: pictures, text and lines under many matrices."""
    from PIL import Image
    from reportlab import rl_config

    monkeypatch.setattr(rl_config, "useA85", 1)  # our own PDFs set it otherwise, and pictures in the stream need it

    path = tmp_path / "busy.pdf"
    page = canvas.Canvas(str(path), pagesize=(200 * mm, 150 * mm), pageCompression=0)
    shades = Image.linear_gradient("L").resize((60, 40))
    for step in range(12):
        page.saveState()
        page.translate(20 * mm + step * 12 * mm, 20 * mm)
        page.rotate(step * 15)
        page.saveState()
        page.scale(0.4 + step / 5, 0.4 + step / 5)
        page.setLineWidth(0.1 * (step + 1))
        page.line(0, 0, 20, 0)
        page.restoreState()
        page.scale(1 + step / 10, 0.5 + step / 8)
        page.drawInlineImage(shades, 0, 0, 20 + step, 30)
        page.setFont(("Helvetica", "Times-Roman", "Courier-Bold")[step % 3], 4 + step)
        page.drawString(3, 5, f"line {step}")
        page.restoreState()
    page.beginForm("stamp", 0, 0, 100, 100)
    page.setFont("Times-Italic", 7)
    page.drawString(0, 0, "stamp")
    page.setLineWidth(0.4)
    page.rect(0, 0, 30, 30)
    page.endForm()
    for step in range(3):
        page.saveState()
        page.translate(30 * mm * (step + 1), 90 * mm)
        page.rotate(20 * step)
        page.doForm("stamp")
        page.restoreState()
    page.save()
    return path


def theirs(path, kind):
    with Listed(path) as listed:
        return [thing for thing in listed.page(0) if thing.kind == kind]


def test_pictures(busy):
    mine = sorted(picture.ppi for picture in look(busy).document.pictures)
    other = sorted(thing.density * 72 for thing in theirs(busy, "picture"))
    assert len(mine) == 12
    assert mine == pytest.approx(other, rel=1e-4)


def test_texts(busy):
    mine = Counter((run.font, round(run.size_pt, 2), run.embedded) for run in look(busy).document.texts)
    other = Counter((thing.font, round(thing.size, 2), thing.embedded) for thing in theirs(busy, "text"))
    assert sum(mine.values()) == 15
    assert set(mine) == set(other)


def test_strokes(busy):
    mine = sorted(stroke.width_mm for stroke in look(busy).document.strokes)
    other = sorted(thing.width * 25.4 / 72 for thing in theirs(busy, "stroke"))
    assert len(mine) == 15
    assert mine == pytest.approx(other, rel=1e-4)
