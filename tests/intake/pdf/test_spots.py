"""Spot colours and inks: how much there is where. Against areas that are known, and against a separation program."""

import shutil
import subprocess

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from preflight.errors import IntakeError
from preflight.intake import ghostscript
from preflight.intake.pdf import page as page_module
from preflight.intake.pdf import plates
from tests.intake.pdf.making import device_n, look, opened, picture, separation, stream

PAGE = 144 * 72
debian = pytest.mark.debian
needs_ghostscript = pytest.mark.skipif(ghostscript.command() is None, reason="Ghostscript is not installed")


def resources(pdf):
    gold = separation("Gold")
    ramp = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    cell = stream(pdf, b"/Au cs 1 scn 0 0 4 4 re f", PatternType=1, PaintType=1, TilingType=1, BBox=Array([0, 0, 8, 8]),
                  XStep=8, YStep=8, Resources=Dictionary(ColorSpace=Dictionary(Au=gold)))  # fmt: skip
    samples = bytes(range(0, 256, 16)) * 16
    return {
        "ColorSpace": Dictionary(Au=gold, H=separation("Gold & Co/2"), S=separation("Silver"), D=device_n(
            pdf, "Cyan", "Gold", "Silver")),
        "Shading": Dictionary(S=Dictionary(
            ShadingType=2, ColorSpace=gold, Coords=Array([0, 0, 144, 0]), Domain=Array([0, 1]), Function=ramp)),
        "XObject": Dictionary(P=picture(pdf, 16, 16, samples, ColorSpace=gold)),
        "Pattern": Dictionary(T=cell),
        "ExtGState": Dictionary(Half=Dictionary(ca=0.5)),
    }  # fmt: skip


CASES = {
    "solid": (b"/Au cs 1 scn 0 0 72 36 re f", 72 * 36),
    "tint": (b"/Au cs 0.3 scn 0 0 72 36 re f", 72 * 36 * 0.3),
    "circle": (b"/Au cs 1 scn 36 36 m 36 49.8 24.8 61 11 61 c 11 36 l f", None),
    "covered": (b"/Au cs 1 scn 0 0 72 36 re f 1 1 1 rg 0 0 36 36 re f", 36 * 36),
    "mixed": (b"/D cs 0.5 0.8 0 scn 0 0 72 36 re f", 72 * 36 * 0.8),
    "blend": (b"/S sh", PAGE / 2),
    "picture": (b"72 0 0 72 0 0 cm /P Do", 72 * 72 * (sum(range(0, 256, 16)) / 16 / 255)),
    "pattern": (b"/Pattern cs /T scn 0 0 144 72 re f", PAGE / 4),
    "translucent": (b"/Half gs /Au cs 1 scn 0 0 72 36 re f", 72 * 36 / 2),
}


def share(path, name="Gold"):
    return {ink.name: ink.share for ink in opened(path).ink_shares()}[name]


@pytest.mark.parametrize("case", [name for name, (_, area) in CASES.items() if area])
def test_share_of_a_known_area(case, make):
    """A pattern's cells are drawn from a picture of one cell, whose edges are a little off."""
    content, area = CASES[case]
    assert share(make(content, resources)) == pytest.approx(area / PAGE, rel=0.1 if case == "pattern" else 0.02)


def test_each_ink_has_its_own_share(make):
    path = make(b"/Au cs 1 scn 0 0 72 36 re f /S cs 1 scn 72 0 36 36 re f 1 0 0 0 k 0 40 9 9 re f", resources)
    shares = {ink.name: ink.share for ink in opened(path).ink_shares()}
    assert shares["Gold"] == pytest.approx(0.25, rel=0.01)
    assert shares["Silver"] == pytest.approx(0.125, rel=0.01)
    assert shares["Cyan"] is None
    assert all(ink.share is None for ink in opened(path).document.inks)  # not measured unless asked


