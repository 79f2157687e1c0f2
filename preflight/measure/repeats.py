"""Enlargement by repeating pixels, as a program does that does not smooth: told from where neighbours differ.

Along a picture that was enlarged so by f, columns differ from the one before at every f-th place only. A lossless file
shows it place by place. A lossy one smears each place over its neighbours but keeps the rhythm: a line at 1/f in the
spectrum of the mean differences, as strong or stronger at its multiples.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import median, quantile

Floats: TypeAlias = npt.NDArray[np.float64]

#: Wider steps than so many px are drawn squares, narrower ones cannot be told.
_MOST, _LEAST = 6.0, 1.4
#: Mean difference of neighbouring columns, levels of 255, below which there is nothing to see.
_LEAST_CHANGE = 0.5
#: A tile of fewer greys is a drawing.
_LEAST_LEVELS = 24
#: Frequencies of the spectrum of differences: by so many points, and from where on rhythms are looked for.
_POINTS = 512
_CYCLES = np.fft.rfftfreq(_POINTS)
_FIRST = int(np.argmax(_CYCLES >= 1 / (_MOST + 0.5)))
#: A line must stand so far above the rest, and swing by so much of the mean. Pictures enlarged by repeating and saved
#: at quality 80 and more all do; all others, smoothly enlarged or reduced ones too, swing by less (measured).
_LINE, _SWING = 2.5, 0.35
#: Lossy files have lines of their own at every eighth, and half the width of a line.
_EIGHTHS, _HALF_LINE = (0.125, 0.25, 0.375, 0.5), 0.018
#: Where most columns differ, relative to the mean, no rhythm of two and more px is.
_MOSTLY = 0.9
#: Differences are taken relative to the mean of so many around them.
_AROUND = 17


def repetition(greys: Sequence[Floats]) -> float | None:
    """How often each pixel of an enlarged picture is repeated; None when none is.

    Parameters
    ----------
    greys
        Luma of busy opaque pieces, float64 (h, w) each.
    """
    # A drawn pattern, such as a code, lies on an even grid and holds all that it promises.
    pictures = [grey for grey in greys if _levels(grey) >= _LEAST_LEVELS]
    if len(pictures) < max(1, 0.5 * len(greys)):
        return None
    changes, amounts = [], []
    for grey in pictures:
        steps = (cv2.absdiff(grey[:, 1:], grey[:, :-1]), cv2.absdiff(grey[1:], grey[:-1]).T)
        amount = [step.mean(axis=0) for step in steps]
        if min(float(each.mean()) for each in amount) >= _LEAST_CHANGE:
            amounts.append(amount)
            changes.append([(step > 0).mean(axis=0) for step in steps])
    least = max(1, 0.5 * len(greys))
    # Between repeated columns a lossless file changes by nothing, a lossy one by its noise.
    found = _agreed([[_spacing(one > 0.02 * quantile(one, 0.98)) for one in both] for both in changes], least)
    if found is None and len(amounts) >= least:
        found = rhythm(np.array(amounts))
    if found is None:
        found = _agreed([[_spacing(one > 0.3 * quantile(one, 0.9)) for one in both] for both in amounts], least)
    return found if found is not None and _LEAST <= found <= _MOST else None


def _agreed(spacings: Sequence[Sequence[float | None]], least: float) -> float | None:
    """The spacing across and down that so many tiles have."""
    found = [min(across, down) for across, down in spacings if across is not None and down is not None]
    return float(median(found)) if len(found) >= least else None


def _levels(grey: Floats) -> int:
    return int(np.count_nonzero(np.bincount(grey.astype(np.uint8).ravel(), minlength=256)))


def _spacing(changed: npt.NDArray[np.bool_]) -> float | None:
    """Mean distance between the columns that are set; None when they are few, nearly all, or not evenly spaced."""
    active = np.flatnonzero(changed)
    if len(active) < 8 or len(active) >= 0.8 * len(changed):
        return None
    spacing = len(changed) / len(active)
    gaps = np.diff(active)
    even = (gaps >= np.floor(spacing + 1e-6)) & (gaps <= np.ceil(spacing - 1e-6))
    return float(spacing) if even.mean() > 0.9 else None


def rhythm(amounts: Floats) -> float | None:
    """Spacing of a rhythm that most tiles show across and down; None when there is none.

    Parameters
    ----------
    amounts
        Mean difference of each column from the one before, and of each row, float64 (tiles, 2, length).
    """
    level = _level(amounts)
    if float(median(median(level.reshape(-1, level.shape[2]).T))) > _MOSTLY:
        return None
    window = np.hanning(level.shape[2])
    spectra = np.abs(np.fft.rfft((level - 1.0) * window, _POINTS, axis=2)) ** 2
    power = [median(spectra[:, axis]) for axis in (0, 1)]
    height = np.min([_heights(each) for each in power], axis=0)
    swing = 2 * np.sqrt(np.min(power, axis=0)) / float(window.sum())
    height = np.where(swing >= _SWING, height, 0.0)
    lines = np.flatnonzero(height[_FIRST:] >= max(_LINE, 0.5 * float(height[_FIRST:].max()))) + _FIRST
    if not len(lines):
        return None
    # The lowest of equally strong lines is the rhythm itself, the others are its multiples.
    near = lines[_CYCLES[lines] <= _CYCLES[lines[0]] + _HALF_LINE]
    return 1 / float(_CYCLES[near[np.argmax(height[near])]])


def _level(amounts: Floats) -> Floats:
    """Differences relative to their surroundings, about 1, float64 (tiles, 2, length)."""
    side = _AROUND // 2
    padded = np.pad(amounts, ((0, 0), (0, 0), (side + 1, side)), mode="edge")
    total = np.cumsum(padded, axis=2)
    return amounts / np.maximum((total[..., _AROUND:] - total[..., :-_AROUND]) / _AROUND, 1e-6)


def _heights(power: Floats) -> Floats:
    """By how much each frequency stands above the rest; at every eighth also above what a lossy file has there."""
    rest = float(median(power[_FIRST // 2 :]))
    ground = np.full(len(power), max(rest, 1e-9))
    near = [np.abs(_CYCLES - eighth) <= _HALF_LINE for eighth in _EIGHTHS]
    own = sorted(float(power[where].max()) for where in near)[1]
    ground[np.any(near, axis=0)] = max(own, ground[0])
    return np.asarray(power / ground)
