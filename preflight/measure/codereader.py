"""The two decoders behind ``codes``: imported only when something on the sheet may be a code."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import zxingcpp

from preflight.measure.codes import Code, Region, expected_modules
from preflight.measure.kernels import u8
from preflight.model import Bytes

#: Formats that check themselves: others are read out of lettering and stripes now and then.
_FORMATS = "QRCode,MicroQRCode,RMQRCode,DataMatrix,Aztec,PDF417,EAN13,EAN8,UPCA,UPCE,Code128"
#: Least symbol contrast that any grade allows: 20 % (ISO/IEC 15416, from memory). Decoders see less, scanners may not.
LEAST_CONTRAST = 0.20
_GAMMA = 2.2
#: Formats whose symbol is square.
_SQUARE = ("QR Code", "Micro QR Code", "Aztec")
_WEIGHTS = (0.299, 0.587, 0.114)


def on_cloth(region: Region, rgb: tuple[int, int, int]) -> Bytes:
    """Luma of the region as it lies on the garment, uint8 (h, w)."""
    cloth = sum(weight * value for weight, value in zip(_WEIGHTS, rgb, strict=True))
    alpha = region.alpha.astype(np.float32) / 255.0
    mixed = region.luma * alpha + np.float32(cloth) * (1.0 - alpha)
    return u8(np.rint(mixed).astype(np.uint8))


def find_codes(region: Region) -> list[Code]:
    """Codes in the region whatever the cloth, inverted ones as well."""
    found: dict[tuple[int, int], Code] = {}
    for level in (255, 0):
        image = on_cloth(region, (level, level, level))
        for symbol in [*_read(image, errors=True), *_read(u8(255 - image), errors=True)]:
            code = _code(region, symbol, image)
            if code is not None and not any(_same(code, other) for other in found.values()):
                found[(code.x, code.y)] = code
        if int(region.alpha.min()) == 255:
            break
    return list(found.values())


def reads_on(region: Region, code: Code, rgb: tuple[int, int, int]) -> bool:
    """Whether one of two decoders reads the code as it lies on the garment, and there is contrast enough."""
    image = on_cloth(region, rgb)
    y, x = code.y - region.y, code.x - region.x
    if symbol_contrast(image[y : y + code.height, x : x + code.width]) < LEAST_CONTRAST:
        return False
    crop = _cut_out(region, code, image, rgb)
    if any(True for _ in _read(crop, errors=False)):
        return True
    if not code.format.replace(" ", "").startswith("QR"):
        return False
    text, *_ = cv2.QRCodeDetector().detectAndDecode(crop)
    return bool(text)


def reads_inverted(region: Region, code: Code, rgb: tuple[int, int, int]) -> bool:
    """Whether the code says the same again on a garment once dark and light are swapped: a light code on dark."""
    crop = u8(255 - _cut_out(region, code, on_cloth(region, rgb), rgb))
    return any(symbol.text == code.text for symbol in _read(crop, errors=False))


def _cut_out(region: Region, code: Code, image: Bytes, rgb: tuple[int, int, int]) -> Bytes:
    """The code and what lies around it, uint8 (h, w)."""
    y, x = code.y - region.y, code.x - region.x
    margin = round(max(8.0, 6 * code.module))
    crop = image[max(0, y - margin) : y + code.height + margin, max(0, x - margin) : x + code.width + margin]
    # The print goes on as cloth beyond the piece that was kept.
    cloth = round(sum(weight * value for weight, value in zip(_WEIGHTS, rgb, strict=True)))
    return np.asarray(cv2.copyMakeBorder(crop, 8, 8, 8, 8, cv2.BORDER_CONSTANT, value=cloth), np.uint8)


def symbol_contrast(luma: Bytes) -> float:
    """Reflectance of the light modules less that of the dark ones, 0…1 (ISO/IEC 15416 and 15415, from memory)."""
    dark, light = (float(np.quantile(luma, share)) / 255.0 for share in (0.05, 0.95))
    return float(light**_GAMMA - dark**_GAMMA)


def _read(image: Bytes, *, errors: bool) -> Iterator[Any]:
    formats = zxingcpp.barcode_formats_from_str(_FORMATS)
    found: list[Any] = zxingcpp.read_barcodes(
        image, formats, try_invert=False, try_downscale=False, return_errors=errors
    )
    for symbol in found:
        # A damaged symbol counts as a code only where its finder leaves no doubt.
        if symbol.valid or (errors and "QR" in str(symbol.format) and "Version" in _extra(symbol)):
            yield symbol


def _extra(symbol: Any) -> Mapping[str, object]:
    """What the decoder says of a symbol besides its text; nothing for bar codes."""
    return symbol.extra or {}


def _code(region: Region, symbol: Any, image: Bytes) -> Code | None:
    corners = symbol.position
    points = np.array(
        [(p.x, p.y) for p in (corners.top_left, corners.top_right, corners.bottom_right, corners.bottom_left)],
        np.float64,
    )
    across = float(np.hypot(*(points[1] - points[0])) + np.hypot(*(points[2] - points[3]))) / 2 + 1
    down = float(np.hypot(*(points[3] - points[0])) + np.hypot(*(points[2] - points[1]))) / 2 + 1
    format_name = str(symbol.format)
    if format_name in _SQUARE and not 0.8 < across / down < 1.25:
        return None  # three specks that were taken for the corners of one
    modules = expected_modules(format_name, _extra(symbol))
    if modules is None:
        module = narrowest_run(image, points)
    else:
        sides = [length / count for length, count in zip((across, down), modules, strict=True) if count]
        module = sum(sides) / len(sides)
    if not module:
        return None
    x0, y0 = points.min(axis=0)
    x1, y1 = points.max(axis=0)
    return Code(
        text=symbol.text,
        format=format_name,
        x=region.x + int(x0),
        y=region.y + int(y0),
        width=int(x1 - x0) + 1,
        height=int(y1 - y0) + 1,
        module=module,
        sure="QR" in format_name,
    )


def narrowest_run(image: Bytes, points: npt.NDArray[np.float64]) -> float:
    """Module in px along the middle of a linear code with these corners; 0 when there is none.

    Bars and spaces are whole numbers of modules: the module is what makes their sum come out.
    """
    start, end = (points[0] + points[3]) / 2, (points[1] + points[2]) / 2
    length = float(np.hypot(*(end - start)))
    if length < 8:
        return 0.0
    steps = np.linspace(0.0, 1.0, int(4 * length))
    xs = np.clip(np.rint(start[0] + steps * (end[0] - start[0])), 0, image.shape[1] - 1).astype(int)
    ys = np.clip(np.rint(start[1] + steps * (end[1] - start[1])), 0, image.shape[0] - 1).astype(int)
    line = image[ys, xs].astype(np.float32)
    dark = line < (float(line.min()) + float(line.max())) / 2
    runs = np.diff(np.flatnonzero(np.diff(dark.astype(np.int8))))
    if len(runs) < 8:
        return 0.0
    module = float(runs[runs < 1.6 * np.quantile(runs, 0.1)].mean())
    for _ in range(3):
        module = float(runs.sum() / np.maximum(1.0, np.rint(runs / module)).sum())
    return module / 4.0


def _same(one: Code, other: Code) -> bool:
    """Whether two readings are of one code: their middles lie close together."""
    dx = abs((one.x + one.width / 2) - (other.x + other.width / 2))
    dy = abs((one.y + one.height / 2) - (other.y + other.height / 2))
    return dx < 0.5 * one.width and dy < 0.5 * max(one.height, 8)
