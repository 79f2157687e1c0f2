"""Drawings made to harm: each is refused with a reason, or drawn, in little time. Nothing is fetched."""

import base64
import gzip
import struct
import time
import zlib

import pytest

from preflight.errors import IntakeError
from preflight.intake.svg import open_svg

SVG = 'xmlns="http://www.w3.org/2000/svg"'
ROOT = f'<svg {SVG} width="297mm" height="420mm" viewBox="0 0 297 420">{{}}</svg>'
RECT = '<rect width="297" height="420" fill="red"/>'
TOO_COMPLEX = "too complex to open safely"


def png_head(width, height):
    head = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(b"\0")), (b"IEND", b"")]
    body = b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in parts
    )
    return base64.b64encode(b"\x89PNG\r\n\x1a\n" + body).decode()


def inside(*parts):
    """A whole drawing."""
    return ROOT.format("".join(parts))


def entities(declared, inner=""):
    """A drawing with entities of its own."""
    return f"<!DOCTYPE svg [{declared}]>" + inside(inner)


def picture(body, kind="png"):
    """A drawing with a picture in it."""
    return inside(f'<image width="9" height="9" href="data:image/{kind};base64,{body}"/>')


def filtered(inside, more=""):
    return f'<filter id="f">{inside}</filter><rect width="297" height="420" fill="red" filter="url(#f)" {more}/>'


BOMBS = {
    "entities in entities": (
        entities('<!ENTITY a "lol"><!ENTITY b "&a;&a;">', "<text>&b;</text>"),
        "made of other entities",
    ),
    "a hidden reference": (
        entities('<!ENTITY a "lol"><!ENTITY b "&#38;a;">', "<text>&b;</text>"),
        "made of other entities",
    ),
    "one entity, many times": (
        entities('<!ENTITY a "' + "x" * 1900 + '">', "<text>" + "&a;" * 20_000 + "</text>"),
        "repeat too much text",
    ),
    "many entities": (
        "<!DOCTYPE svg [" + "".join(f'<!ENTITY a{i} "x">' for i in range(1000)) + "]>" + inside(""),
        "too many entities",
    ),
    "a long entity": (entities('<!ENTITY a "' + "x" * 9000 + '">', ""), "too long ones"),
    "an entity from a file": (
        entities('<!ENTITY x SYSTEM "file:///etc/passwd">', "<text>&x;</text>"),
        "calls in another file",
    ),
    "a parameter entity": (entities('<!ENTITY % x "y">', ""), "made of other entities"),
    "deep": (inside("<g>" * 5000 + "</g>" * 5000), TOO_COMPLEX),
    "many elements": (inside("<g/>" * 200_001), TOO_COMPLEX),
    "many attributes": (inside("<rect " + " ".join(f'a{i}="x"' for i in range(1000)) + "/>"), TOO_COMPLEX),
    "uses of uses": (
        inside(
            '<g id="a0"><path d="M0 0h9"/></g>'
            + "".join(f'<g id="a{i + 1}"><use href="#a{i}"/><use href="#a{i}"/></g>' for i in range(30))
        ),
        TOO_COMPLEX,
    ),
    "a ring of uses": (inside('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'), "made of itself"),
    "a pattern of itself": (
        inside(
            '<pattern id="p" width="9" height="9"><rect width="9" height="9" fill="url(#p)"/></pattern>',
            '<rect width="9" height="9" fill="url(#p)"/>',
        ),
        "made of itself",
    ),
    "a mask of itself": (
        inside(
            '<mask id="m"><rect width="9" height="9" mask="url(#m)"/></mask><rect width="9" height="9" mask="url(#m)"/>'
        ),
        "made of itself",
    ),
    "a marker at every corner": (
        inside(
            '<marker id="m">'
            + '<path d="M0 0h9"/>' * 500
            + '</marker><path marker-mid="url(#m)" d="M0 0'
            + "L1 1L2 0" * 500
            + '"/>'
        ),
        TOO_COMPLEX,
    ),
    "many filters": (inside(filtered("<feGaussianBlur stdDeviation='2'/>" * 1000)), TOO_COMPLEX),
    "a wide filter": (inside(filtered('<feMorphology radius="100000"/>')), TOO_COMPLEX),
    "endless noise": (inside(filtered('<feTurbulence numOctaves="1000000"/>')), TOO_COMPLEX),
    "a large matrix": (inside(filtered('<feConvolveMatrix order="1000000" kernelMatrix="1"/>')), TOO_COMPLEX),
    "a filter from a style sheet": (
        inside("<style>rect{filter:url(#f)}</style>" + filtered('<feTurbulence numOctaves="50"/>') + RECT * 50),
        TOO_COMPLEX,
    ),
    "many layers": (inside(RECT.replace("fill", 'opacity=".5" fill') * 5000), TOO_COMPLEX),
    "everything painted over": (inside(RECT * 79_000), TOO_COMPLEX),
    "tiny dashes": (inside('<path d="M0 9H297" stroke="red" stroke-dasharray=".0000001"/>'), TOO_COMPLEX),
    "an outline that crosses itself": (
        inside('<path d="M0 0' + "".join(f"L{i * 7919 % 297} {i * 104729 % 420}" for i in range(20_000)) + '"/>'),
        TOO_COMPLEX,
    ),
    "a long outline": (inside('<path d="M0 0' + "l1 1" * 900_000 + '"/>'), TOO_COMPLEX),
    "much text": (
        inside("".join(f'<text y="{i % 400}" font-size="{5 + i / 999}">W</text>' for i in range(9000))),
        TOO_COMPLEX,
    ),
    "a picture bomb": (picture(png_head(60_000, 60_000)), TOO_COMPLEX),
    "a drawing as a picture": (
        picture(base64.b64encode(inside(RECT).encode()).decode(), "svg+xml"),
        "another drawing as a picture",
    ),
    "a picture that is none": (picture("AAAA"), "cannot be drawn"),
    "many style rules": (inside("<style>" + "rect{fill:red}" * 9000 + "</style>"), TOO_COMPLEX),
    "rules for many elements": (
        inside(
            "<style>"
            + "".join(f'rect[x="{i}"]{{fill:red}}' for i in range(4000))
            + "</style>"
            + '<rect width="1" height="1"/>' * 2000
        ),
        TOO_COMPLEX,
    ),
    "nested brackets": (inside('<rect style="fill:' + "(" * 200_000 + '" width="9" height="9"/>'), TOO_COMPLEX),
    "a long style": (inside('<rect style="' + "fill:red;" * 100_000 + '"/>'), TOO_COMPLEX),
    "coordinates without end": (
        inside('<path d="M-1e30 -1e30L1e30 1e30L-1e38 1e38z" stroke="#000" stroke-width="1e30"/>'),
        TOO_COMPLEX,
    ),
}


