"""Drawings made to harm: each is refused with a reason, or drawn, in little time. Nothing is fetched."""

import base64
import gzip
import struct
import time
import zlib

import pytest

from preflight.errors import IntakeError
from preflight.intake.svg import open_svg

ROOT = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="297mm" height="420mm" viewBox="0 0 297 420">{}</svg>'
RECT = '<rect width="297" height="420" fill="red"/>'
TOO_COMPLEX = "too complex to open safely"


def png_head(width, height):
    head = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(b"\0")), (b"IEND", b"")]
    body = b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in parts
    )
    return base64.b64encode(b"\x89PNG\r\n\x1a\n" + body).decode()


def filtered(inside, more=""):
    return f'<filter id="f">{inside}</filter><rect width="297" height="420" fill="red" filter="url(#f)" {more}/>'


BOMBS = {
    "entities in entities": ('<!DOCTYPE svg [<!ENTITY a "lol"><!ENTITY b "&a;&a;">]>' + ROOT.format("<text>&b;</text>"), "made of other entities"),
    "a hidden reference": ('<!DOCTYPE svg [<!ENTITY a "lol"><!ENTITY b "&#38;a;">]>' + ROOT.format("<text>&b;</text>"), "made of other entities"),
    "one entity, many times": ('<!DOCTYPE svg [<!ENTITY a "' + "x" * 1900 + '">]>' + ROOT.format("<text>" + "&a;" * 20_000 + "</text>"), "repeat too much text"),
    "many entities": ("<!DOCTYPE svg [" + "".join(f'<!ENTITY a{i} "x">' for i in range(1000)) + "]>" + ROOT.format(""), "too many entities"),
    "a long entity": ('<!DOCTYPE svg [<!ENTITY a "' + "x" * 9000 + '">]>' + ROOT.format(""), "too long ones"),
    "an entity from a file": ('<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + ROOT.format("<text>&x;</text>"), "calls in another file"),
    "a parameter entity": ('<!DOCTYPE svg [<!ENTITY % x "y">]>' + ROOT.format(""), "made of other entities"),
    "deep": (ROOT.format("<g>" * 5000 + "</g>" * 5000), TOO_COMPLEX),
    "many elements": (ROOT.format("<g/>" * 200_001), TOO_COMPLEX),
    "many attributes": (ROOT.format("<rect " + " ".join(f'a{i}="x"' for i in range(1000)) + "/>"), TOO_COMPLEX),
    "uses of uses": (ROOT.format('<g id="a0"><path d="M0 0h9"/></g>' + "".join(f'<g id="a{i + 1}"><use href="#a{i}"/><use href="#a{i}"/></g>' for i in range(30))), TOO_COMPLEX),
    "a ring of uses": (ROOT.format('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'), "made of itself"),
    "a pattern of itself": (ROOT.format('<pattern id="p" width="9" height="9"><rect width="9" height="9" fill="url(#p)"/></pattern><rect width="9" height="9" fill="url(#p)"/>'), "made of itself"),
    "a mask of itself": (ROOT.format('<mask id="m"><rect width="9" height="9" mask="url(#m)"/></mask><rect width="9" height="9" mask="url(#m)"/>'), "made of itself"),
    "a marker at every corner": (ROOT.format('<marker id="m">' + '<path d="M0 0h9"/>' * 500 + '</marker><path marker-mid="url(#m)" d="M0 0' + "L1 1L2 0" * 500 + '"/>'), TOO_COMPLEX),
    "many filters": (ROOT.format(filtered("<feGaussianBlur stdDeviation='2'/>" * 1000)), TOO_COMPLEX),
    "a wide filter": (ROOT.format(filtered('<feMorphology radius="100000"/>')), TOO_COMPLEX),
    "endless noise": (ROOT.format(filtered('<feTurbulence numOctaves="1000000"/>')), TOO_COMPLEX),
    "a large matrix": (ROOT.format(filtered('<feConvolveMatrix order="1000000" kernelMatrix="1"/>')), TOO_COMPLEX),
    "a filter from a style sheet": (ROOT.format("<style>rect{filter:url(#f)}</style>" + filtered('<feTurbulence numOctaves="50"/>') + RECT * 50), TOO_COMPLEX),
    "many layers": (ROOT.format(RECT.replace("fill", 'opacity=".5" fill') * 5000), TOO_COMPLEX),
    "everything painted over": (ROOT.format(RECT * 79_000), TOO_COMPLEX),
    "tiny dashes": (ROOT.format('<path d="M0 9H297" stroke="red" stroke-dasharray=".0000001"/>'), TOO_COMPLEX),
    "an outline that crosses itself": (ROOT.format('<path d="M0 0' + "".join(f"L{i * 7919 % 297} {i * 104729 % 420}" for i in range(20_000)) + '"/>'), TOO_COMPLEX),
    "a long outline": (ROOT.format('<path d="M0 0' + "l1 1" * 900_000 + '"/>'), TOO_COMPLEX),
    "much text": (ROOT.format("".join(f'<text y="{i % 400}" font-size="{5 + i / 999}">W</text>' for i in range(9000))), TOO_COMPLEX),
    "a picture bomb": (ROOT.format(f'<image width="9" height="9" href="data:image/png;base64,{png_head(60_000, 60_000)}"/>'), TOO_COMPLEX),
    "a drawing as a picture": (ROOT.format(f'<image width="9" height="9" href="data:image/svg+xml;base64,{base64.b64encode(ROOT.format(RECT).encode()).decode()}"/>'), "another drawing as a picture"),
    "a picture that is none": (ROOT.format('<image width="9" height="9" href="data:image/png;base64,AAAA"/>'), "cannot be drawn"),
    "many style rules": (ROOT.format("<style>" + "rect{fill:red}" * 9000 + "</style>"), TOO_COMPLEX),
    "rules for many elements": (ROOT.format("<style>" + "".join(f'rect[x="{i}"]{{fill:red}}' for i in range(4000)) + "</style>" + '<rect width="1" height="1"/>' * 2000), TOO_COMPLEX),
    "nested brackets": (ROOT.format('<rect style="fill:' + "(" * 200_000 + '" width="9" height="9"/>'), TOO_COMPLEX),
    "a long style": (ROOT.format('<rect style="' + "fill:red;" * 100_000 + '"/>'), TOO_COMPLEX),
    "coordinates without end": (ROOT.format('<path d="M-1e30 -1e30L1e30 1e30L-1e38 1e38z" stroke="#000" stroke-width="1e30"/>'), TOO_COMPLEX),
}  # fmt: skip


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
    "a type from the web": '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">' + ROOT.format(RECT),
    "an element that uses itself": ROOT.format('<g id="a"><use href="#a"/></g>' + RECT),
    "selectors that go back and forth": ROOT.format("<style>" + " ".join(["g"] * 60) + " > a g rect{fill:red}</style>" + "<g>" * 150 + RECT * 20 + "</g>" * 150),
    "a blur over everything": ROOT.format(filtered('<feGaussianBlur stdDeviation="1e9"/>')),
    "numbers that are none": ROOT.format('<path d="M1e999 0L-1e999 0z" stroke="#000"/><rect width="nan" height="1e999" transform="scale(1e300)"/>' + RECT),
    "a singular matrix": ROOT.format('<g transform="scale(0)"><rect width="9" height="9" stroke="#000"/></g><text transform="matrix(1 1 1 1 0 0)" y="9">A</text>' + RECT),
    "a huge canvas in pixels": '<svg xmlns="http://www.w3.org/2000/svg" width="100000000" height="100000000"><rect width="99999999" height="99999999"/></svg>',
}  # fmt: skip


