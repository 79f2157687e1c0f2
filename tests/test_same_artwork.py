"""The same artwork, saved in six formats, gets the same answer."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

from fixtures.documents import POINTS_PER_MM, pdf
from fixtures.drawing import Canvas, Colour, png
from preflight.engine import Checker, check
from preflight.intake import ghostscript
from preflight.model import Report
from preflight.rulebook import load_rulebook
from preflight.shop import Shop
from preflight.ticket import Order

WIDTH, HEIGHT = 80.0, 40.0
BRICK: Colour = (168, 62, 52)
SLATE: Colour = (62, 72, 88)


@dataclass(frozen=True)
class Line:
    """A level line with round ends; millimetres from the top left. One of no length is a disc."""

    x0: float
    y0: float
    x1: float
    y1: float
    width: float
    colour: Colour
    opacity: float = 1.0


SOUND = (Line(12, 20, 68, 20, 18, BRICK), Line(24, 20, 24.01, 20, 10, SLATE), Line(40, 20, 62, 20, 3, SLATE))
ARTWORKS = {
    "sound": SOUND,
    "thin-line": (*SOUND, Line(5, 5, 75, 5, 0.25, BRICK)),
    "translucent-area": (*SOUND, Line(12, 35, 60, 35, 5, SLATE, 0.5)),
    "stray-specks": (*SOUND, *(Line(x, 36, x + 0.01, 36, 0.7, BRICK) for x in (8, 30, 52, 72))),
}


def drawn(lines: tuple[Line, ...]) -> Image.Image:
    """Pixels at 300 ppi, each edge pixel with its share."""
    canvas = Canvas(WIDTH, HEIGHT)
    for line in lines:
        half, length = line.width / 2, line.x1 - line.x0 + line.width
        corner = line.x0 - half, line.y0 - half
        canvas.box(*corner, length, line.width, line.colour, round_by=half, opacity=line.opacity)
    return canvas.image()


def as_png(lines: tuple[Line, ...]) -> bytes:
    return png(drawn(lines))


def as_tiff(lines: tuple[Line, ...]) -> bytes:
    stream = io.BytesIO()
    drawn(lines).save(stream, "TIFF", dpi=(300, 300), compression="tiff_lzw")
    return stream.getvalue()


def as_psd(lines: tuple[Line, ...]) -> bytes:
    """The merged picture as the format has it: laid over white, with the transparency beside it."""
    from psd_tools import PSDImage

    picture, stream = drawn(lines), io.BytesIO()
    paper = Image.new("RGBA", picture.size, "white")
    paper.alpha_composite(picture)
    paper.putalpha(picture.getchannel("A"))
    PSDImage.frompil(paper).save(stream)
    return stream.getvalue()


def amount(colour: Colour) -> str:
    return " ".join(f"{level / 255:.5f}" for level in colour)


def as_pdf(lines: tuple[Line, ...]) -> bytes:
    from pikepdf import Dictionary, Pdf

    states = {f"/G{number}": {"/CA": line.opacity} for number, line in enumerate(lines)}

    def edit(document: Pdf) -> None:
        document.pages[0].obj.Resources.ExtGState = Dictionary({name: Dictionary(one) for name, one in states.items()})

    content = "1 J "
    for number, line in enumerate(lines):
        content += f"/G{number} gs {amount(line.colour)} RG {line.width} w "
        content += f"{line.x0} {HEIGHT - line.y0} m {line.x1} {HEIGHT - line.y1} l S "
    return pdf(content, edit)


def as_svg(lines: tuple[Line, ...]) -> bytes:
    shapes = "".join(
        f'<line x1="{line.x0}" y1="{line.y0}" x2="{line.x1}" y2="{line.y1}" stroke-width="{line.width}" '
        f'stroke="rgb{line.colour}" stroke-opacity="{line.opacity}" stroke-linecap="round"/>'
        for line in lines
    )
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{HEIGHT}mm" '
    return f'{head}viewBox="0 0 {WIDTH} {HEIGHT}">{shapes}</svg>'.encode()


def as_eps(lines: tuple[Line, ...]) -> bytes:
    """PostScript knows no see-through parts."""
    box = f"0 0 {WIDTH * POINTS_PER_MM:.4f} {HEIGHT * POINTS_PER_MM:.4f}"
    program = f"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 227 114\n%%HiResBoundingBox: {box}\n%%EndComments\n"
    program += f"{POINTS_PER_MM:.6f} dup scale 1 setlinecap\n"
    for line in lines:
        program += f"{amount(line.colour)} setrgbcolor {line.width} setlinewidth "
        program += f"{line.x0} {HEIGHT - line.y0} moveto {line.x1} {HEIGHT - line.y1} lineto stroke\n"
    return (program + "showpage\n%%EOF\n").encode()


def picture_in_pdf(lines: tuple[Line, ...]) -> bytes:
    from pikepdf import Dictionary, Name, Pdf

    picture = drawn(lines)

    def edit(document: Pdf) -> None:
        size = {"Type": Name.XObject, "Subtype": Name.Image, "Width": picture.width, "Height": picture.height}
        mask = document.make_stream(
            picture.getchannel("A").tobytes(), ColorSpace=Name.DeviceGray, BitsPerComponent=8, **size
        )
        placed = document.make_stream(
            picture.convert("RGB").tobytes(), ColorSpace=Name.DeviceRGB, BitsPerComponent=8, SMask=mask, **size
        )
        document.pages[0].obj.Resources.XObject = Dictionary(P=placed)

    return pdf(f"q {WIDTH} 0 0 {HEIGHT} 0 0 cm /P Do Q", edit)


def picture_in_svg(lines: tuple[Line, ...]) -> bytes:
    data = base64.b64encode(as_png(lines)).decode("ascii")
    head = f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="{WIDTH}mm" '
    return (
        f'{head}height="{HEIGHT}mm" viewBox="0 0 {WIDTH} {HEIGHT}">'
        f'<image width="{WIDTH}" height="{HEIGHT}" xlink:href="data:image/png;base64,{data}"/></svg>'
    ).encode()


needs_ghostscript = pytest.mark.skipif(ghostscript.command() is None, reason="Ghostscript is not installed")
OTHERS = [
    pytest.param(as_tiff, ".tif", id="TIFF"),
    pytest.param(as_psd, ".psd", id="PSD"),
    pytest.param(as_pdf, ".pdf", id="PDF"),
    pytest.param(picture_in_pdf, ".pdf", id="picture in a PDF"),
    pytest.param(as_svg, ".svg", id="SVG"),
    pytest.param(picture_in_svg, ".svg", id="picture in an SVG"),
    pytest.param(as_eps, ".eps", id="EPS", marks=needs_ghostscript),
]


@pytest.fixture(scope="module")
def checker() -> Checker:
    shop = Shop.default()
    return Checker(Order(width_mm=60.0, garments=("white",)), shop, load_rulebook(shop))


@pytest.fixture(scope="module")
def as_picture(tmp_path_factory: pytest.TempPathFactory, checker: Checker) -> Callable[[str], Report]:
    """The answer for each artwork as a PNG."""
    folder = tmp_path_factory.mktemp("png")
    known: dict[str, Report] = {}

    def answer(name: str) -> Report:
        if name not in known:
            (folder / f"{name}.png").write_bytes(as_png(ARTWORKS[name]))
            known[name] = check(folder / f"{name}.png", checker)
        return known[name]

    return answer


def test_the_artworks_show_what_they_are_named_for(as_picture: Callable[[str], Report]) -> None:
    for name in ARTWORKS:
        found = {finding.rule for finding in as_picture(name).findings}
        assert found == set() if name == "sound" else name in found


@pytest.mark.parametrize("name", ARTWORKS)
@pytest.mark.parametrize(("save", "ending"), OTHERS)
def test_the_answer_is_that_of_the_png(
    name: str,
    save: Callable[[tuple[Line, ...]], bytes],
    ending: str,
    as_picture: Callable[[str], Report],
    tmp_path: Path,
    checker: Checker,
) -> None:
    if name == "translucent-area" and save is as_eps:
        pytest.skip("PostScript knows no see-through parts")
    (tmp_path / f"art{ending}").write_bytes(save(ARTWORKS[name]))
    report, other = check(tmp_path / f"art{ending}", checker), as_picture(name)
    assert report.verdict is other.verdict
    assert {finding.rule for finding in report.findings} == {finding.rule for finding in other.findings}
    size, wanted = report.print_size, other.print_size
    assert size is not None
    assert wanted is not None
    assert (size.width_mm, size.height_mm) == pytest.approx((wanted.width_mm, wanted.height_mm), abs=0.1)
    assert report.ink is not None
    assert other.ink is not None
    assert report.ink.grams == pytest.approx(other.ink.grams, rel=0.02)
    for channel, used in other.ink.channels.items():
        assert report.ink.channels[channel].grams == pytest.approx(used.grams, rel=0.02)