def test_a_name_that_has_to_be_written_with_care(make):
    assert share(make(b"/H cs 1 scn 0 0 72 36 re f", resources), "Gold & Co/2") == pytest.approx(0.25, rel=0.01)


def separated(path, tmp_path, width, height):
    """Planes of Ghostscript's tiffsep, 0…1, by ink; one of the page itself, at 2 pixels a unit."""
    folder = tmp_path / "sep"
    folder.mkdir()
    program = ghostscript.command()
    subprocess.run(
        [program, "-dSAFER", "-dBATCH", "-dNOPAUSE", "-q", "-sDEVICE=tiffsep", "-r144", f"-g{width}x{height}",
         "-sOutputFile=out.tif", str(path)], cwd=folder, check=True, capture_output=True,
    )  # fmt: skip
    planes = {}
    for file in folder.glob("out(*).tif"):
        with Image.open(file) as plane:
            planes[file.name[4:-5]] = 1 - np.asarray(plane) / 255
    return planes


@debian
@needs_ghostscript
@pytest.mark.parametrize("case", list(CASES))
def test_share_agrees_with_a_separation(case, make, tmp_path):
    path = make(CASES[case][0], resources)
    planes = separated(path, tmp_path, 288, 144)
    assert share(path) == pytest.approx(planes["Gold"].mean(), rel=0.05)


# -- process inks ----------------------------------------------------------------------------------------------------


def inks_of(page):
    strips = list(page.strips())
    assert all(strip.inks is not None for strip in strips)
    return np.concatenate([strip.inks for strip in strips]), np.concatenate([strip.rgba for strip in strips])


INKED = b"1 0.5 0 0.25 k 0 0 72 36 re f 0 g 80 40 20 20 re f"