@pytest.mark.parametrize("name", DRAWN)
def test_these_are_drawn(name, tmp_path):
    page = opened(DRAWN[name], tmp_path)
    assert any(strip.rgba[..., 3].any() for strip in page.strips())


@pytest.mark.parametrize(
    ("data", "why", "rule"),
    [
        (ROOT.format(RECT)[:-20], "before its closing tag", "cut-short"),
        (ROOT.format(RECT)[:100], "before its closing tag", "cut-short"),
        (ROOT.format(RECT) * 2, "damaged in line 1", "unreadable-file"),
        (ROOT.format("<g>\n</rect>"), "damaged in line 2", "unreadable-file"),
        (ROOT.format("&nbsp;"), "damaged in line 1", "unreadable-file"),
        ("<html xmlns='http://www.w3.org/1999/xhtml'><svg/></html>", "its first element is another", "unreadable-file"),
        (b'<?xml version="1.0" encoding="x-none"?><svg/>', "an encoding that cannot be read", "unreadable-file"),
        (b'<?xml version="1.0" encoding="hex"?><svg/>', "an encoding that cannot be read", "unreadable-file"),
        (gzip.compress(ROOT.format(RECT).encode())[:-30], "ends before its end", "cut-short"),
        (gzip.compress(ROOT.format("<g/>" * 999).encode())[:40] + b"\xff" * 99, "compressed data are damaged", "unreadable-file"),
        (gzip.compress(b"<svg>" + bytes(99 << 20)), "larger than 64 MB", "unreadable-file"),
        (ROOT.format("").replace("svg", "SVG"), "its first element is another", "unreadable-file"),
    ],
)  # fmt: skip
def test_damaged(data, why, rule, tmp_path):
    with pytest.raises(IntakeError, match=why) as caught:
        opened(data, tmp_path, "art.svgz")
    assert caught.value.rule == rule
