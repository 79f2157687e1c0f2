"""Good files of each format, cut short, or with bytes changed, left out and repeated."""

from __future__ import annotations

import gzip
import random
from collections.abc import Iterator

import numpy as np
from PIL import Image, ImageDraw, features

from . import drawings, postscript
from .documents import pdf
from .pictures import saved

_CUTS = (0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.97, 0.999)
_CHANGES = 14


def files(rng: random.Random) -> Iterator[tuple[str, bytes]]:
    """All of them: each good file, and what is left of it."""
    for name, ending, data in good():
        yield f"{name}-good.{ending}", data
        for cut in _CUTS:
            yield f"{name}-cut-at-{cut * 100:g}.{ending}", data[: max(1, int(len(data) * cut))]
        for number in range(_CHANGES):
            yield f"{name}-changed-{number:02d}.{ending}", changed(data, rng)


def changed(data: bytes, rng: random.Random) -> bytes:
    """Between one and twelve small changes, half of them among the first 200 bytes."""
    made = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 4, 12))):
        at = rng.randrange(min(len(made), rng.choice((200, len(made)))))
        match rng.randrange(5):
            case 0:
                made[at] ^= 1 << rng.randrange(8)
            case 1:
                made[at] = rng.choice((0, 0xFF, 0x7F, 0x80))
            case 2:
                del made[at : at + rng.randrange(1, 40)]
            case 3:
                made[at:at] = made[at : at + rng.randrange(1, 40)]
            case _:
                made[at : at + 4] = rng.choice((b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff", rng.randbytes(4)))
        made = made or bytearray(b"x")
    return bytes(made)


def art() -> Image.Image:
    """A drawing with clear ground, flat and shaded parts: RGBA, 240 × 160 px."""
    picture = Image.new("RGBA", (240, 160))
    draw = ImageDraw.Draw(picture)
    draw.ellipse((10, 10, 150, 150), fill=(200, 30, 60, 255))
    draw.rectangle((120, 40, 230, 120), fill=(20, 90, 200, 255))
    noise = np.random.default_rng(1).integers(0, 255, (50, 60, 3), dtype=np.uint8)
    picture.paste(Image.fromarray(noise), (50, 50))
    return picture


def good() -> Iterator[tuple[str, str, bytes]]:
    """Name, ending and content of a good file of each format and of its main kinds."""
    clear = art()
    solid, grey, inks = clear.convert("RGB"), clear.convert("L"), clear.convert("RGB").convert("CMYK")
    palette = solid.quantize(64)
    yield "png", "png", saved(clear, "PNG", dpi=(300, 300))
    yield "png-palette", "png", saved(palette, "PNG", transparency=0)
    yield "png-grey", "png", saved(grey, "PNG")
    yield "jpeg", "jpg", saved(solid, "JPEG", dpi=(300, 300))
    yield "jpeg-stepwise", "jpg", saved(solid, "JPEG", progressive=True)
    yield "jpeg-inks", "jpg", saved(inks, "JPEG")
    for packing in ("raw", "tiff_lzw", "tiff_adobe_deflate", "packbits", "jpeg"):
        picture = solid if packing == "jpeg" else clear
        yield (
            f"tiff-{packing.removeprefix('tiff_').replace('_', '-')}",
            "tif",
            saved(picture, "TIFF", compression=packing),
        )
    yield "tiff-inks", "tif", saved(inks, "TIFF")
    yield "gif", "gif", saved(palette, "GIF", transparency=0)
    yield "bmp", "bmp", saved(solid, "BMP")
    if features.check("webp"):
        yield "webp", "webp", saved(clear, "WEBP")
        yield "webp-lossless", "webp", saved(clear, "WEBP", lossless=True)
    if features.check("avif"):
        yield "avif", "avif", saved(clear, "AVIF", speed=10)
    yield "psd", "psd", _psd(clear)
    yield "heic", "heic", _heic()
    picture = saved(solid, "JPEG")
    yield "pdf", "pdf", pdf(
        b"1 0 0 rg 9 9 50 50 re f q 90 0 0 60 80 20 cm /I Do Q BT /F 12 Tf 20 70 Td (Hello) Tj ET",
        resources=b"/XObject<</I 10 0 R>>/Font<</F<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>>>",
        objects={10: b"<</Type/XObject/Subtype/Image/Width 240/Height 160/ColorSpace/DeviceRGB/BitsPerComponent 8"
                     b"/Filter/DCTDecode/Length %d>>stream\n%s\nendstream" % (len(picture), picture)},
    )  # fmt: skip
    drawn = drawings.drawing('<style>rect{fill:#c1e}</style><rect width="60" height="30"/><text y="20">Hello</text>'
                             '<path d="M5 5c9 9 20-9 30 9z" stroke="#000" transform="rotate(9)"/>')  # fmt: skip
    yield "svg", "svg", drawn
    yield "svg-packed", "svgz", gzip.compress(drawn, mtime=0)
    yield "eps", "eps", postscript.HEAD + postscript.ART + postscript.TAIL


def _psd(picture: Image.Image) -> bytes:
    from tests.intake.test_psd import RGB, RUNS, make_psd

    return make_psd(list(np.asarray(picture).transpose(2, 0, 1)), RGB, kind=RUNS)


def _heic() -> bytes:
    from tests.intake.test_heif import CLEAR

    return CLEAR
