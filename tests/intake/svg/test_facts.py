"""What a drawing's elements tell: letters, lines, pictures, references, all in millimetres of the page."""

import base64
import io
import math

import pytest
from PIL import Image

LINE = '<path d="M10 10H90" stroke="#000" {more}/>'


def widths(page):
    return [stroke.width_mm for stroke in page.document.strokes]


def data_url(width=30, height=20, kind="PNG"):
    buffer = io.BytesIO()
    Image.new("RGB", (width, height), (255, 0, 0)).save(buffer, kind)
    return f"data:image/{kind.lower()};base64,{base64.b64encode(buffer.getvalue()).decode()}"


# Lines


@pytest.mark.parametrize(
    ("inside", "expected"),
    [
        (LINE.format(more='stroke-width=".2"'), 0.2),
        (LINE.format(more='style="stroke-width:.2"'), 0.2),
        (LINE.format(more='stroke-width="2mm"'), 2 * 96 / 25.4),  # of the drawing's own unit, which is 1 mm = 1
        (LINE.format(more=""), 1.0),
        (f'<g stroke-width=".3">{LINE.format(more="")}</g>', 0.3),
        (f'<g transform="scale(2)" stroke-width=".1">{LINE.format(more="")}</g>', 0.2),
        (f'<g transform="scale(2) rotate(30) translate(3 4)">{LINE.format(more="")}</g>', 2.0),
        (LINE.format(more='stroke-width=".2" transform="scale(5 1)"'), 0.2),  # level: only the height counts
        (LINE.format(more='stroke-width=".2" transform="scale(1 5)"'), 1.0),
        ('<circle cx="50" cy="25" r="5" fill="none" stroke="red" stroke-width=".2" transform="scale(.5 1)"/>', 0.1),
        (LINE.format(more='stroke-width="1" vector-effect="non-scaling-stroke"'), 25.4 / 96),
        ('<svg width="50" height="25" viewBox="0 0 200 100"><path d="M0 9H99" stroke="red"/></svg>', 0.25),
        (
            '<symbol id="s" viewBox="0 0 10 10"><path d="M0 5H9" stroke="red"/></symbol>'
            '<use href="#s" width="1" height="1"/>',
            0.1,
        ),
        (
            '<defs><path id="p" d="M0 9H9" stroke="red" stroke-width=".4"/></defs>'
            '<use xlink:href="#p" transform="scale(.5)"/>',
            0.2,
        ),
        (
            '<pattern id="h" width="2" height="2" patternUnits="userSpaceOnUse" patternTransform="scale(.5)">'
            '<path d="M0 1H2" '
            'stroke="red" stroke-width=".1"/></pattern><rect width="9" height="9" fill="url(#h)"/>',
            0.05,
        ),
    ],
)
def test_width_of_a_line(inside, expected, drawing):
    assert widths(drawing(inside)) == pytest.approx([expected])


@pytest.mark.parametrize(
    ("style", "expected"),
    [
        (".a{stroke-width:.2}", 0.2),
        ("path{stroke-width:.2}", 0.2),
        ("#p{stroke-width:.2}", 0.2),
        ("*{stroke-width:.2}", 0.2),
        ("g > path.a{stroke-width:.2}", 0.2),
        ("svg path{stroke-width:.2} g path{stroke-width:.3}", 0.3),
        ("#p{stroke-width:.2} .a{stroke-width:.3}", 0.2),
        (".a{stroke-width:.2!important} #p{stroke-width:.3}", 0.2),
        ("path[d]{stroke-width:.2}", 0.2),
        ('path[class="a"]{stroke-width:.2}', 0.2),
        ("circle, path{stroke-width:.2}", 0.2),
        (".b{stroke-width:.2}", 1.0),
        ("g > g > path{stroke-width:.2}", 1.0),
        ("/* path{stroke-width:9} */ path{stroke-width:.2;}", 0.2),
        ("@media print{path{stroke-width:.2}}", 1.0),
        ("<![CDATA[path{stroke-width:.2}]]>", 0.2),
    ],
)
def test_width_from_a_style_sheet(style, expected, drawing):
    line = LINE.format(more='id="p" class="a"')
    page = drawing(f"<style>{style}</style><g>{line}</g>")
    assert widths(page) == pytest.approx([expected])