@debian
@needs_ghostscript
@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("unit", [1, 2.5])
def test_a_page_of_inks_gives_the_inks_themselves(turn, unit, make):
    page = opened(make(INKED, Rotate=turn, UserUnit=unit)).at_ppi(144 / unit)
    assert page.facts.colour == "cmyk"
    inks, rgba = inks_of(page)
    inks, rgba = (np.rot90(plane, turn // 90) for plane in (inks, rgba))
    assert inks.shape == (144, 288, 4)
    np.testing.assert_allclose(inks[100, 60], [255, 127, 0, 64], atol=1)
    assert inks[40, 180].tolist() == [0, 0, 0, 255]  # grey is black ink
    assert rgba[100, 60, 3] == rgba[40, 180, 3] == 255
    assert rgba[20, 20, 3] == 0
    for plane, area in zip(np.moveaxis(inks * (rgba[..., 3:] / 255.0) / 255, 2, 0), (1, 0.5, 0, 0.25), strict=True):
        expected = area * 72 * 36 + (400 if area == 0.25 else 0)
        assert plane.sum() / 4 == pytest.approx(expected, rel=0.01, abs=1)


@debian
@needs_ghostscript
def test_an_ink_that_is_half_transparent(make):
    """Strips carry the amount itself; opacity stands beside it."""
    path = make(b"/Half gs 1 0 0 0 k 0 0 72 72 re f", resources)
    inks, rgba = inks_of(opened(path).at_ppi(72))
    assert rgba[36, 36, 3] == 127
    assert inks[36, 36].tolist() == pytest.approx([255, 0, 0, 0], abs=2)


@debian
@needs_ghostscript
def test_spot_colours_are_in_the_process_inks(make):
    path = make(b"0 0 0 1 k 72 0 72 36 re f /Au cs 0.5 scn 0 0 72 36 re f", resources)
    inks, _ = inks_of(opened(path).at_ppi(72))
    assert inks[60, 36].tolist() == pytest.approx([0, 127, 0, 0], abs=2)


@debian
@needs_ghostscript
def test_the_customers_white_is_no_process_ink(make):
    def whites(pdf):
        return {"ColorSpace": Dictionary(W=separation("White", full=(0, 0.3, 0, 0)))}

    inks, rgba = inks_of(opened(make(b"0 0 0 1 k 72 0 72 36 re f /W cs 1 scn 0 0 72 36 re f", whites)).at_ppi(72))
    assert not inks[60, 36].any()
    assert rgba[60, 36].tolist() == [255, 255, 255, 255]


@debian
@needs_ghostscript
def test_profiled_inks_are_taken_as_they_stand(make):
    from preflight.intake.colour import reference_profile

    def profiled(pdf):
        return {"ColorSpace": Dictionary(I=Array([Name.ICCBased, stream(pdf, reference_profile(), N=4)]))}

    inks, _ = inks_of(opened(make(b"/I cs 0.2 0.4 0.6 0.1 scn 0 0 72 72 re f", profiled)).at_ppi(72))
    np.testing.assert_allclose(inks[36, 36], [51, 102, 153, 26], atol=2)


@debian
@needs_ghostscript
def test_the_output_intents_profile_goes_along(make):
    from preflight.intake.colour import reference_profile

    def edit(pdf):
        profile = pdf.make_indirect(stream(pdf, reference_profile(), N=4))
        pdf.Root.OutputIntents = Array([Dictionary(OutputConditionIdentifier="House", DestOutputProfile=profile)])

    facts = opened(make(INKED, edit=edit)).at_ppi(72).facts
    assert facts.icc == reference_profile()
    assert facts.icc_name
    assert opened(make(INKED, name="without.pdf")).at_ppi(72).facts.icc is None


@debian
@needs_ghostscript
def test_its_folder_goes_away(make):
    page = opened(make(INKED)).at_ppi(72)
    assert page.facts.colour == "cmyk"
    folder = page._plates[0]._folder.path
    assert folder.is_dir()
    del page
    assert not folder.exists()


def test_without_ghostscript_it_is_said(make, monkeypatch):
    monkeypatch.setattr(page_module, "command", lambda: None)
    page = opened(make(INKED)).at_ppi(72)
    assert page.facts.colour == "rgb"
    assert any("Ghostscript is not installed" in note for note in page.facts.notes)
    assert all(strip.inks is None for strip in page.strips())


def test_a_page_of_screen_colours_needs_none(make, monkeypatch):
    monkeypatch.setattr(page_module, "command", lambda: None)
    assert opened(make(b"1 0 0 rg 0 0 9 9 re f")).facts.notes == ()


@pytest.mark.skipif(not shutil.which("sh"), reason="needs a shell for a stand-in")
@pytest.mark.parametrize(("script", "words"), [("exit 1", "stopped"), ("sleep 30", "took more than")])
def test_a_ghostscript_that_fails_is_said_and_the_page_still_drawn(script, words, make, monkeypatch, tmp_path):
    stand_in = tmp_path / "gs"
    stand_in.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    stand_in.chmod(0o755)
    monkeypatch.setattr(ghostscript, "command", lambda: str(stand_in))
    monkeypatch.setattr(page_module, "command", lambda: str(stand_in))
    monkeypatch.setattr(plates, "_SECONDS", 0.5)
    page = opened(make(INKED)).at_ppi(72)
    assert page.facts.colour == "rgb"
    assert any(words in note for note in page.facts.notes)
    assert next(page.strips()).rgba.any()


def test_ghostscript_has_to_be_there_for_plates(monkeypatch):
    monkeypatch.setattr(ghostscript, "command", lambda: None)
    with pytest.raises(IntakeError, match="without Ghostscript") as caught:
        plates.Plates(b"", (1, 1), 1, 1)
    assert "Install" in caught.value.next_step


def test_looking_for_inks_costs_no_drawing(make, monkeypatch):
    def fail(*_):
        raise AssertionError("drawn")

    monkeypatch.setattr("preflight.intake.pdf.drawing.sheet", fail)
    assert look(make(CASES["solid"][0], resources)).spots == ("Gold",)
