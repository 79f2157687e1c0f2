"""What a file is, by its content and never by its name.

The signatures are those of each format's own specification; where none was at hand they are from memory.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Mapping
from pathlib import PurePath

from preflight.records import dataclass

#: Bytes from the start that are looked at.
HEAD_BYTES = 4096
_AS_PNG = "Export it as a PNG with a transparent background, at print size and 300 ppi, and send that."


@dataclass(frozen=True, slots=True)
class Format:
    """A kind of file.

    ``what`` names it in a sentence that starts "it is …"; ``instead`` says what to send, and is None for pictures
    that are opened here.
    """

    name: str
    endings: tuple[str, ...]
    what: str
    instead: str | None = None


def _table(*formats: Format) -> Mapping[str, Format]:
    return {one.name: one for one in formats}


FORMATS: Mapping[str, Format] = _table(
    Format("PNG", (".png", ".apng"), "a PNG picture"),
    Format("JPEG", (".jpg", ".jpeg", ".jpe", ".jfif", ".jfi", ".jif"), "a JPEG picture"),
    Format("TIFF", (".tif", ".tiff"), "a TIFF picture"),
    Format("WebP", (".webp",), "a WebP picture"),
    Format("GIF", (".gif",), "a GIF picture"),
    Format("BMP", (".bmp", ".dib"), "a BMP picture"),
    Format("PDF", (".pdf", ".ai"), "a PDF document"),
    Format("PostScript", (".eps", ".ps", ".epsf", ".epsi", ".ai"), "a PostScript drawing"),
    Format("SVG", (".svg", ".svgz"), "an SVG drawing"),
    Format("PSD", (".psd", ".psb", ".pdd"), "a layered PSD file"),
    Format("XCF", (".xcf",), "a layered XCF file, which is not opened", _AS_PNG),
    Format("HEIC", (".heic", ".heif", ".hif"), "a HEIC photo"),
    Format("AVIF", (".avif", ".avifs"), "an AVIF picture"),
    Format(
        "JPEG 2000",
        (".jp2", ".j2k", ".jpf", ".jpx"),
        "a JPEG 2000 picture, which is not opened",
        "Save it as a PNG and send that.",
    ),
    Format("JPEG XL", (".jxl",), "a JPEG XL picture, which is not opened", "Save it as a PNG and send that."),
    Format(
        "other picture",
        (".tga", ".pcx", ".dds", ".qoi", ".pnm", ".ppm", ".pgm", ".pbm", ".exr", ".hdr", ".sgi", ".ras", ".icns"),
        "a picture of a kind that is not opened",
        "Save it as a PNG and send that.",
    ),
    Format(
        "icon",
        (".ico", ".cur"),
        "an icon for the screen, which is too small to print",
        "Send the artwork that the icon was made from.",
    ),
    Format("Windows metafile", (".wmf", ".emf"), "a Windows metafile, which is not opened", _AS_PNG),
    Format(
        "camera raw",
        (".cr2", ".cr3", ".nef", ".arw", ".dng", ".orf", ".rw2", ".raf", ".pef", ".srw", ".x3f", ".mrw", ".3fr"),
        "a camera raw file",
        "Develop it in a camera raw program and send the result as a TIFF or PNG.",
    ),
    Format(
        "office document",
        (".docx", ".pptx", ".xlsx", ".doc", ".ppt", ".xls", ".odt", ".odp", ".ods", ".rtf", ".pub"),
        "an office document",
        "Send the picture itself, not a document that it was pasted into.",
    ),
    Format(
        "archive",
        (".zip", ".rar", ".7z", ".gz", ".tar", ".tgz", ".bz2", ".xz", ".zst", ".cab"),
        "an archive",
        "Unpack it and send the artwork in it.",
    ),
    Format(
        "working file",
        (".cdr", ".afdesign", ".afphoto", ".afpub", ".af", ".indd", ".sketch", ".fig", ".kra", ".ora", ".clip", ".xd"),
        "a working file of a drawing program",
        "Export it as a PDF, or as a PNG with a transparent background at print size and 300 ppi, and send that.",
    ),
    Format(
        "video",
        (".mp4", ".mov", ".m4v", ".avi", ".mkv", ".webm", ".mpg", ".mpeg", ".wmv", ".flv", ".3gp"),
        "a video",
        "Send a still picture.",
    ),
    Format(
        "font",
        (".ttf", ".otf", ".ttc", ".woff", ".woff2"),
        "a font, not a picture",
        "Send the artwork itself, with its letters turned into outlines.",
    ),
    Format("shortcut", (".lnk",), "a shortcut to a file, not the file itself", "Send the file that it leads to."),
    Format(
        "side file",
        (),
        "a side file that another system puts beside the real one",
        "Send the file of the same name without the two signs '._' at its start.",
    ),
    Format("web page", (".html", ".htm"), "a web page, not a picture", "Download the picture itself and send that."),
    Format("text", (".txt", ".csv", ".md", ".json"), "a text file, not a picture", _AS_PNG),
)

#: Place and bytes → format. The longest and surest first.
_MAGIC: tuple[tuple[int, bytes, str], ...] = (
    (0, b"\x89PNG\r\n\x1a\n", "PNG"),
    (0, b"\xff\xd8\xff", "JPEG"),
    (0, b"GIF87a", "GIF"),
    (0, b"GIF89a", "GIF"),
    (8, b"CR\x02\x00", "camera raw"),
    (0, b"IIRO", "camera raw"),
    (0, b"IIRS", "camera raw"),
    (0, b"IIU\x00", "camera raw"),
    (0, b"FOVb", "camera raw"),
    (0, b"\x00MRM", "camera raw"),
    (8, b"CCD-RAW ", "camera raw"),
    (0, b"II*\x00", "TIFF"),
    (0, b"MM\x00*", "TIFF"),
    (0, b"II+\x00\x08\x00\x00\x00", "TIFF"),
    (0, b"MM\x00+\x00\x08\x00\x00", "TIFF"),
    (0, b"8BPS\x00\x01", "PSD"),
    (0, b"8BPS\x00\x02", "PSD"),
    (4, b" xcf ", "XCF"),
    (0, b"\xc5\xd0\xd3\xc6", "PostScript"),
    (0, b"%!PS", "PostScript"),
    (0, b"\x04%!PS", "PostScript"),
    (0, b"\x00\x00\x00\x0cjP  \r\n\x87\n", "JPEG 2000"),
    (0, b"\xffO\xffQ", "JPEG 2000"),
    (0, b"\x00\x00\x00\x0cJXL \r\n\x87\n", "JPEG XL"),
    (0, b"\xff\x0a", "JPEG XL"),
    (0, b"DDS ", "other picture"),
    (0, b"qoif", "other picture"),
    (0, b"\x76\x2f\x31\x01", "other picture"),
    (0, b"#?RADIANCE", "other picture"),
    (0, b"\x59\xa6\x6a\x95", "other picture"),
    (0, b"icns", "other picture"),
    (0, b"\x0a\x05\x01\x08", "other picture"),
    (0, b"\xd7\xcd\xc6\x9a", "Windows metafile"),
    (40, b" EMF", "Windows metafile"),
    (0, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "office document"),
    (0, b"{\\rtf", "office document"),
    (0, b"Rar!\x1a\x07", "archive"),
    (0, b"7z\xbc\xaf\x27\x1c", "archive"),
    (0, b"\x1f\x8b\x08", "archive"),
    (257, b"ustar", "archive"),
    (0, b"BZh", "archive"),
    (0, b"\xfd7zXZ\x00", "archive"),
    (0, b"\x28\xb5\x2f\xfd", "archive"),
    (0, b"MSCF\x00\x00\x00\x00", "archive"),
    (0, b"PK\x05\x06", "archive"),
    (0, b"\x00\xffKA", "working file"),
    (0, b"\x06\x06\xed\xf5\xd8\x1d\x46\xe5", "working file"),
    (0, b"fig-kiwi", "working file"),
    (0, b"CSFCHUNK", "working file"),
    (0, b"\x00\x05\x16\x07\x00", "side file"),
    (0, b"L\x00\x00\x00\x01\x14\x02\x00", "shortcut"),
    (0, b"OTTO\x00", "font"),
    (0, b"ttcf\x00", "font"),
    (0, b"wOFF", "font"),
    (0, b"wOF2", "font"),
    (0, b"\x00\x01\x00\x00\x00", "font"),
    (0, b"FLV\x01", "video"),
    (0, b"\x30\x26\xb2\x75\x8e\x66\xcf\x11", "video"),
    (4, b"moov", "video"),
    (4, b"mdat", "video"),
    (0, b"\x1aE\xdf\xa3", "video"),
    (0, b"\x00\x00\x01\xba", "video"),
    (0, b"\x00\x00\x01\xb3", "video"),
    (0, b"\x00\x00\x01\x00", "icon"),
    (0, b"\x00\x00\x02\x00", "icon"),
)
_NEW_SUBFILE_TYPE, _SUB_DIRECTORIES, _DNG_VERSION = 254, 330, 50706
_RIFF = {b"WEBP": "WebP", b"AVI ": "video"}
_HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1"}
_AVIF_BRANDS = {b"avif", b"avis"}
_RAW_BRAND = b"crx "
_WORKING_PARTS = (b"application/x-krita", b"image/openraster", b"content/riffData", b"document.json")
_OFFICE_PARTS = (b"[Content_Types].xml", b"word/", b"ppt/", b"xl/", b"application/vnd.oasis.opendocument.")
#: Bytes that no text holds.
_NO_TEXT = frozenset(range(32)) - set(b"\t\n\r\f\x1b")


def sniff(head: bytes) -> str | None:
    """The format of a file, a key of ``FORMATS``; None when its content is not known.

    Parameters
    ----------
    head
        The first ``HEAD_BYTES`` bytes of the file, or all of a shorter one.
    """
    for offset, magic, name in _MAGIC:
        if head[offset : offset + len(magic)] == magic:
            return _inside(head, name)
    if head[:4] == b"RIFF":
        return "working file" if head[8:11].upper() == b"CDR" else _RIFF.get(head[8:12])
    if head[4:8] == b"ftyp":
        return _media(head)
    if head[:4] == b"PK\x03\x04":
        return _zipped(head)
    if head[:2] == b"BM" and _is_bitmap(head):
        return "BMP"
    if head[:1] == b"P" and head[1:2] in b"1234567" and head[2:3].isspace():  # the portable any-map family
        return "other picture"
    if b"%PDF-" in head[:1024]:  # ISO 32000-1, annex H: readers take it anywhere in the first 1024 bytes
        return "PDF"
    return _text(head)


def ending_of_another(name: str, format: str) -> str | None:  # noqa: A002
    """The format that the name's ending stands for, where that is not what the file holds.

    Parameters
    ----------
    name
        The file's name.
    format
        A key of ``FORMATS``: what the content is.

    Returns
    -------
    str or None
        None also for a name without an ending or with one that is not known: neither says anything else.
    """
    ending = PurePath(name).suffix.lower()
    if format in FORMATS and ending in FORMATS[format].endings:
        return None
    return next((one.name for one in FORMATS.values() if ending in one.endings), None)


def _inside(head: bytes, name: str) -> str:
    """A second look at a signature that several formats share."""
    if name == "TIFF" and _is_raw(head):
        return "camera raw"
    if head[:3] == b"\x1f\x8b\x08" and _text(_unpacked(head)) == "SVG":
        return "SVG"
    return name


def _unpacked(head: bytes) -> bytes:
    """The first bytes of what a gzip file holds; as much as is there of a piece, nothing of a damaged one."""
    try:
        return zlib.decompressobj(wbits=31).decompress(head, HEAD_BYTES)
    except zlib.error:
        return b""


def _is_raw(head: bytes) -> bool:
    """Whether a TIFF is the negative of a camera: a DNG, or a small preview in front and the picture elsewhere.

    TIFF 6.0; NewSubfileType and SubIFDs: TIFF/EP, DNGVersion: the DNG specification, both from memory.
    """
    order = "<" if head[:2] == b"II" else ">"
    version, at = struct.unpack(f"{order}HI", head[2:8]) if len(head) >= 8 else (0, 0)
    if version != 42 or at + 2 > len(head):
        return False
    (count,) = struct.unpack_from(f"{order}H", head, at)
    tags: dict[int, int] = {}
    for place in range(at + 2, min(at + 2 + 12 * count, len(head) - 11), 12):
        tag, kind = struct.unpack_from(f"{order}HH", head, place)
        tags[tag] = struct.unpack_from(f"{order}{'H' if kind == 3 else 'I'}", head, place + 8)[0]
    return _DNG_VERSION in tags or (_SUB_DIRECTORIES in tags and tags.get(_NEW_SUBFILE_TYPE, 0) & 1 == 1)


def _zipped(head: bytes) -> str:
    if any(part in head for part in _WORKING_PARTS):
        return "working file"
    return "office document" if any(part in head for part in _OFFICE_PARTS) else "archive"


def _media(head: bytes) -> str:
    """The brands of an ISO base media file: the major one first, then those it is compatible with."""
    end = min(max(16, int.from_bytes(head[:4], "big")), len(head))
    brands = [head[8:12], *(head[at : at + 4] for at in range(16, end, 4))]
    if _RAW_BRAND in brands:
        return "camera raw"
    if _AVIF_BRANDS & set(brands):
        return "AVIF"
    return "HEIC" if _HEIF_BRANDS & set(brands) else "video"


def _is_bitmap(head: bytes) -> bool:
    """Two letters are a weak signature: the length of the second header must be one that exists."""
    return len(head) < 18 or int.from_bytes(head[14:18], "little") in (12, 16, 40, 52, 56, 64, 108, 124)


def _text(head: bytes) -> str | None:
    """Formats written as text, by their first words."""
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        head = head[2:].replace(b"\x00", b"")
    if not head or not _NO_TEXT.isdisjoint(head):
        return None
    words = head.lower()
    if b"<svg" in words or b"<!doctype svg" in words:
        return "SVG" if b"<html" not in words.partition(b"<svg")[0] else "web page"
    if b"<html" in words or b"<!doctype html" in words:
        return "web page"
    return "text"
