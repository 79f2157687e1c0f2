"""Programs in PostScript that loop, eat, look around, or try to read, write, delete and start things."""

from __future__ import annotations

import struct
from collections.abc import Iterator

HEAD = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 100 50\n%%EndComments\n"
ART = b"1 0 0 setrgbcolor 10 10 50 25 rectfill\n"
TAIL = b"showpage\n%%EOF\n"

#: What stands between head and tail, by name.
BODIES = {
    "good": ART,
    "loops-for-ever": b"{} loop\n",
    "calls-itself": b"/a {a} def a\n",
    "calls-itself-and-keeps": b"/a {a a} def a\n",
    "eats-strings": b"{100000000 string} loop\n",
    "eats-arrays": b"[ {65000 array} loop ]\n",
    "eats-the-stack": b"{1} loop\n",
    "eats-dictionaries": b"{10000 dict begin} loop\n",
    "saves-for-ever": b"{gsave} loop\n",
    "path-without-end": b"0 0 moveto {1 1 rlineto} loop\n",
    "paints-for-ever": b"{0 0 99 99 rectfill} loop\n",
    "many-pages": b"5000 {0 0 9 9 rectfill showpage} repeat\n",
    "pages-without-end": b"{0 0 9 9 rectfill showpage} loop\n",
    "a-page-of-a-kilometre": b"<</PageSize [3000000 3000000]>> setpagedevice " + ART,
    "a-resolution-of-a-million": b"<</HWResolution [1000000 1000000]>> setpagedevice " + ART,
    "a-picture-of-10000": b"10000 10000 8 [10000 0 0 10000 0 0] {<00>} image\n",
    "a-pattern-of-nothing": b"<</PatternType 1/PaintType 1/TilingType 1/BBox[0 0 1 1]/XStep .0001/YStep .0001"
    b"/PaintProc{pop 0 0 1 1 rectfill}>> matrix makepattern setpattern 0 0 99 99 rectfill\n",
    "dashes-of-nothing": b"[.0001] 0 setdash 0 0 moveto 99 49 lineto stroke\n",
    "text-of-a-million-points": b"/Helvetica findfont 1000000 scalefont setfont 0 0 moveto (W) show\n",
    "writes-a-file": b"(written-by-a-customer.txt) (w) file dup (x) writestring closefile " + ART,
    "writes-into-tmp": b"(/tmp/written-by-a-customer.txt) (w) file dup (x) writestring closefile " + ART,
    "writes-into-the-system": b"(/var/written-by-a-customer.txt) (w) file dup (x) writestring closefile " + ART,
    "writes-much": b"(much.bin) (w) file {dup 60000 string writestring} loop\n",
    "writes-temporary-files": b"{null (w) .tempfile exch pop 60000 string writestring} loop\n",
    "reads-passwords": b"(/etc/passwd) (r) file 200 string readstring pop " + ART + b"0 0 moveto show\n",
    "reads-the-environment": b"(/proc/self/environ) (r) file 200 string readstring pop pop " + ART,
    "reads-its-parent": b"(/proc/1/environ) (r) file 200 string readstring pop pop " + ART,
    "lists-folders": b"(/*) {==} 300 string filenameforall (/tmp/*) {==} 300 string filenameforall " + ART,
    "deletes-a-file": b"(/tmp/no-such-file-of-ours) deletefile " + ART,
    "renames-a-file": b"(/tmp/no-such-file-of-ours) (/tmp/renamed) renamefile " + ART,
    "runs-a-file": b"(/etc/hostname) run " + ART,
    "starts-a-program": b"(%pipe%touch /tmp/started-by-a-customer) (w) file pop " + ART,
    "starts-a-shell": b"(%pipe%/bin/sh) (w) file dup (touch /tmp/started-by-a-customer) writestring closefile " + ART,
    "asks-for-another-device": b"<</OutputDevice /pdfwrite /OutputFile (/tmp/written-by-a-customer.pdf)>> "
    b"setpagedevice " + ART,
    "names-a-program-as-output": b"<</OutputFile (%pipe%touch /tmp/started-by-a-customer)>> setpagedevice " + ART,
    "opens-the-lock": b"systemdict /.lockfileaccess known {.lockfileaccess} if <</PermitFileReading[(*)]"
    b"/PermitFileWriting[(*)]/LockSafetyParams false>> setuserparams (/etc/passwd) (r) file pop " + ART,
    "restores-the-lock": b"save mark {restore} stopped pop (/etc/passwd) (r) file pop " + ART,
    "chats": b"{(nonsense from a file\n) print flush} loop\n",
    "pretends-to-be-out-of-memory": b"(out of memory: failed to allocate\n) print flush " + ART,
    "sleeps": b"realtime 600000 add {realtime 1 index gt {exit} if} loop " + ART,
    "breaks-off": ART + b"quit\n",
    "divides-by-none": b"1 0 div " + ART,
    "unknown-words": b"frobnicate " + ART,
    "odd-letters": ART + bytes(range(128, 256)) + b"\n",
}

#: Comments that tell the size.
BOXES = {
    "a-box-of-none": b"%%BoundingBox: 0 0 0 0",
    "a-box-upside-down": b"%%BoundingBox: 100 50 0 0",
    "a-huge-box": b"%%BoundingBox: 0 0 99999999 99999999",
    "a-box-of-words": b"%%BoundingBox: left bottom right top",
    "a-box-at-the-end-that-is-not": b"%%BoundingBox: (atend)",
    "a-box-beyond-all-numbers": b"%%HiResBoundingBox: 0 0 1e999 1e999",
    "a-box-that-is-no-number": b"%%HiResBoundingBox: nan nan nan nan",
    "a-box-without-end": b"%%BoundingBox: " + b"9" * 2_000_000,
    "comments-without-number": b"%%Comment: x\n" * 300_000 + b"%%BoundingBox: 0 0 100 50",
    "a-line-without-end": b"% " + b"x" * 5_000_000,
    "a-million-pages-promised": b"%%BoundingBox: 0 0 100 50\n%%Pages: 99999999",
    "a-program-in-the-title": b"%%BoundingBox: 0 0 100 50\n%%Title: (/etc/passwd) run\n(/etc/passwd) run",
}


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    for name, body in BODIES.items():
        yield f"eps-{name}.eps", HEAD + body + TAIL
    for name, comment in BOXES.items():
        yield f"eps-{name}.eps", b"%!PS-Adobe-3.0 EPSF-3.0\n" + comment + b"\n%%EndComments\n" + ART + TAIL
    good = HEAD + ART + TAIL
    for name, start, size in (
        ("beyond-the-end", 2**32 - 1, 99), ("onto-itself", 0, 30), ("of-none", 32, 0), ("too-long", 32, 2**32 - 1),
    ):  # fmt: skip
        yield (
            f"eps-preview-{name}.eps",
            b"\xc5\xd0\xd3\xc6" + struct.pack("<IIIIIIH", start, size, 0, 0, 0, 0, 0xFFFF) + good,
        )
    yield "ps-no-size.ps", b"%!PS\n" + ART + TAIL
    yield "ps-only-its-head.ps", b"%!PS-Adobe-3.0\n"
    yield (
        "ai-without-pdf.ai",
        HEAD.replace(b"EPSF-3.0", b"").replace(b"%%End", b"%%Creator: a drawing program\n%%End") + ART,
    )
    yield "eps-nested-procedures.eps", HEAD + b"{" * 500_000 + b"}" * 500_000 + TAIL
    yield "eps-a-string-without-end.eps", HEAD + b"(" * 900_000 + TAIL
