"""Contact sheets: pictures on their garment with the places of a finding marked, to be looked at by eye."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyvips
from PIL import Image, ImageColor, ImageDraw

from .asking import Answer
from .lettering import font

TILE = 380
_WORDS = 54


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture for a sheet."""

    path: Path
    name: str  #: package and running number; never the file's own name
    answer: Answer
    rule: str  #: the rule whose places are marked
    garment: str


def contact_sheet(shots: list[Shot], target: Path, across: int = 4) -> None:
    """Lay the shots out, left to right, and write one PNG."""
    rows = -(-len(shots) // across)
    sheet = Image.new("RGB", (across * TILE, rows * TILE), (70, 70, 70))
    for i, shot in enumerate(shots):
        sheet.paste(tile(shot), ((i % across) * TILE, (i // across) * TILE))
    sheet.save(target)


def tile(shot: Shot) -> Image.Image:
    """The picture fitted into a square, with red boxes at the places and what was said above it."""
    room = (TILE - 12, TILE - _WORDS - 8)
    whole = _load(shot.path)
    scale = min(room[0] / whole.width, room[1] / whole.height)
    size = (max(1, round(whole.width * scale)), max(1, round(whole.height * scale)))
    ground = Image.new("RGBA", size, (*ImageColor.getrgb(shot.garment)[:3], 255))
    ground.alpha_composite(whole.resize(size, Image.Resampling.LANCZOS if scale < 1 else Image.Resampling.NEAREST))
    tile_ = Image.new("RGB", (TILE, TILE), (96, 110, 120))
    tile_.paste(ground.convert("RGB"), (6, _WORDS))
    draw = ImageDraw.Draw(tile_)
    for told in shot.answer.findings:
        if told.rule == shot.rule and shot.answer.ppi is not None:
            for place in told.places[:40]:
                _mark(draw, place, shot.answer, scale)
    said = ", ".join(f"{t.rule} {t.severity}" for t in shot.answer.findings)
    value = next((t.value for t in shot.answer.findings if t.rule == shot.rule), None)
    head = f"{shot.name}: {shot.rule} {'' if value is None else round(value, 3)}"
    letters = font("sans", 13)
    draw.text((6, 4), head, fill="white", font=letters)
    draw.text((6, 22), said[:58], fill=(255, 220, 150), font=letters)
    draw.text((6, 37), said[58:116], fill=(255, 220, 150), font=letters)
    return tile_


def _mark(draw: ImageDraw.ImageDraw, place: tuple[float, ...], answer: Answer, scale: float) -> None:
    to_px = (answer.ppi or 0) / 25.4
    x0, x1 = ((place[i] * to_px + answer.origin[0]) * scale + 6 for i in (0, 2))
    y0, y1 = ((place[i] * to_px + answer.origin[1]) * scale + _WORDS for i in (1, 3))
    draw.rectangle((min(x0, x1) - 3, min(y0, y1) - 3, max(x0, x1) + 3, max(y0, y1) + 3), outline=(255, 0, 0))


def _load(path: Path) -> Image.Image:
    picture = pyvips.Image.new_from_file(str(path)).colourspace("srgb")
    if not picture.hasalpha():
        picture = picture.bandjoin(255)
    if picture.format != "uchar":
        picture = picture.cast("uchar")
    return Image.fromarray(np.ascontiguousarray(picture.numpy()), "RGBA")
