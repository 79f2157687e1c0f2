"""What a benchmark case is: a drawing, what was planted in it and where, and the ticket it comes with."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeAlias

import numpy as np
from PIL import Image

from preflight.model import Ticket

from .raster import Bytes, Sheet

#: Left, top, right, bottom; pixels of the canvas.
Box: TypeAlias = tuple[float, float, float, float]

#: Every picture rule that a case is judged by (the contract's list).
RULES = (
    "low-resolution", "enlarged-picture", "size-unknown", "size-differs", "wider-than-film", "nothing-to-print",
    "cropped-at-edge", "soft-edge", "translucent-area", "faint-residue", "background-left", "painted-checkerboard",
    "edge-fringe", "thin-line", "thin-gap", "no-white-under", "stray-specks", "heavy-ink", "colour-shift",
    "low-contrast", "unreadable-code", "wrong-extension", "unreadable-file", "cut-short", "unreadable-ticket",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Planted:
    """A fault that was put into the picture.

    ``where``: boxes in canvas pixels that a place of the finding must touch; empty = the whole artwork.
    ``severity``: what the trade's limits make of it, where the planted value is clear of them. ``value``: the true
    value in the measurement's unit, where there is one.
    """

    rule: str
    where: tuple[Box, ...] = ()
    severity: str | None = None
    value: float | None = None


@dataclass(slots=True)
class Drawn:
    """A picture with what is known of it, before it becomes a file."""

    rgba: Bytes
    ppi: float
    planted: list[Planted] = field(default_factory=list)
    open: set[str] = field(default_factory=set)  #: rules that this picture says nothing about, either way
    tone: str = "flat"  #: "flat", "photo" or "mixed": which limits of resolution apply
    garments: tuple[str, ...] | None = None  #: None = one that the art stands out on is chosen
    size_of: str | None = None  #: None = by chance
    ordered_scale: tuple[float, float] = (1.0, 1.0)  #: factor between true and ordered size
    ordered: str = "any"  #: which sizes the ticket names: "width", "height", "both", "none", "any"
    inks: Bytes | None = None  #: a CMYK picture instead of rgba
    format: str | None = None  #: "PNG", "JPEG", "TIFF", "WEBP"; None = by chance
    quality: int = 92
    ending: str | None = None  #: another ending than the format's
    keep: float = 1.0  #: share of the file's bytes that is written; 0 = other bytes instead
    density: float | None = -1.0  #: resolution tag to write; -1 = by chance; None = no tag
    truth_of_colour: bool = True  #: contrast and colour shift are computed from the pixels

    def plant(self, rule: str, where: Iterable[Box] = (), severity: str | None = None,
              value: float | None = None) -> Drawn:  # fmt: skip
        self.planted.append(Planted(rule, tuple(where), severity, value))
        return self


@dataclass(frozen=True, slots=True)
class Case:
    """A file of the benchmark and what must and must not be said of it."""

    number: int
    kind: str
    path: Path
    ticket: Ticket
    ppi: float
    origin: tuple[float, float]  #: top left of the visible art, canvas pixels
    planted: tuple[Planted, ...]
    open: frozenset[str]

    @property
    def quiet(self) -> tuple[str, ...]:
        """The rules that must not be heard of."""
        loud = {planted.rule for planted in self.planted}
        return tuple(rule for rule in RULES if rule not in loud and rule not in self.open)

    def in_print(self, box: Box) -> Box:
        """A box of canvas pixels in print millimetres from the artwork's top left."""
        scale = 25.4 / self.ppi
        x, y = self.origin
        return (box[0] - x) * scale, (box[1] - y) * scale, (box[2] - x) * scale, (box[3] - y) * scale


#: Draws one picture of a kind.
Draw = Callable[[np.random.Generator], Drawn]


def drawn(sheet: Sheet, rng: np.random.Generator, **more: object) -> Drawn:
    """The sheet as a picture; what stands under alpha 0 is black, white or a colour, as programs leave it."""
    hidden = [(0, 0, 0), (0, 0, 0), (255, 255, 255), (120, 40, 90)][int(rng.integers(4))]
    return replace(Drawn(sheet.rgba(hidden), sheet.ppi), **more)  # type: ignore[arg-type]


def art_box(alpha: Bytes) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of the pixels with any opacity; the whole canvas when there are none."""
    rows, columns = np.flatnonzero(alpha.any(axis=1)), np.flatnonzero(alpha.any(axis=0))
    if not len(rows):
        return 0, 0, alpha.shape[1], alpha.shape[0]
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


ENDINGS = {"PNG": ".png", "JPEG": ".jpg", "TIFF": ".tif", "WEBP": ".webp"}


def save(picture: Drawn, folder: Path, name: str, rng: np.random.Generator) -> Path:
    """Write the picture as the file a customer would send."""
    form = picture.format or str(rng.choice(["PNG"] * 7 + ["TIFF", "WEBP"]))
    path = folder / (name + (picture.ending or ENDINGS[form]))
    density = picture.density
    if density == -1.0:
        density = [None, 72.0, picture.ppi][int(rng.integers(3))]
    options: dict[str, object] = {} if density is None else {"dpi": (density, density)}
    options |= _options(form, picture.quality, rng)
    if form == "JPEG" and picture.inks is not None:
        # Halving "chroma" of ink planes would halve magenta, yellow and black themselves: no sound picture any more.
        options["subsampling"] = 0
    _picture(picture, form).save(path, form, **options)
    if picture.keep == 0:
        path.write_bytes(rng.bytes(int(rng.integers(0, 3)) * 4000))
    elif picture.keep < 1:
        content = path.read_bytes()
        path.write_bytes(content[: int(len(content) * picture.keep)])
    return path


def _picture(picture: Drawn, form: str) -> Image.Image:
    if picture.inks is not None:
        return Image.fromarray(picture.inks, "CMYK")
    if form == "JPEG":
        return Image.fromarray(np.ascontiguousarray(picture.rgba[..., :3]), "RGB")
    return Image.fromarray(picture.rgba, "RGBA")


def _options(form: str, quality: int, rng: np.random.Generator) -> dict[str, object]:
    if form == "JPEG":
        return {"quality": quality, "subsampling": int(rng.choice([0, 2]))}
    if form == "TIFF":
        return {"compression": str(rng.choice(["tiff_lzw", "tiff_adobe_deflate"]))}
    if form == "WEBP":
        return {"lossless": True, "exact": True}
    return {"compress_level": 3}
