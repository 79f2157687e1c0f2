"""The colours of an artwork as a table with areas, and what is asked of them: ink, shift, contrast.

Converting every pixel through a profile is dear (19–31 ms per megapixel). The point sample is sorted into bins of
8 levels a side; each bin's mean colour is converted once and weighted with its area.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.bins import areas, sort_colours
from preflight.measure.kernels import dilate, quantile, square
from preflight.measure.places import Scale, spots_of_mask
from preflight.measure.sheet import CELL, Sheet
from preflight.model import Bytes, Coverage, Floats, Measurement, Separation, Spot
from preflight.records import dataclass
from preflight.units import show_number

_RGB_BITS = 5
_INK_BITS = 5
#: Samples from which a sheet is thinned out.
_SAMPLES = 2_000_000
#: Places of colours are told from about every n-th px: they are patches, not points.
_PATCH_PX = 8
#: Patches in which art near other art is looked for: they need not be fine.
_COARSE_PX = 16
#: Share of the art that a colour shift must exceed its limit on, and of low contrast (trade.md).
SHIFT_SHARE = 0.05
CONTRAST_SHARE = 0.20
#: A shift that the eye sees for sure; colours above it are counted for the words (judgement).
_SEEN_SHIFT = 10.0
#: Contrast from which art shows on the cloth (trade.md), and how far from such art an outline may lie, mm (judgement).
_SEEN_CONTRAST = 1.5
_OUTLINE_MM = 2.0

Convert = Callable[[Bytes], Bytes]


@dataclass(frozen=True, slots=True, eq=False)
class Colours:
    """Colours of a sheet.

    ``srgb``: uint8 (n, 3). ``inks``: float32 (n, 4), coverage 0…1. ``own_inks``: whether they are the file's own.
    ``area``: float64 (n,), visible px of each colour. ``index``: int32, row of the table for every ``stride``-th cell
    of the sheet's maps along both axes, 0 where nothing is visible (row 0 has no area).
    """

    srgb: Bytes
    inks: Floats
    own_inks: bool
    area: npt.NDArray[np.float64]
    index: npt.NDArray[np.int32]
    stride: int

    @property
    def cell(self) -> int:
        """Side in px of what one element of ``index`` stands for."""
        return CELL * self.stride

    def patches(self, side: int = _PATCH_PX) -> tuple[npt.NDArray[np.int32], int]:
        """A coarser index in patches of about ``side`` px, each told by its middle, and the px of one element."""
        step = max(1, side // self.cell)
        middle = step // 2
        rows, columns = self.index.shape
        # A rim of half a patch has no middle of its own.
        return self.index[min(middle, rows - 1) :: step, min(middle, columns - 1) :: step], self.cell * step

    @property
    def total(self) -> Floats:
        """C + M + Y + K of each colour in percent, shape (n,)."""
        return np.asarray(100.0 * self.inks.sum(axis=1), np.float32)


def table(sheet: Sheet, to_srgb: Convert, separation: Separation) -> Colours:
    """Sort a sheet's samples into a table. ``to_srgb`` turns the file's own colours, (n, 3) or (n, 4), into sRGB."""
    # A large sheet has samples to spare: a million tell its colours to a thousandth.
    stride = max(1, round((sheet.alpha4.size / _SAMPLES) ** 0.5))
    weight = visible_weight(sheet, stride)
    own_inks = sheet.inks4 is not None
    if sheet.inks4 is not None:
        index, means = sort_colours(sheet.inks4[::stride, ::stride], 4, _INK_BITS, weight)
    else:
        index, means = sort_colours(sheet.sample4[::stride, ::stride], 3, _RGB_BITS, weight)
    srgb = to_srgb(np.rint(means).astype(np.uint8))
    inks = (means / 255.0).astype(np.float32) if own_inks else separation.inks(srgb).copy()
    inks[0] = 0.0
    return Colours(srgb, inks, own_inks, areas(index, weight, len(means)), index, stride)


def visible_weight(sheet: Sheet, stride: int) -> npt.NDArray[np.float32]:
    """Opacity of every ``stride``-th cell's sample times the px that it stands for, float32; sums to the visible px."""
    weight = sheet.sample4[::stride, ::stride, 3].astype(np.float32)
    if stride == 1:
        weight *= sheet.cell_pixels()
    else:
        weight *= np.float32(sheet.width * sheet.height / weight.size)
    weight /= np.float32(255.0)
    sampled = float(weight.sum())
    if sheet.alpha is not None and sampled > 0:
        # How much of the art the samples hit is chance, on small art by some percent; its whole area is known.
        weight *= np.float32(cv2.sumElems(sheet.alpha)[0] / 255.0 / sampled)
    return weight


