"""Drawings (SVG) that reach outside, run, or come packed: beside those that the tests of the reader make."""

from __future__ import annotations

import gzip
from collections.abc import Iterator

_SVG = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
_RECT = '<rect width="90" height="40" fill="red"/>'
_PLACES = {
    "a-file": "file:///etc/passwd", "a-path": "/etc/passwd", "a-neighbour": "../bombs/good.png", "an-address":
    "http://127.0.0.1:9/x.png", "a-share": "//127.0.0.1/x.png", "a-file-by-another-name": "fILE:/etc/passwd",
}  # fmt: skip
#: How a drawing may point at something.
_WAYS = {
    "picture": '<image width="9" height="9" href="{}"/>',
    "old-picture": '<image width="9" height="9" xlink:href="{}"/>',
    "filter-picture": '<filter id="f"><feImage href="{}"/></filter><rect width="9" height="9" filter="url(#f)"/>',
    "use": '<use href="{}#x"/>',
    "fill": '<rect width="9" height="9" fill="url({}#x)"/>',
    "style-sheet": '<style>@import url("{}");</style>',
    "font": '<style>@font-face{{font-family:x;src:url("{}")}}text{{font-family:x}}</style><text y="9">A</text>',
    "background": '<style>rect{{background:url({})}}</style>',
    "link": '<a href="{}"><rect width="9" height="9"/></a>',
    "inclusion": '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="{}" parse="text"/>',
    "page-inside": '<foreignObject width="9" height="9">'
    '<iframe xmlns="http://www.w3.org/1999/xhtml" src="{}"/></foreignObject>',
    "colours": '<color-profile name="x" href="{}"/>',
    "cursor": '<cursor href="{}"/>',
    "path-text": '<text><textPath href="{}#x">A</textPath></text>',
}  # fmt: skip
_WHOLE = {
    "script": "<script>while(true);</script>" + _RECT,
    "script-of-a-click": '<rect width="9" height="9" onclick="alert(1)" onload="fetch(1)"/>',
    "moving": '<rect width="9" height="9"><animate attributeName="x" dur="1ms" repeatCount="indefinite"/></rect>',
    "uses-100-deep": "".join(f'<g id="a{n}"><use href="#a{n + 1}"/></g>' for n in range(100)) + '<g id="a100"/>',
    "clips-in-a-ring": '<clipPath id="c" clip-path="url(#c)"><rect width="9" height="9"/></clipPath>'
    '<rect width="9" height="9" clip-path="url(#c)"/>',
    "gradients-in-a-ring": '<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/>'
    '<rect width="9" height="9" fill="url(#a)"/>',
    "gradient-of-many-stops": '<linearGradient id="a">' + '<stop offset=".5"/>' * 50_000 + "</linearGradient>"
    '<rect width="9" height="9" fill="url(#a)"/>',
    "letters-of-a-million": '<text y="99" font-size="1000000">W</text>',
    "letters-without-number": "<text>" + "W" * 500_000 + "</text>",
    "letters-stacked": '<text y="9">' + "e" + "\u0301" * 50_000 + "</text>",
    "pattern-of-nothing": '<pattern id="p" width=".00001" height=".00001" patternUnits="userSpaceOnUse">'
    '<rect width="9" height="9"/></pattern><rect width="90" height="40" fill="url(#p)"/>',
    "transforms-without-number": '<rect width="9" height="9" transform="' + "rotate(1)" * 50_000 + '"/>',
    "a-name-for-all": '<g id="x">' * 100 + _RECT + "</g>" * 100 + '<use href="#x"/>' * 50,
    "style-of-many-rules": "<style>" + "rect{fill:red}" * 50_000 + "</style>" + _RECT * 100,
    "style-of-stars": "<style>" + "* * * * * * * *{fill:red}" * 300 + "</style>" + _RECT * 300,
    "style-with-braces": "<style>" + "{" * 300_000 + "</style>" + _RECT,
    "style-of-itself": '<style>rect{--a:var(--b);--b:var(--a);fill:var(--a)}</style>' + _RECT,
    "blank": "",
}  # fmt: skip


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    for way, pattern in _WAYS.items():
        for place, address in _PLACES.items():
            yield f"svg-{way}-in-{place}.svg", drawing(_RECT + pattern.format(address))
    for name, inner in _WHOLE.items():
        yield f"svg-{name}.svg", drawing(inner)
    for place, address in _PLACES.items():
        sheet = f'<?xml-stylesheet type="text/css" href="{address}"?>'.encode()
        yield f"svg-outer-style-sheet-in-{place}.svg", sheet + drawing(_RECT)
        kind = f'<!DOCTYPE svg SYSTEM "{address}">'.encode()
        yield f"svg-kind-in-{place}.svg", kind + drawing(_RECT)
    for name, size in {"of-none": "0", "below-zero": "-5mm", "of-words": "wide", "of-kilometres": "9999999mm",
                       "beyond-all-numbers": "1e999mm", "of-parts": "100%"}.items():  # fmt: skip
        yield (
            f"svg-canvas-{name}.svg",
            f'<svg {_SVG} width="{size}" height="{size}" viewBox="0 0 9 9">{_RECT}</svg>'.encode(),
        )
    for box in ("0 0 0 0", "0 0 -9 -9", "0 0 1e30 1e-30", "nan nan nan nan", "1 2", "0 0 1e-320 1"):
        data = f'<svg {_SVG} width="90mm" height="40mm" viewBox="{box}">{_RECT}</svg>'.encode()
        yield f"svg-view-{box.replace(' ', '_')}.svg", data
    good = drawing(_RECT)
    yield "svg-wide-letters.svg", good.decode().encode("utf-16")
    yield "svg-packed-twice.svgz", gzip.compress(gzip.compress(good))
    yield "svg-packed-in-parts.svgz", gzip.compress(good[:50]) + gzip.compress(good[50:])
    yield "svg-packed-gigabyte.svgz", gzip.compress(good[:-6] + b" " * (1 << 28) + b"</svg>", 9)
    yield "svg-packed-with-nonsense-behind.svgz", gzip.compress(good) + bytes(999)


def drawing(inner: str) -> bytes:
    """A whole drawing of 90 × 40 mm."""
    return f'<svg {_SVG} width="90mm" height="40mm" viewBox="0 0 90 40">{inner}</svg>'.encode()
