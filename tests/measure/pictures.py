"""Artworks made in code for the tests of this folder: shapes with true coverage, lettering, photographs, sheets.

Lengths are pixels unless a name says millimetres. A shape is a function from x and y to the signed distance from its
outline, below zero inside; pixel (0, 0) covers x and y from 0 to 1. Shapes are joined with ``union``, ``common`` and
``less``. ``cover`` turns a shape into coverage by sampling every pixel near the outline 256 times.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from preflight.measure.examine import examine
from preflight.measure.places import Scale
from preflight.model import Examination, Measurement, PixelFacts, Separation, Strip, Ticket
from preflight.shop import Shop

Array = np.ndarray
Shape = Callable[[Array, Array], Array]

INK = (30, 40, 120)
STRIP = 256
SERIF = Path("/usr/share/fonts/truetype/dejavu/DejaVuSerif.ttf")
#: Fonts to letter with: the one that Pillow brings, and a serif one where it is installed.
FONTS: dict[str, Path | None] = {"plain": None} | ({"serif": SERIF} if SERIF.exists() else {})


@dataclass(frozen=True)
class Picture:
    """An artwork in memory, handed out in strips as the intake does."""

    rgba: Array
    inks: Array | None = None
    density: tuple[float, float] | None = None
    name: str = "art.png"
    page: int = 1

    @property
    def facts(self) -> PixelFacts:
        height, width = self.rgba.shape[:2]
        alpha = bool((self.rgba[..., 3] < 255).any())
        colour = "rgb" if self.inks is None else "cmyk"
        return PixelFacts("PNG", width, height, alpha, colour, 8, self.density, "pHYs", None, None)

    @property
    def document(self) -> None:
        return None

    def strips(self) -> Iterator[Strip]:
        for y in range(0, len(self.rgba), STRIP):
            inks = None if self.inks is None else np.ascontiguousarray(self.inks[y : y + STRIP])
            yield Strip(y, np.ascontiguousarray(self.rgba[y : y + STRIP]), inks)

    def turned(self) -> Picture:
        """The same by a quarter turn."""
        inks = None if self.inks is None else np.rot90(self.inks)
        return replace(self, rgba=np.rot90(self.rgba), inks=inks)


class PlainInks:
    """Inks that can be reckoned in the head: black is what C, M and Y have in common, nothing shifts."""

    name = "plain"
    caveat = None

    def inks(self, rgb: Array) -> Array:
        cmy = 1 - rgb.astype(np.float32) / 255
        black = cmy.min(axis=1, keepdims=True)
        return np.concatenate((cmy - black, black), axis=1)

    def shift(self, rgb: Array) -> Array:
        return np.zeros(len(rgb), np.float32)

    def printed(self, rgb: Array) -> Array:
        return rgb


def examined(
    art: Picture | Array,
    ppi: float = 300.0,
    *,
    shop: Shop | None = None,
    separation: Separation | None = None,
    reach: Mapping[str, float] | None = None,
    garments: tuple[str, ...] = (),
) -> Examination:
    """Everything measured of an artwork whose canvas prints at ``ppi``."""
    picture = art if isinstance(art, Picture) else Picture(art)
    width = picture.rgba.shape[1] * 25.4 / ppi
    ticket = Ticket(width_mm=width, size_of="canvas", garments=garments)
    return examine(picture, ticket, shop or Shop.default(), separation or PlainInks(), reach or {})


def measured(art: Picture | Array, name: str, ppi: float = 300.0, **options: object) -> Measurement:
    """One measurement of an artwork, see ``examined``."""
    return examined(art, ppi, **options).measures[name]  # type: ignore[arg-type]


def px(millimetres: float, ppi: float = 300.0) -> float:
    return Scale(ppi).px(millimetres)


# ---- shapes -----------------------------------------------------------------------------------------------------


def disc(x0: float, y0: float, radius: float) -> Shape:
    return lambda x, y: np.hypot(x - x0, y - y0) - radius


def ring(x0: float, y0: float, radius: float, width: float) -> Shape:
    return lambda x, y: np.abs(np.hypot(x - x0, y - y0) - radius) - width / 2


def box(x0: float, y0: float, x1: float, y1: float) -> Shape:
    return lambda x, y: np.maximum(np.maximum(x0 - x, x - x1), np.maximum(y0 - y, y - y1))


def stroke(x0: float, y0: float, degrees: float, length: float, width: float) -> Shape:
    """A straight line with square ends through (x0, y0), its middle."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def distance(x: Array, y: Array) -> Array:
        along, off = c * (x - x0) + s * (y - y0), c * (y - y0) - s * (x - x0)
        return np.maximum(np.abs(along) - length / 2, np.abs(off) - width / 2)

    return distance


def convex(*corners: tuple[float, float]) -> Shape:
    """A convex polygon, corners in the order of the hands of a clock (y points down)."""
    points = np.array(corners)
    edges = np.roll(points, -1, axis=0) - points
    normals = np.stack((edges[:, 1], -edges[:, 0]), axis=1) / np.hypot(*edges.T)[:, None]

    def distance(x: Array, y: Array) -> Array:
        sides = [nx * (x - ax) + ny * (y - ay) for (nx, ny), (ax, ay) in zip(normals, points, strict=True)]
        return np.max(sides, axis=0)

    return distance


