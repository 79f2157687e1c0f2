"""How much detail the picture really holds, ``detail-ppi``, and whether it is line art or continuous tone.

An enlarged picture has pixels but nothing in its upper spatial frequencies. A genuinely soft original reads the same,
so the answer is "detail of about N ppi", never "was enlarged". Trials: 1.6 % false on 64 photo variants, 0 of 16 on
flat art; none missed at 2–4 times, 14 % at 1.5 times (measured).
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import between, both, median, quantile, solid, u8
from preflight.measure.places import Scale
from preflight.measure.repeats import repetition
from preflight.measure.sheet import Sheet
from preflight.measure.tiles import DETAIL_TILE, Tile
from preflight.model import Bytes, Measurement, Spot
from preflight.units import show_number

_WINDOW = np.hanning(DETAIL_TILE)
_POWER = float((_WINDOW**2).sum())
_FREQUENCY = np.arange(DETAIL_TILE // 2 + 1) / DETAIL_TILE
_HIGH = _FREQUENCY > 0.2875
_MIDDLE = (_FREQUENCY > 0.125) & (_FREQUENCY < 0.225)
_LOW = (_FREQUENCY >= 0.03) & (_FREQUENCY <= 0.13)
#: Power of rounding to whole levels, 1/12, which is no detail.
_ROUNDING = 0.083
#: Tiles of less activity are skies and fills: they say nothing.
_LEAST_TILES = 2
#: Share of neighbouring samples that differ a little, from which a picture counts as continuous tone.
_TONE_SHARE = 0.15


def measure(tiles: Sequence[Tile], kind: str, scale: Scale | None) -> Measurement:
    """``detail-ppi`` at print size; None when the picture holds what its pixels promise. ``kind`` is ``tone``'s."""
    if scale is None:
        return Measurement("detail-ppi", None, "ppi", why_not="the print size is not known")
    if len(tiles) < _LEAST_TILES:
        why = "the picture has too few busy places to tell its detail" if kind == "continuous-tone" else None
        return Measurement("detail-ppi", None, "ppi", why_not=why, applies=False)
    factor = enlargement([tile.rgb for tile in tiles])
    details = {"pixels_ppi": f"{scale.ppi:.0f} ppi"}
    if factor is None:
        return Measurement("detail-ppi", None, "ppi", details=details)
    details["factor"] = f"{show_number(factor, 2)}"
    spots = tuple(Spot(tile.x, tile.y, DETAIL_TILE, DETAIL_TILE, scale.ppi / factor) for tile in tiles[:3])
    return Measurement("detail-ppi", scale.ppi / factor, "ppi", spots=spots, spots_total=len(spots), details=details)


def enlargement(tiles: Sequence[Bytes]) -> float | None:
    """By how much the picture could be reduced without loss; None when by nothing that can be told.

    Parameters
    ----------
    tiles
        Busy opaque pieces, uint8 (128, 128, 3) each.
    """
    greys = [luma(tile) for tile in tiles]
    repeated = repetition(greys)
    if repeated is not None:
        return repeated
    spectra = [spectrum(grey) for grey in greys]
    slopes = np.array([_slope(power) for power in spectra])
    factors = np.array([_fall_off(power) for power in spectra])
    # Every tile must lack the upper frequencies, and the fall must show in nearly all.
    if quantile(slopes, 0.8) < -4 or quantile(factors, 0.25) >= 1.45:
        return max(1.3, float(median(factors)))
    return None


def luma(rgb: Bytes) -> npt.NDArray[np.float64]:
    """Rec. 601 luma, float64, shape (h, w)."""
    return np.asarray(rgb @ np.array([0.299, 0.587, 0.114]), np.float64)


def spectrum(grey: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Mean power along rows and columns by spatial frequency 0…0.5 cycles per px, shape (65,)."""
    level = grey - grey.mean()
    across = (np.abs(np.fft.rfft(level * _WINDOW[None], axis=1)) ** 2).mean(axis=0)
    down = (np.abs(np.fft.rfft(level * _WINDOW[:, None], axis=0)) ** 2).mean(axis=1)
    return np.asarray((across + down) / 2 / _POWER, np.float64)


def _slope(power: npt.NDArray[np.float64]) -> float:
    """log2 of the upper frequencies' power against the middle ones'."""
    high = max(float(power[_HIGH].mean()) - _ROUNDING, 1e-3)
    middle = max(float(power[_MIDDLE].mean()) - _ROUNDING, 1e-3)
    return float(np.log2(high / middle))


def _fall_off(power: npt.NDArray[np.float64]) -> float:
    """0.5 / f at the first frequency where the whitened spectrum has fallen by a factor of 8; 1 where it never does."""
    level = np.log2(np.maximum(power - _ROUNDING, 0.02))
    level = np.convolve(np.pad(level, 2, mode="edge"), np.ones(5) / 5, "valid")
    whitened = level + 2 * np.log2(np.maximum(_FREQUENCY, 1e-6))
    plateau = quantile(whitened[_LOW], 0.75)
    below = np.flatnonzero((_FREQUENCY > 0.04) & (whitened < plateau - 3))
    return 0.5 / float(_FREQUENCY[below[0]]) if len(below) else 1.0


def tone(sheet: Sheet) -> str:
    """Either "continuous-tone" or "line-art": whether neighbouring samples mostly differ by a little or not at all."""
    if sheet.alpha4.shape[1] < 2:
        return "line-art"
    full = solid(sheet.alpha4, 250)
    pairs = both(full[:, 1:], full[:, :-1])
    count = cv2.countNonZero(pairs)
    if not count:
        return "line-art"
    green = u8(cv2.extractChannel(sheet.sample4, 1))
    little = both(between(u8(cv2.absdiff(green[:, 1:], green[:, :-1])), 2, 60), pairs)
    return "continuous-tone" if cv2.countNonZero(little) > _TONE_SHARE * count else "line-art"