def test_a_style_attribute_wins_over_the_sheet_and_the_sheet_over_the_attribute(drawing):
    sheet = "<style>path{stroke-width:.3}</style>"
    assert widths(drawing(sheet + LINE.format(more='stroke-width="5"'))) == pytest.approx([0.3])
    assert widths(drawing(sheet + LINE.format(more='style="stroke-width:.2"'))) == pytest.approx([0.2])


def test_rules_that_are_not_understood_are_said(drawing):
    page = drawing(f"<style>path:first-child{{stroke-width:.1}}</style>{LINE.format(more='')}")
    assert any("style rules" in note for note in page.facts.notes)


@pytest.mark.parametrize(
    "inside",
    [
        LINE.format(more='stroke-width="0"'),  # SVG 1.1, 11.4: zero paints nothing
        '<path d="M10 10H90" stroke="none" stroke-width=".1"/>',
        '<path d="M10 10H90" stroke-width=".1"/>',
        LINE.format(more='stroke-opacity="0"'),
        LINE.format(more='opacity="0"'),
        LINE.format(more='visibility="hidden"'),
        LINE.format(more='style="display:none"'),
        f"<defs>{LINE.format(more='')}</defs>",
        f'<g transform="translate(500 0)">{LINE.format(more="")}</g>',
        '<clipPath id="c"><rect x="0" y="30" width="9" height="9"/></clipPath>'
        f'<g clip-path="url(#c)">{LINE.format(more="")}</g>',
        # An outline of the area's own colour makes the shape larger: it is no line.
        '<rect x="9" y="9" width="9" height="9" fill="#f00" stroke="red" stroke-width=".05"/>',
        f"<switch><g requiredExtensions='http://example.org/x'>{LINE.format(more='')}</g><g/></switch>",
    ],
)
def test_what_is_no_line(inside, drawing):
    assert widths(drawing(inside)) == []


@pytest.mark.parametrize("path", ["M10 10H90", "M10 10L90 40", "M10 10L90 40Z", "M10 10Q50 10 90 10"])
def test_a_line_in_the_colour_of_its_empty_area_is_a_line(path, drawing):
    """Areas are black where nothing is said; a mere line encloses nothing."""
    assert widths(drawing(f'<path d="{path}" stroke="#000" stroke-width=".1"/>')) == [0.1]


def test_place_of_a_line(drawing):
    area = (
        drawing('<path d="M10 20l30 10" stroke="red" stroke-width="2" transform="translate(5 0)"/>')
        .document.strokes[0]
        .area
    )
    assert (area.x_mm, area.y_mm, area.width_mm, area.height_mm) == pytest.approx((14, 19, 32, 12))


@pytest.mark.parametrize(
    ("path", "box"),
    [
        ("M10 10 L20 15 z", (10, 10, 20, 15)),
        ("m10,10 5,5-3-9", (10, 6, 15, 15)),
        ("M10 10H30V20h-5v-15", (10, 5, 30, 20)),
        ("M10 10c0 5 10 5 10 0s10-5 10 0", (10, 5, 30, 15)),
        ("M10 10q5 10 10 0t10 0", (10, 0, 30, 20)),
        ("M10 10a5 5 0 1 1 10 0a5 5 0 1 1-10 0z", (10, 5, 20, 15)),
        ("M10 10a5 5 0 0110 0", (10, 5, 20, 15)),
        ("M1.5.5.5 2e1", (0.5, 0.5, 1.5, 20)),
    ],
)
def test_box_of_a_path(path, box, drawing):
    """Curves by their control points: never smaller than what is drawn."""
    area = drawing(f'<path d="{path}" fill="none" stroke="red" stroke-width=".0001"/>').document.strokes[0].area
    found = (area.x_mm, area.y_mm, area.x_mm + area.width_mm, area.y_mm + area.height_mm)
    assert found == pytest.approx([max(0, side) for side in box], abs=0.001)


def test_the_narrowest_lines_are_kept(drawing):
    lines = "".join(f'<path d="M0 {i % 50}H9" stroke="red" stroke-width="{1 + i / 1000}"/>' for i in range(3000))
    found = widths(drawing(lines))
    assert len(found) == 2000
    assert max(found) == pytest.approx(1 + 1999 / 1000)