def star(x0: float, y0: float, tips: int, tip_degrees: float, radius: float) -> Shape:
    """A star whose tips have the given angle; ``radius`` to the tips."""
    half = math.radians(tip_degrees) / 2
    step = math.pi / tips
    inner = radius * math.tan(half) / (math.sin(step) + math.cos(step) * math.tan(half))
    spikes = []
    for n in range(tips):
        turn = 2 * n * step
        at = [(radius, turn), (inner, turn + step), (0.0, 0.0), (inner, turn - step)]
        corners = [(x0 + r * math.sin(a), y0 - r * math.cos(a)) for r, a in at]
        spikes.append(convex(corners[0], corners[1], corners[3]))
        spikes.append(convex(corners[3], corners[1], corners[2]))
    return union(*spikes, disc(x0, y0, inner * math.cos(step) * 0.98))


def union(*shapes: Shape) -> Shape:
    return lambda x, y: np.min([shape(x, y) for shape in shapes], axis=0)


def common(*shapes: Shape) -> Shape:
    return lambda x, y: np.max([shape(x, y) for shape in shapes], axis=0)


def less(shape: Shape, *cut: Shape) -> Shape:
    return common(shape, *(lambda x, y, one=one: -one(x, y) for one in cut))  # type: ignore[misc]


def cover(shape: Shape, width: int, height: int, fine: int = 16) -> Array:
    """Coverage 0…1 of each pixel, float64 (height, width)."""
    y, x = np.mgrid[0:height, 0:width] + 0.5
    distance = shape(x, y)
    covered = (distance < 0).astype(np.float64)
    near = np.abs(distance) < 1.0
    offset = (np.arange(fine) + 0.5) / fine - 0.5
    fine_y, fine_x = (grid.ravel() for grid in np.meshgrid(offset, offset, indexing="ij"))
    inside = shape(x[near][:, None] + fine_x, y[near][:, None] + fine_y) < 0
    covered[near] = inside.mean(axis=1)
    return covered


def dots(places: Iterable[tuple[float, float]], radius: float, width: int, height: int) -> Array:
    """Coverage of many small discs, as ``cover`` of each."""
    covered = np.zeros((height, width))
    reach = math.ceil(radius) + 2
    for x, y in places:
        x0, y0 = max(0, int(x) - reach), max(0, int(y) - reach)
        under = covered[y0 : int(y) + reach, x0 : int(x) + reach]
        np.maximum(under, cover(disc(x - x0, y - y0, radius), under.shape[1], under.shape[0]), out=under)
    return covered


def blurred(covered: Array, sigma: float) -> Array:
    """Gaussian blur of a coverage map, empty beyond the canvas."""
    reach = math.ceil(4 * sigma)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    rows = np.apply_along_axis(np.convolve, 1, covered, kernel, "same")
    return np.apply_along_axis(np.convolve, 0, rows, kernel, "same")


# ---- sheets -----------------------------------------------------------------------------------------------------


def film(covered: Array, colour: tuple[int, int, int] = INK) -> Array:
    """One colour on film, uint8 (height, width, 4)."""
    alpha = np.rint(255 * covered).astype(np.uint8)
    flat = [np.full(alpha.shape, value, np.uint8) for value in colour]
    return np.dstack([*flat, alpha])


def solid(rgb: Array) -> Array:
    """An opaque sheet, uint8 (height, width, 4)."""
    return np.dstack([rgb.astype(np.uint8), np.full(rgb.shape[:2], 255, np.uint8)])


def over(below: Array, covered: Array, colour: tuple[int, int, int]) -> Array:
    """One colour laid over opaque colours, uint8 (height, width, 3), through coverage."""
    share = covered[..., None]
    return np.rint(np.array(colour) * share + below[..., :3] * (1 - share)).astype(np.uint8)


def plain(colour: tuple[int, int, int], width: int, height: int) -> Array:
    return np.full((height, width, 3), colour, np.uint8)


def lettering(words: str, points: float, ppi: float, font: Path | None = None, fine: int = 8) -> Array:
    """Coverage of a line of text, with a margin of 20 px."""
    size = points / 72 * ppi * fine
    face = ImageFont.truetype(str(font), size) if font else ImageFont.load_default(size)
    _, _, right, bottom = face.getbbox(words)
    width, height = int(right / fine) + 41, int(bottom / fine) + 41
    page = Image.new("L", (width * fine, height * fine), 0)
    ImageDraw.Draw(page).text((20 * fine, 20 * fine), words, fill=255, font=face)
    return np.asarray(page.reduce(fine), np.float64) / 255


def enlarged(rgb: Array, factor: float, how: Image.Resampling = Image.Resampling.BICUBIC) -> Array:
    height, width = rgb.shape[:2]
    return np.asarray(Image.fromarray(rgb).resize((round(width * factor), round(height * factor)), how))


def through_jpeg(rgb: Array, quality: int) -> Array:
    """The same picture after a lossy save."""
    from io import BytesIO

    stream = BytesIO()
    Image.fromarray(rgb).save(stream, "JPEG", quality=quality)
    return np.asarray(Image.open(stream).convert("RGB"))


@cache
def photo(name: str) -> Array:
    """A photograph of scikit-image's own data, uint8 (height, width, 3)."""
    import skimage.data

    path = Path(skimage.data.__file__).parent / name
    return np.asarray(Image.open(path).convert("RGB"))
