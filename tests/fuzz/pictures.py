"""The heads of pictures, EXIF, the sections of PSD, the comments of PostScript; and which format a file is."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path

from preflight.intake import postscript
from preflight.intake.head import Head, Reader
from preflight.intake.heads import bmp, gif, jpeg, png, tiff, webp
from preflight.intake.psd import open_psd
from preflight.intake.sniff import FORMATS, HEAD_BYTES, ending_of_another, sniff
from preflight.intake.tags import read_exif
from tests.bench.corpus.bombs import damaged, structured
from tests.bench.corpus.bombs import postscript as programs

from .targets import Target

_LIMIT = 10**7
_HEADS: dict[str, Callable[[Reader], Head]] = {
    "png": png.read, "jpg": jpeg.read, "tif": tiff.read, "webp": webp.read, "gif": gif.read, "bmp": bmp.read,
}  # fmt: skip
_WORDS: dict[str, tuple[bytes, ...]] = {
    "png": (b"IHDR", b"IDAT", b"IEND", b"PLTE", b"tRNS", b"iCCP", b"eXIf", b"pHYs", b"acTL", b"cICP", b"sRGB",
            b"\0\0\0\0IDAT"),
    "jpg": (b"\xff\xd8", b"\xff\xc0", b"\xff\xc2", b"\xff\xda", b"\xff\xd9", b"\xff\xe1", b"\xff\xe2", b"\xff\xee",
            b"\xff\xd0",            b"Exif\0\0", b"ICC_PROFILE\0\1\1", b"Adobe", b"JFIF\0", b"\xff\xff\xff"),
    "tif": (b"II*\0", b"MM\0*", b"II+\0", b"\0\1\3\0", b"\x11\1\4\0", b"\x4a\1", b"\x69\x87", b"\x73\x87"),
    "webp": (b"RIFF", b"WEBP", b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP", b"EXIF"),
    "gif": (b"GIF89a", b"GIF87a", b",", b"!\xf9\4", b"!\xfe", b"!\xff\x0b", b";", b"\0"),
    "bmp": (b"BM", b"\x28\0\0\0", b"\x7c\0\0\0", b"\x0c\0\0\0", b"MBED", b"BGRs"),
}  # fmt: skip


def _head(read: Callable[[Reader], Head]) -> Callable[[bytes, Path], object]:
    def parse(data: bytes, _folder: Path) -> object:
        head = read(Reader(io.BytesIO(data), len(data)))
        assert head.width >= 0
        assert head.height >= 0
        assert 1 <= head.orientation <= 8
        assert head.frames >= 0
        return head

    return parse


def _exif(data: bytes, _folder: Path) -> object:
    orientation, density = read_exif(data)
    assert 1 <= orientation <= 8
    return density


def _psd(data: bytes, folder: Path) -> object:
    path = folder / "art.psd"
    path.write_bytes(data)
    (page,) = open_psd(path, pixel_limit=_LIMIT)
    return page.facts, page.document


def _postscript(data: bytes, folder: Path) -> object:
    path = folder / "art.eps"
    path.write_bytes(data)
    text = postscript._program_text(path)
    postscript._check_end(text)
    postscript._is_one_drawing(text)
    postscript._missing_fonts(data.decode("latin-1"))
    box = postscript._bounding_box(text)
    return None if box is None else postscript._marked(text, box)


def _sniffed(data: bytes, _folder: Path) -> object:
    name = sniff(data[:HEAD_BYTES])
    assert name is None or name in FORMATS
    return ending_of_another("art.png", name) if name else None


def targets() -> Iterator[Target]:
    """All of them."""
    good = [(ending, data) for _, ending, data in damaged.good()]
    for ending, read in _HEADS.items():
        seeds = tuple(data for kind, data in good if kind == ending)
        if ending == "tif":
            seeds += (*_directories(),)
        yield Target(f"heads of {ending}", _head(read), seeds, _WORDS[ending])
    exif = b"Exif\0\0" + structured.tiff([(0x0112, 3, 1, 6), (0x011A, 5, 1, 50), (0x011B, 5, 1, 50), (0x0128, 3, 1, 2)],
                                         bytes(9) + b"\x2c\1\0\0\1\0\0\0")  # fmt: skip
    yield Target("EXIF", _exif, (exif, exif[6:]), _WORDS["tif"])
    layered = (structured.psd(64, 64), structured.psd(64, 64, version=2), structured.psd(64, 64, channels=5, mode=4))
    yield Target("sections of PSD", _psd, (*(data for kind, data in good if kind == "psd"), *layered, _layered()),
                 (*b"8BPS 8BIM 8B64 luni lsct Lr16 \x03\xed \x04\x0f \xff\xff".split(),))  # fmt: skip
    texts = tuple(data for name, data in programs.files() if len(data) < 3_000)
    words = (
        b"%!PS-Adobe-3.0 EPSF-3.0 %%BoundingBox: %%HiResBoundingBox: (atend) %%EOF %%Trailer %%Pages: showpage".split()
    )
    words += [b" ", b"\r", b"\n", b"\x04", b"\xc5\xd0\xd3\xc6"]
    yield Target("comments of PostScript", _postscript, texts, tuple(words))
    heads = (*(data[:2_000] for _, data in good), *texts[:5])
    marks = [word for words in _WORDS.values() for word in words]
    marks += b"%PDF- <svg <?xml PK\3\4 ftyp \x1f\x8b\x08".split()
    yield Target("what a file is", _sniffed, heads, tuple(marks))


def _directories() -> Iterator[bytes]:
    """TIFFs with several directories, parts, tiles, extra samples and a profile."""
    small = [(256, 4, 1, 8), (257, 4, 1, 8), (258, 3, 1, 8), (259, 3, 1, 1), (262, 3, 1, 1), (273, 4, 1, 122),
             (277, 3, 1, 1), (278, 4, 1, 8), (279, 4, 1, 64)]  # fmt: skip
    first = structured.tiff(small, bytes(64), following=122 + 64)
    yield first + structured.tiff(small)[8:]
    yield structured.tiff([*small, (330, 4, 1, 8), (34665, 4, 1, 8), (338, 3, 1, 2), (34675, 7, 9, 122)], bytes(99))
    yield structured.tiff(
        [*small[:5], (277, 3, 1, 1), (322, 4, 1, 16), (323, 4, 1, 16), (324, 4, 1, 122), (325, 4, 1, 64)], bytes(99)
    )


def _layered() -> bytes:
    """A PSD with layers and resources."""
    import numpy as np

    from tests.intake.test_psd import RGB, layer, layers, make_psd, resource

    section = layers(layer("Background"), layer("Überschrift", hidden=True, section=1, keys=(b"TySh",)))
    density = resource(0x03ED, b"\x01\x2c\0\0\0\1\0\1\x01\x2c\0\0\0\1\0\1") + resource(0x040F, b"x" * 20, b"name")
    return make_psd([np.zeros((4, 5), np.uint8)] * 3, RGB, resources=density, section=section)