# Letters


@pytest.mark.parametrize(
    ("inside", "family", "points"),
    [
        ('<text y="20" font-size="10" font-family="Serif">A</text>', "Serif", 10 * 72 / 25.4),
        ('<text y="20" style="font:bold 10px/2 \'My Font\', sans">A</text>', "My Font", 10 * 72 / 25.4),
        ('<g font-size="5"><text y="20" transform="scale(2)">A</text></g>', "Times New Roman", 10 * 72 / 25.4),
        ('<text y="20" font-size="10"><tspan font-size="50%">A</tspan></text>', "Times New Roman", 5 * 72 / 25.4),
        ('<text y="20" font-size="10"><tspan font-size=".5em">A</tspan></text>', "Times New Roman", 5 * 72 / 25.4),
        ('<text y="20" font-size="10" transform="scale(3 1)">A</text>', "Times New Roman", 10 * 72 / 25.4),
        (
            '<text x="20" y="20" font-size="10" transform="rotate(45) skewX(20)">A</text>',
            "Times New Roman",
            10 * 72 / 25.4,
        ),
    ],
)
def test_letters(inside, family, points, drawing):
    (run,) = drawing(inside).document.texts
    assert (run.font, run.size_pt) == (family, pytest.approx(points))
    assert (run.embedded, run.sample) == (False, "A")


def test_points_are_points(drawing):
    """12pt is 12 points high where one px of the drawing is one of the page."""
    (run,) = drawing('<text y="20" font-size="12pt">A</text>', 'width="300" height="100"').document.texts
    assert run.size_pt == pytest.approx(12)


def test_pieces_of_text(drawing):
    page = drawing('<text x="1" y="20" font-size="5">One <tspan x="20" font-size="4">two</tspan> three</text>')
    assert [(run.sample, round(run.size_pt / 72 * 25.4, 2)) for run in page.document.texts] == [
        ("two", 4),
        ("One three", 5),
    ]
    assert page.document.texts[0].area.x_mm == pytest.approx(20)


@pytest.mark.parametrize(
    "inside",
    [
        '<text y="20" fill="none">A</text>',
        '<text y="20" opacity="0">A</text>',
        '<text y="20"> </text>',
        "<title>A</title>",
    ],
)
def test_no_letters(inside, drawing):
    assert drawing(inside).document.texts == ()


def test_fonts_in_the_drawing_are_not_used(drawing):
    """The library that draws knows no font of a style sheet: the letters come out in another one."""
    page = drawing(
        "<style>@font-face{font-family:X;src:url(data:font/woff;base64,AAAA)}</style>"
        '<text y="9" font-family="X">A</text>'
    )
    assert not page.document.texts[0].embedded
    assert any("brings fonts along" in note for note in page.facts.notes)


# Pictures


def test_resolution_of_a_placed_picture(drawing):
    """300 px over 25.4 mm are 300 ppi; laid in twice as large, 150."""
    page = drawing(f'<image width="25.4" height="25.4" href="{data_url(300, 300)}"/>')
    (picture,) = page.document.pictures
    assert (picture.pixels, picture.ppi) == ((300, 300), pytest.approx(300))
    assert (picture.area.width_mm, picture.area.height_mm) == pytest.approx((25.4, 25.4))
    page = drawing(f'<image width="25.4" height="25.4" transform="scale(2)" href="{data_url(300, 300, "JPEG")}"/>')
    assert page.document.pictures[0].ppi == pytest.approx(150)


def test_a_picture_keeps_its_proportions_or_not(drawing):
    wide = data_url(200, 100)
    kept = drawing(f'<image width="50" height="50" xlink:href="{wide}"/>').document.pictures[0]
    assert kept.ppi == pytest.approx(200 / 50 * 25.4)
    assert (kept.area.y_mm, kept.area.height_mm) == pytest.approx((12.5, 25))
    pulled = drawing(
        f'<image width="50" height="50" preserveAspectRatio="none" xlink:href="{wide}"/>'
    ).document.pictures[0]
    assert pulled.ppi == pytest.approx(100 / 50 * 25.4)  # the lower of the two directions


# Outside and active


