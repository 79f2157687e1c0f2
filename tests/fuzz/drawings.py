"""SVG: the whole scan, and its parts on their own: style sheets, style attributes, transforms, lengths, outlines."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

from preflight.intake.svg import css, lengths, open_svg, shapes, size, style, transform, tree
from tests.bench.corpus.bombs import damaged, drawings
from tests.intake.svg import test_hostile

from .targets import Target

_LIMIT = 10**7
_RICH = drawings.drawing(
    '<defs><linearGradient id="g"><stop offset="0" stop-color="red"/></linearGradient>'
    '<pattern id="p" width="3" height="3">'
    '<circle r="1"/></pattern><clipPath id="c"><rect width="9" height="9"/></clipPath>'
    '<mask id="m"><path d="M0 0h9v9z"/></mask>'
    '<marker id="k"><path d="M0 0l1 1"/></marker><symbol id="s" viewBox="0 0 9 9"><rect width="9" height="9"/></symbol>'
    '<filter id="f"><feGaussianBlur stdDeviation="2"/></filter></defs><style>g > .a, #b:not(.c) [fill^="u"] + rect{'
    "stroke:#000;"
    "stroke-width:.2mm !important;font:bold 9pt/1.2 'Some Font',serif}@media print{rect{fill:none}}</style>"
    '<g class="a" transform="translate(3,4) rotate(30 1 2) scale(-1 .5)">'
    '<rect id="b" width="9" height="9" fill="url(#g) blue"/>'
    '<use href="#s" x="3" width="5"/><text x="9" y="9" font-size="2em">Hi <tspan dx="1">there</tspan></text></g>'
    '<path d="M1 1c1 2 3 4 5 6s1-1 2-2q1 1 2 2t3 3a5 5 30 1 0 9 9H3V9Z" '
    'stroke="#000" stroke-dasharray="1 2" mask="url(#m)"/>'
    '<polyline points="0,0 1,2 3 4" marker-end="url(#k)" clip-path="url(#c)" filter="url(#f)"/>'
    '<switch><g systemLanguage="de"/>'
    '<g/></switch><image width="9" height="9" href="data:image/png;base64,iVBORw0KGgo="/><ellipse rx="3" ry="9"/>'
)
_WORDS = tuple(
    word.encode()
    for word in (
        "<g>",
        "</g>",
        "<svg>",
        "</svg>",
        "<rect ",
        "/>",
        ">",
        "<use href='#a'/>",
        "id='a'",
        "<style>",
        "</style>",
        "<![CDATA[",
        "]]>",
        "<!--",
        "-->",
        "<!DOCTYPE svg [",
        "<!ENTITY a 'b'>",
        "]>",
        "&a;",
        "&#0;",
        "&#x1F600;",
        "<?xml version='1.0' encoding='utf-16'?>",
        "xmlns=''",
        "url(#a)",
        "url(",
        "calc(1px + 2px)",
        "var(--x)",
        "@import 'x';",
        "@media{",
        "}",
        "{",
        "!important",
        "inherit",
        "currentColor",
        "none",
        "rgb(300%,0,0)",
        "rgba(1,2,3,.5)",
        "hsl(9,9%,9%)",
        "transparent",
        "context-fill",
        "matrix(1 0 0 1 0 0)",
        "rotate(",
        "skewX(89.9999)",
        "mm",
        "%",
        "em",
        "ex",
        "rem",
        "Q",
        "pc",
        "vw",
        "1e400",
        "-1e400",
        "-0",
        ".5.5",
        "M",
        "A1 1 0 0130 30",
        "z",
        "stroke-width:",
        "font:",
        "font-size:1e9em",
        "opacity:.5",
        "display:none",
        "visibility:hidden",
        "viewBox='0 0 1 1'",
        "preserveAspectRatio='xMaxYMid slice'",
        "*",
        ">",
        "+",
        "~",
        ":not(",
        "[a|=b]",
        "\\",
        "\\0",
        "\x00",
        "'",
        '"',
        "//",
        "/*",
        "*/",
        ";",
        "\ufeff",
        "é",
        "\u202e",
    )
)
_NODES = tree.read_tree(_RICH).root
_STYLE = (
    "stroke:red;stroke-width:2px;fill:url(#a) none;font:italic 12px x;opacity:50%;stroke-dasharray:1,2 3;filter:url(#f)"
)


def _whole(data: bytes, folder: Path) -> object:
    path = folder / "art.svg"
    path.write_bytes(data)
    (page,) = open_svg(path, pixel_limit=_LIMIT)
    facts = page.facts
    assert 0 < facts.width * facts.height <= _LIMIT + facts.width + facts.height  # each side is rounded
    document = page.document
    assert document is not None
    for number in (document.width_mm, document.height_mm, *(stroke.width_mm for stroke in document.strokes),
                   *(run.size_pt for run in document.texts),
                   *(picture.ppi for picture in document.pictures)):  # fmt: skip
        assert math.isfinite(number)
        assert number >= 0
    return document


def _sheets(data: bytes, _folder: Path) -> object:
    sheet = css.read_sheets([data.decode("utf-8", "replace")])
    return [_computed(sheet.declarations(node)) for node in _NODES.walk()]


def _attribute(data: bytes, _folder: Path) -> object:
    found = css.style_attribute(data.decode("utf-8", "replace"))
    return _computed({name: value for name, (value, _) in found.items()})


def _computed(declared: dict[str, str]) -> style.Style:
    made = style.compute(declared, style.Style())
    width = style.stroke_width(made, 100.0)
    assert width >= 0 or math.isnan(width)
    style.dash_step(made, 100.0)
    return made


def _transform(data: bytes, _folder: Path) -> object:
    text = data.decode("utf-8", "replace")
    matrix = transform.parse(text)
    assert len(matrix) == 6
    box = transform.view_box(text)
    return None if box is None else transform.fit(box, 90.0, 40.0, text)


def _length(data: bytes, _folder: Path) -> object:
    text = data.decode("utf-8", "replace")
    numbers = [
        lengths.length(text, of=90.0),
        lengths.font_size(text, 16.0),
        lengths.unit_interval(text),
        *lengths.numbers(text),
    ]
    assert 0 <= numbers[2] <= 1
    try:
        return size.page_size({}, {"width": text, "height": text[::-1], "viewBox": text})
    finally:
        assert all(isinstance(number, float) for number in numbers)


def _outline(data: bytes, _folder: Path) -> object:
    text = data.decode("utf-8", "replace")
    for tag, name in (("path", "d"), ("polyline", "points"), ("rect", "width")):
        node = tree.read_tree(drawings.drawing(f"<{tag}/>")).root
        (child,) = (one for one in node.walk() if one.tag == tag)
        child.attributes[name] = text
        shapes.shape(child, 90.0, 40.0, 16.0)
    return None


def targets() -> Iterator[Target]:
    """All of them."""
    small = tuple(data.encode() for data in test_hostile.DRAWN.values() if len(data) < 3_000)
    good = tuple(data for _, ending, data in damaged.good() if ending in ("svg", "svgz"))
    yield Target("SVG", _whole, (_RICH, *good, *small), _WORDS, seconds=5.0, examples=120)
    sheet = _RICH[_RICH.index(b"<style>") + 7 : _RICH.index(b"</style>")]
    yield Target("style sheets", _sheets, (sheet, b"rect{fill:red}"), _WORDS, seconds=5.0, examples=120)
    yield Target("style attributes", _attribute, (_STYLE.encode(), b"fill:none"), _WORDS)
    yield Target("transforms", _transform, (b"translate(3,4) rotate(30 1 2) scale(-1 .5) skewX(9)", b"0 0 90 40",
                                           b"xMidYMax slice", b"rotate(1e400)"), _WORDS)  # fmt: skip
    yield Target("lengths", _length, (b"12.5mm", b"50%", b"1e3px", b".5em 2 3,4", b"0 0 90 40", b"auto"), _WORDS)
    yield Target(
        "outlines", _outline, (b"M1 1c1 2 3 4 5 6s1-1 2-2q1 1 2 2t3 3a5 5 30 1 0 9 9H3V9Z", b"0,0 1,2 3 4"), _WORDS
    )
