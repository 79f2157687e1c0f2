"""What a shop gets that is no artwork, and names that trip up scripts."""

from __future__ import annotations

import gzip
import io
import struct
import tarfile
import zipfile
import zlib
from collections.abc import Iterator

from .pictures import png

_HEAD_ONLY = {
    "empty.png": b"",
    "one-byte.png": b"\x89",
    "zeros.bin": bytes(100_000),
    "only-a-mark.png": b"\x89PNG\r\n\x1a\n",
    "only-a-mark.jpg": b"\xff\xd8\xff",
    "only-a-mark.gif": b"GIF89a",
    "only-a-mark.tif": b"II*\0",
    "only-a-mark.psd": b"8BPS",
    "only-a-mark.pdf": b"%PDF-1.7\n",
    "only-a-mark.webp": b"RIFF\0\0\0\0WEBP",
    "text.txt": b"please print this in red\n",
    "page.html": b"<!DOCTYPE html><html><script>alert(1)</script></html>",
    "letter.rtf": b"{\\rtf1\\ansi hello}",
    "old-office.doc": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000),
    "clip.mp4": b"\0\0\0\x18ftypisom\0\0\0\0isomiso2" + bytes(500),
    "clip.avi": b"RIFF\xff\0\0\0AVI LIST" + bytes(500),
    "clip.mkv": b"\x1aE\xdf\xa3" + bytes(500),
    "raw.cr2": b"II*\0\x10\0\0\0CR\2\0" + bytes(600),
    "raw.nef": b"MM\0*\0\0\0\x08" + bytes(600),
    "raw.raf": b"FUJIFILMCCD-RAW 0201" + bytes(600),
    "raw.orf": b"IIRO\x08\0\0\0" + bytes(600),
    "archive.rar": b"Rar!\x1a\7\1\0" + bytes(200),
    "archive.7z": b"7z\xbc\xaf\x27\x1c" + bytes(200),
    "program.exe": b"MZ" + bytes(200) + b"PE\0\0" + bytes(300),
    "program.elf": b"\x7fELF\2\1\1" + bytes(300),
    "script.sh": b"#!/bin/sh\nrm -rf /\n",
    "icon.ico": b"\0\0\1\0\1\0" + bytes(100),
    "drawing.cdr": b"RIFF\xff\0\0\0CDR9vrsn" + bytes(200),
    "drawing.dxf": b"0\nSECTION\n2\nHEADER\n",
    "drawing.emf": struct.pack("<II", 1, 108) + bytes(32) + b" EMF" + bytes(100),
    "drawing.wmf": b"\xd7\xcd\xc6\x9a" + bytes(100),
    "picture.jp2": b"\0\0\0\x0cjP  \r\n\x87\n" + bytes(200),
    "picture.jxl": b"\xff\x0a" + bytes(200),
    "picture.exr": b"\x76\x2f\x31\x01" + bytes(200),
    "drawing.indd": b"\x06\x06\xed\xf5\xd8\x1d\x46\xe5\xbd\x31\xef\xe7\xfe\x74\xb7\x1d" + bytes(200),
    "wide-letters.txt": "ÿþ".encode("utf-16"),
    "nested-braces.json": b"[" * 100_000,
}

#: Names; all hold the same good picture.
_NAMES = (
    "-rf", "--width", "a b.png", "a\nb.png", "a\tb.png", "a;b|c&d.png", "$(touch x).png", "`touch x`.png", "'\".png",
    "%s%n%x.png", "{}.png", "*.png", "[a].png",
    "名前.png", "العربية.png", "\u202egnp.exe", "e\u0301.png", "é.png", "..png",
    "...", ".png", "png", "a.png.exe", "CON.png", "x" * 240 + ".png", "\x1b[31mred.png", "\x07.png", "a.ticket.png",
)  # fmt: skip


def files() -> Iterator[tuple[str, bytes]]:
    """All of them."""
    yield from _HEAD_ONLY.items()
    good = png(300, 200, zlib.compress((b"\0" + b"\xc8\x1e\x3c\xff" * 300) * 200))
    for name in _NAMES:
        yield name, good
    for ending in ("jpg", "pdf", "svg", "tif", "psd", "heic", "docx", "zip"):
        yield f"really-a-png.{ending}", good
    yield "packed.png.gz", gzip.compress(good)
    yield "packed.zip", _zip({"art.png": good})
    yield "letter.docx", _zip({"[Content_Types].xml": b"<Types/>", "word/document.xml": b"<w/>"})
    yield "drawing.odg", _zip({"mimetype": b"application/vnd.oasis.opendocument.graphics", "content.xml": b"<x/>"})
    yield "a-zip-of-a-gigabyte.zip", _zip({"zeros": bytes(1 << 28)})
    yield "a-zip-that-climbs.zip", _zip({"../../../tmp/climbed.txt": b"x"})
    stream = io.BytesIO()
    with tarfile.open(fileobj=stream, mode="w") as tar:
        tar.addfile(tarfile.TarInfo("/etc/climbed"), io.BytesIO())
    yield "archive.tar", stream.getvalue()
    yield "a-picture-and-an-archive.png", good + _zip({"a": b"b"})
    yield "a-picture-and-a-document.png", good + b"%PDF-1.7\n%%EOF"


def _zip(content: dict[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in content.items():
            archive.writestr(name, data)
    return stream.getvalue()