@pytest.mark.parametrize(
    ("inside", "linked"),
    [
        ('<image width="9" height="9" href="logo.png"/>', ("logo.png",)),
        ('<image width="9" height="9" xlink:href="file:///etc/passwd"/>', ("file:///etc/passwd",)),
        ('<use href="https://example.org/a.svg#x"/>', ("https://example.org/a.svg#x",)),
        ('<rect width="9" height="9" fill="url(other.svg#g)"/>', ("other.svg#g",)),
        ("<style>@import url(https://example.org/a.css);</style>", ("style sheet https://example.org/a.css",)),
        ('<style>@import "a.css";</style>', ("style sheet a.css",)),
        ("<style>@font-face{font-family:X;src:url(x.woff)}</style>", ("font x.woff",)),
        ('<filter id="f"><feImage href="https://example.org/a.png"/></filter>', ("https://example.org/a.png",)),
        ('<image width="9" height="9" href="logo.png" display="none"/>', ()),
        (f'<image width="9" height="9" href="{data_url()}"/>', ()),
        ('<use href="#x"/>', ()),
    ],
)
def test_references_outside(inside, linked, drawing):
    assert drawing(inside).document.linked == linked


def test_style_sheet_beside_the_drawing(drawing):
    page = drawing("", before='<?xml-stylesheet type="text/css" href="art.css"?>')
    assert page.document.linked == ("style sheet art.css",)


@pytest.mark.parametrize(
    ("inside", "active"),
    [
        ("<script>alert(1)</script>", ("a script",)),
        ('<rect width="9" height="9" onclick="alert(1)"/>', ("a script in the attribute onclick",)),
        ('<a href="javascript:alert(1)"><rect width="9" height="9"/></a>', ("a script in a link",)),
        ('<a href="java&#10;script:alert(1)"><rect width="9" height="9"/></a>', ("a script in a link",)),
        (
            '<a href="https://example.org"><rect width="9" height="9"/></a>',
            ("a link to an outside address (https://example.org)",),
        ),
        ('<a href="#top"><rect width="9" height="9"/></a>', ()),
        ("<foreignObject/>", ("a part of a web page (foreignObject)",)),
        # What drawing programs put in for themselves is never drawn by another.
        ('<switch><foreignObject requiredExtensions="http://example.org/own"/><g/></switch>', ()),
        ('<rect width="9" height="9" online="yes" orient="auto"/>', ("a script in the attribute online",)),
    ],
)
def test_what_could_act(inside, active, drawing):
    assert drawing(inside).document.active == active


def test_layers(drawing):
    spaces = 'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
    layer = (
        f'<g {spaces} inkscape:groupmode="layer" inkscape:label="{{}}" style="{{}}"><path d="M0 9H9" stroke="red"/></g>'
    )
    page = drawing(layer.format("Art", "") + layer.format("Notes", "display:none") + '<g id="Guides" display="none"/>')
    assert page.document.layers == 2
    assert page.document.hidden_layers == ("Notes", "Guides")
    assert len(page.document.strokes) == 1


@pytest.mark.parametrize(
    ("inside", "transparency"),
    [
        ('<rect width="9" height="9"/>', False),
        ('<rect width="9" height="9" opacity=".5"/>', True),
        ('<rect width="9" height="9" fill="rgba(0,0,0,.5)"/>', True),
        ('<rect width="9" height="9" fill="#0008"/>', True),
        ('<rect width="9" height="9" fill-opacity="50%"/>', True),
        ('<g style="mix-blend-mode:multiply"><rect width="9" height="9"/></g>', True),
        ('<rect width="9" height="9" stroke-opacity=".5"/>', False),  # it has no outline
    ],
)
def test_transparency(inside, transparency, drawing):
    assert drawing(inside).document.transparency == transparency


def test_turning_a_drawing_changes_no_width_and_no_size_of_letters(drawing):
    inside = '<path d="M40 20L60 30" stroke="red" stroke-width=".3"/><text x="45" y="25" font-size="4">A</text>'
    for angle in (0, 17, 90, 200):
        page = drawing(f'<g transform="rotate({angle} 50 25)">{inside}</g>')
        assert widths(page) == pytest.approx([0.3])
        assert page.document.texts[0].size_pt == pytest.approx(4 * 72 / 25.4)
        assert all(math.isfinite(stroke.area.x_mm) for stroke in page.document.strokes)