def coverage(
    colours: Colours, sheet: Sheet, area: npt.NDArray[np.float64], white_px: float, peak: float, scale: Scale
) -> Coverage:
    """Ink of one copy from the areas of its colours; the file's own inks are summed exactly when ``area`` is whole."""
    pixels = area @ colours.inks.astype(np.float64)
    if colours.own_inks and area is colours.area and sheet.ink_sums is not None:
        pixels = sheet.ink_sums
    names = ("cyan", "magenta", "yellow", "black")
    solid = {name: scale.mm2(float(value)) for name, value in zip(names, pixels, strict=True)}
    solid["white"] = scale.mm2(white_px)
    inked = float(area.sum())
    mean = 100.0 * float(pixels.sum()) / inked if inked else 0.0
    return Coverage(solid, peak, mean, scale.mm2(white_px))


def heavy_map(colours: Colours, aperture_mm: float, scale: Scale) -> npt.NDArray[np.float32]:
    """Total ink in percent averaged over the aperture, float32 (h4, w4)."""
    total = colours.total[colours.index]
    side = max(1, round(scale.px(aperture_mm) / colours.cell + 0.25))
    return np.asarray(cv2.blur(total, (side, side), borderType=cv2.BORDER_REPLICATE), np.float32)


def total_ink(heavy: npt.NDArray[np.float32], cell: int, allowed_mm2: float, scale: Scale) -> Measurement:
    """``total-ink``: the highest total that an area of ``allowed_mm2`` reaches, in percent."""
    details = {"area": f"{show_number(allowed_mm2)} mm²"}
    # Whole percents: finer would tell nothing. Where nothing is visible the total is 0.
    counts = cv2.calcHist([heavy], [0], None, [402], [0.0, 402.0]).ravel()
    counts[0] = 0
    above = np.cumsum(counts[::-1])[::-1] * scale.mm2(cell * cell)
    reached = np.flatnonzero(above >= allowed_mm2)
    value = float(reached[-1]) if len(reached) else 0.0
    if value < 200.0:
        return Measurement("total-ink", value, "%", details=details)
    sparse = heavy[::2, ::2]
    mask = (sparse >= value).astype(np.uint8)

    def mean(cells: tuple[slice, slice], inside: npt.NDArray[np.bool_]) -> float:
        return float(sparse[cells][inside].mean())

    spots, count = spots_of_mask(mask, mean, cell=2 * cell)
    return Measurement("total-ink", value, "%", spots=spots, spots_total=count, details=details)


def colour_shift(colours: Colours, separation: Separation) -> Measurement:
    """``colour-shift``: the CIEDE2000 that 5 % of the art exceeds on its way through the profile."""
    if colours.own_inks:
        why = "the file brings its own inks"
        return Measurement("colour-shift", None, "dE00", why_not=why, applies=False)
    if colours.area.sum() <= 0:
        return Measurement("colour-shift", None, "dE00")
    shift = separation.shift(colours.srgb).astype(np.float64)
    value = _quantile(shift, colours.area, 1.0 - SHIFT_SHARE)
    over = shift > _SEEN_SHIFT
    share = 100.0 * float(colours.area[over].sum() / colours.area.sum())
    worst = int(np.argmax(np.where(shift >= value, colours.area, 0.0)))
    printed = separation.printed(colours.srgb[worst : worst + 1])[0]
    details = {
        "share": f"{share:.0f} %",
        "worst_colour": hex_code(colours.srgb[worst]),
        "printed_colour": hex_code(printed),
    }
    spots: tuple[Spot, ...] = ()
    count = 0
    if over.any():
        index, cell = colours.patches()
        mask = over[index].astype(np.uint8)

        def worst_of(cells: tuple[slice, slice], inside: npt.NDArray[np.bool_]) -> float:
            return float(shift[index[cells][inside]].max())

        spots, count = spots_of_mask(mask, worst_of, cell=cell)
    return Measurement("colour-shift", value, "dE00", spots=spots, spots_total=count, details=details)


