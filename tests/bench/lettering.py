"""Text as exact coverage: drawn eight times as large without regard to the pixel grid, then averaged."""

from __future__ import annotations

import math
from functools import lru_cache

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from .raster import Floats, Patch, Sheet

#: How much larger the letters are drawn before averaging.
LARGER = 8
#: Debian's fonts-dejavu-core; where a machine lacks them the imaging library's own scalable font stands in.
FACES = {
    "serif": "DejaVuSerif.ttf",
    "serif bold": "DejaVuSerif-Bold.ttf",
    "sans": "DejaVuSans.ttf",
    "sans bold": "DejaVuSans-Bold.ttf",
}


@lru_cache(maxsize=32)
def font(face: str, size: int) -> ImageFont.FreeTypeFont:
    try:
        return ImageFont.truetype(FACES[face], size)
    except OSError:
        built_in = ImageFont.load_default(size=size)
        if not isinstance(built_in, ImageFont.FreeTypeFont):
            raise
        return built_in


def text_patch(text: str, face: str, points: float, ppi: float, x: float, y: float, angle: float = 0.0) -> Patch:
    """Coverage of a line of text whose ink begins at pixel (x, y); turned about the middle of the ink."""
    drawn = _large(text, face, points / 72 * ppi * LARGER)
    if angle:
        drawn = _turned(drawn, angle)
    left, top = math.floor(x), math.floor(y)
    dx, dy = round((x - left) * LARGER), round((y - top) * LARGER)
    rows = math.ceil((drawn.shape[0] + dy) / LARGER)
    columns = math.ceil((drawn.shape[1] + dx) / LARGER)
    padded = np.zeros((rows * LARGER, columns * LARGER), np.float32)
    padded[dy : dy + drawn.shape[0], dx : dx + drawn.shape[1]] = drawn
    cover = padded.reshape(rows, LARGER, columns, LARGER).mean(axis=(1, 3))
    return Patch(left, top, cover)


def _large(text: str, face: str, size: float) -> Floats:
    letters = font(face, max(8, round(size)))
    left, top, right, bottom = letters.getbbox(text)
    picture = Image.new("L", (math.ceil(right - left) + 2, math.ceil(bottom - top) + 2), 0)
    ImageDraw.Draw(picture).text((1 - left, 1 - top), text, fill=255, font=letters)
    return np.asarray(picture, np.float32) / np.float32(255)


def _turned(drawn: Floats, angle: float) -> Floats:
    rows, columns = drawn.shape
    turn = math.radians(angle)
    width = math.ceil(abs(columns * math.cos(turn)) + abs(rows * math.sin(turn))) + 2
    height = math.ceil(abs(columns * math.sin(turn)) + abs(rows * math.cos(turn))) + 2
    matrix = cv2.getRotationMatrix2D((columns / 2, rows / 2), angle, 1)
    matrix[:, 2] += [(width - columns) / 2, (height - rows) / 2]
    return np.asarray(cv2.warpAffine(drawn, matrix, (width, height), flags=cv2.INTER_LINEAR), np.float32)


def write(
    sheet: Sheet,
    text: str,
    face: str,
    points: float,
    x_mm: float,
    y_mm: float,
    colour: tuple[int, int, int],
    angle: float = 0.0,
) -> tuple[float, float, float, float]:
    """Set a line of text with its ink's top left at (x, y) mm; gives the box of the ink in pixels."""
    at = sheet.pixels(np.array([[x_mm, y_mm]], np.float64))[0]
    patch = text_patch(text, face, points, sheet.ppi, float(at[0]), float(at[1]), angle)
    sheet.paint(patch, colour)
    rows, columns = patch.cover.shape
    return float(patch.x), float(patch.y), float(patch.x + columns), float(patch.y + rows)


def text_size(text: str, face: str, points: float) -> tuple[float, float]:
    """Width and height of the ink in millimetres."""
    letters = font(face, 400)
    left, top, right, bottom = letters.getbbox(text)
    scale = points / 72 * 25.4 / 400
    return (right - left) * scale, (bottom - top) * scale