def opened(data, tmp_path, name="art.svg"):
    path = tmp_path / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return open_svg(path, pixel_limit=118_800_000)[0]


@pytest.mark.parametrize("name", BOMBS)
def test_bombs_are_refused_before_anything_is_drawn(name, tmp_path):
    data, why = BOMBS[name]
    start = time.process_time()
    with pytest.raises(IntakeError) as caught:
        opened(data, tmp_path)
    assert why in caught.value.what
    assert caught.value.rule == "unreadable-file"
    assert caught.value.next_step.endswith(".")
    assert time.process_time() - start < 10  # five seconds at most on an idle machine, most of them a few hundredths


DRAWN = {
    "honest entities": '<!DOCTYPE svg [<!ENTITY ns_svg "http://www.w3.org/2000/svg"><!ENTITY c "#ff0000">]>'
    '<svg xmlns="&ns_svg;" width="9mm" height="9mm"><rect width="9" height="9" fill="&c;"/></svg>',
    "a type from the web": '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    + inside(RECT),
    "an element that uses itself": inside('<g id="a"><use href="#a"/></g>' + RECT),
    "selectors that go back and forth": inside(
        "<style>" + " ".join(["g"] * 60) + " > a g rect{fill:red}</style>" + "<g>" * 150 + RECT * 20 + "</g>" * 150
    ),
    "a blur over everything": inside(filtered('<feGaussianBlur stdDeviation="1e9"/>')),
    "numbers that are none": inside(
        '<path d="M1e999 0L-1e999 0z" stroke="#000"/><rect width="nan" height="1e999" transform="scale(1e300)"/>' + RECT
    ),
    "a singular matrix": inside(
        '<g transform="scale(0)"><rect width="9" height="9" stroke="#000"/></g>'
        '<text transform="matrix(1 1 1 1 0 0)" y="9">A</text>' + RECT
    ),
    "a huge canvas in pixels": f'<svg {SVG} width="100000000" height="100000000">'
    '<rect width="99999999" height="99999999"/></svg>',
}


@pytest.mark.parametrize("name", DRAWN)
def test_these_are_drawn(name, tmp_path):
    page = opened(DRAWN[name], tmp_path)
    assert any(strip.rgba[..., 3].any() for strip in page.strips())


@pytest.mark.parametrize(
    ("data", "why", "rule"),
    [
        (inside(RECT)[:-20], "before its closing tag", "cut-short"),
        (inside(RECT)[:100], "before its closing tag", "cut-short"),
        (inside(RECT) * 2, "damaged in line 1", "unreadable-file"),
        (inside("<g>\n</rect>"), "damaged in line 2", "unreadable-file"),
        (inside("&nbsp;"), "damaged in line 1", "unreadable-file"),
        ("<html xmlns='http://www.w3.org/1999/xhtml'><svg/></html>", "its first element is another", "unreadable-file"),
        (b'<?xml version="1.0" encoding="x-none"?><svg/>', "an encoding that cannot be read", "unreadable-file"),
        (b'<?xml version="1.0" encoding="hex"?><svg/>', "an encoding that cannot be read", "unreadable-file"),
        (gzip.compress(inside(RECT).encode())[:-30], "ends before its end", "cut-short"),
        (
            gzip.compress(inside("<g/>" * 999).encode())[:40] + b"\xff" * 99,
            "compressed data are damaged",
            "unreadable-file",
        ),
        (gzip.compress(b"<svg>" + bytes(99 << 20)), "larger than 64 MB", "unreadable-file"),
        (inside("").replace("svg", "SVG"), "its first element is another", "unreadable-file"),
    ],
)
def test_damaged(data, why, rule, tmp_path):
    with pytest.raises(IntakeError, match=why) as caught:
        opened(data, tmp_path, "art.svgz")
    assert caught.value.rule == rule