def contrast(colours: Colours, garments: Mapping[str, tuple[int, int, int]], scale: Scale | None = None) -> Measurement:
    """``contrast``: the WCAG 2 ratio that 20 % of the art stays under, on the garment where it is least."""
    if not garments:
        return Measurement("contrast", None, "ratio", why_not="no garment was ordered", applies=False)
    if colours.area.sum() <= 0:
        return Measurement("contrast", None, "ratio")
    light = luminance(colours.srgb)
    found = []
    for name, rgb in garments.items():
        ratio = ratios(light, float(luminance(np.array([rgb], np.uint8))[0]))
        found.append((_vanishing(colours, ratio, scale), name, ratio))
    value, name, ratio = min(found, key=lambda one: one[0])
    share = 100.0 * float(colours.area[ratio < _SEEN_CONTRAST].sum() / colours.area.sum())
    details = {"garment": name, "share": f"{share:.0f} %"}
    spots: tuple[Spot, ...] = ()
    count = 0
    if value < 2.0:
        index, cell = colours.patches()
        mask = ((ratio <= max(value, _SEEN_CONTRAST))[index] & (index > 0)).astype(np.uint8)

        def here(cells: tuple[slice, slice], inside: npt.NDArray[np.bool_]) -> float:
            """Of a place what is told of the whole: the mean would be another figure for the same thing."""
            return quantile(ratio[index[cells][inside]], CONTRAST_SHARE)

        spots, count = spots_of_mask(mask, here, cell=cell)
    return Measurement("contrast", value, "ratio", spots=spots, spots_total=count, details=details)


def _vanishing(colours: Colours, ratio: npt.NDArray[np.float64], scale: Scale | None) -> float:
    """The ratio that 20 % of the art stays under.

    A dark outline around bright art vanishes on dark cloth and nobody misses it: what lies that close to art that
    shows is counted as showing.
    """
    value = _quantile(ratio, colours.area, CONTRAST_SHARE)
    if value >= 2.0 or scale is None:
        return value
    index, cell = colours.patches(_COARSE_PX)
    shows = ((ratio >= _SEEN_CONTRAST)[index] & (index > 0)).astype(np.uint8)
    reach = max(1, round(scale.px(_OUTLINE_MM) / cell))
    beside = dilate(shows, square(2 * reach + 1)) > 0
    here = np.where(beside, np.maximum(ratio[index], _SEEN_CONTRAST + 1.0), ratio[index])[index > 0]
    return _quantile(here, np.ones(len(here)), CONTRAST_SHARE) if len(here) else value


def luminance(rgb: Bytes) -> npt.NDArray[np.float64]:
    """Relative luminance of sRGB colours (WCAG 2.2, "relative luminance"), uint8 (n, 3) → (n,)."""
    value = rgb.astype(np.float64) / 255.0
    linear = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    return np.asarray(linear @ np.array([0.2126, 0.7152, 0.0722]), np.float64)


def ratios(light: npt.NDArray[np.float64], other: float) -> npt.NDArray[np.float64]:
    """Contrast ratio (L1 + 0.05) / (L2 + 0.05), WCAG 2.2, of each luminance against ``other``."""
    high, low = np.maximum(light, other), np.minimum(light, other)
    return np.asarray((high + 0.05) / (low + 0.05), np.float64)


def hex_code(rgb: Bytes) -> str:
    """One colour, uint8 (3,), as "#rrggbb"."""
    return "#{:02x}{:02x}{:02x}".format(*(int(value) for value in rgb))


def _quantile(values: npt.NDArray[np.float64], area: npt.NDArray[np.float64], share: float) -> float:
    """The value that ``share`` of the area stays at or under."""
    order = np.argsort(values, kind="stable")
    order = order[area[order] > 0]
    grown = np.cumsum(area[order])
    at = int(np.searchsorted(grown, share * grown[-1] - 1e-9))
    return float(values[order[min(at, len(order) - 1)]])
