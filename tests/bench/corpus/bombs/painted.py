"""Pages (PDF) whose painting has no end: shadings, patterns, masks, letters, dashes."""

from __future__ import annotations

from collections.abc import Iterator

from .documents import pdf, stream


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    for name, data in _painted():
        yield f"pdf-{name}.pdf", data


def _painted() -> Iterator[tuple[str, bytes]]:
    endless = stream(b"{ " + b"dup mul " * 20_000 + b"}", b"/FunctionType 4/Domain[0 1 0 1]/Range[0 1]")
    yield (
        "shading-by-a-long-program",
        pdf(
            b"/S sh",
            resources=b"/Shading<</S<</ShadingType 1/ColorSpace/DeviceGray/Function 10 0 R>>>>",
            objects={10: endless},
        ),
    )
    ring = b"<</FunctionType 3/Domain[0 1]/Functions[10 0 R 10 0 R]/Bounds[.5]/Encode[0 1 0 1]>>"
    yield (
        "shading-by-a-ring",
        pdf(
            b"/S sh",
            resources=b"/Shading<</S<</ShadingType 2/ColorSpace/DeviceGray/Coords[0 0 9 9]/Function 10 0 R>>>>",
            objects={10: ring},
        ),
    )
    table = stream(
        b"x" * 99, b"/FunctionType 0/Domain[%s]/Range[0 1]/Size[%s]/BitsPerSample 32" % (b"0 1 " * 16, b"9999 " * 16)
    )
    yield (
        "tint-of-a-huge-table",
        pdf(
            b"/C cs 1 scn 9 9 50 50 re f",
            resources=b"/ColorSpace<</C[/Separation/X/DeviceGray 10 0 R]>>",
            objects={10: table},
        ),
    )
    mesh = stream(
        b"\0" * 3_000_000,
        b"/ShadingType 4/ColorSpace/DeviceRGB/BitsPerCoordinate 8/BitsPerComponent 8/BitsPerFlag 8"
        b"/Decode[0 200 0 100 0 1 0 1 0 1]",
    )
    yield "mesh-of-500000-corners", pdf(b"/S sh", resources=b"/Shading<</S 10 0 R>>", objects={10: mesh})
    cell = b"/Type/Pattern/PatternType 1/PaintType 1/TilingType 1/BBox[0 0 9 9]/Resources<<>>/XStep %s/YStep %s"
    for name, step in (("tiny", b".0000001"), ("none", b"0"), ("huge", b"1e30")):
        yield (
            f"pattern-of-steps-{name}",
            pdf(
                b"/Pattern cs /P scn 0 0 200 100 re f",
                resources=b"/Pattern<</P 10 0 R>>",
                objects={10: stream(b"0 0 9 9 re f", cell % (step, step))},
            ),
        )
    yield (
        "letters-that-show-themselves",
        pdf(
            b"BT /F 9 Tf 9 9 Td (a) Tj ET",
            resources=b"/Font<</F 10 0 R>>",
            objects={
                10: b"<</Type/Font/Subtype/Type3/FontBBox[0 0 1 1]/FontMatrix[1 0 0 1 0 0]/FirstChar 97/LastChar 97"
                b"/Widths[1]/Encoding<</Differences[97/a]>>/CharProcs<</a 11 0 R>>/Resources<</Font<</F 10 0 R>>>>>>",
                11: stream(b"1 0 d0 BT /F 1 Tf (aa) Tj ET"),
            },
        ),
    )
    group = (
        b"/Type/XObject/Subtype/Form/BBox[0 0 200 100]/Group<</S/Transparency>>/Resources<</ExtGState<</G 11 0 R>>>>"
    )
    yield (
        "masks-in-a-ring",
        pdf(
            b"/G gs 0 0 200 100 re f",
            resources=b"/ExtGState<</G 11 0 R>>",
            objects={10: stream(b"/G gs 0 0 99 99 re f", group), 11: b"<</SMask<</S/Luminosity/G 10 0 R>>>>"},
        ),
    )
    groups = {
        n: stream(
            b"/X Do",
            b"/Type/XObject/Subtype/Form/BBox[0 0 9999 9999]/Group<</S/Transparency/I true>>"
            b"/Resources<</XObject<</X %d 0 R>>>>" % (n + 1),
        )
        for n in range(10, 37)
    }
    groups[37] = stream(b"0 0 99 99 re f", b"/Type/XObject/Subtype/Form/BBox[0 0 99 99]")
    yield "groups-27-deep", pdf(b"/X Do", resources=b"/XObject<</X 10 0 R>>", objects=groups)
    yield "dashes-of-nothing", pdf(b"[.0000001] 0 d 0 0 m 200 100 l S")
    yield (
        "letters-of-a-billion-points",
        pdf(
            b"BT /F 1000000000 Tf 0 0 Td (W) Tj ET",
            resources=b"/Font<</F<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>>>",
        ),
    )
    yield "lines-beyond-all-numbers", pdf(b"1e38 w -1e38 -1e38 m 1e38 1e38 l S 0 0 0 0 0 0 cm 9 9 9 9 re B")
    yield "a-page-of-thin-curves", pdf(b"0 w " + b"0 0 m 10 90 190 -90 200 100 c S " * 40_000)
    yield (
        "a-path-of-500000-corners",
        pdf(b"0 0 m " + b"".join(b"%d %d l " % (n * 7919 % 200, n * 104_729 % 100) for n in range(90_000)) + b"f*"),
    )
    yield (
        "annotations-in-a-ring",
        pdf(
            page=b"/MediaBox[0 0 200 100]/Annots[10 0 R 10 0 R]",
            objects={
                10: b"<</Type/Annot/Subtype/Stamp/Rect[0 0 99 99]/AP<</N 11 0 R>>/Parent 10 0 R/Popup 10 0 R>>",
                11: stream(b"/X Do", b"/Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</X 11 0 R>>>>"),
            },
        ),
    )
