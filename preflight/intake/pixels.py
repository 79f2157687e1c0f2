"""From decoded samples to the strip that everything else looks at."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from preflight.intake.head import SAMPLES, Head
from preflight.model import Bytes, Strip

_FULL = 255


def strip(y: int, samples: npt.NDArray[Any], head: Head) -> Strip:
    """Make a strip of decoded rows.

    Parameters
    ----------
    y
        Number of the first row.
    samples
        uint8 or uint16, shape (rows, width, channels): colour, then ``head.extras`` others.
    head
        Says what the channels are.

    Returns
    -------
    Strip
        8 bits, straight alpha; the samples themselves, not a copy, where they already are RGBA.
    """
    data = _eight_bits(samples)
    colours = SAMPLES[head.colour]
    alpha = None if head.alpha is None else data[..., colours + head.alpha]
    if head.colour == "cmyk":
        return _from_inks(y, data[..., :colours], alpha, head)
    if head.colour == "rgb" and alpha is not None and data.shape[2] == 4:
        return Strip(y, data)
    colour = np.ascontiguousarray(data[..., :colours])
    rgba = _colour(colour, cv2.COLOR_RGB2RGBA if colours == 3 else cv2.COLOR_GRAY2RGBA)
    if alpha is not None:
        rgba[..., 3] = alpha
    return Strip(y, rgba)


def _colour(data: Bytes, code: int) -> Bytes:
    return np.asarray(cv2.cvtColor(data, code), np.uint8)


def _eight_bits(samples: npt.NDArray[Any]) -> Bytes:
    """16 bits to 8: v × 255 ÷ 65535 to the nearest. No value lies half-way, so the way of rounding does not matter."""
    if samples.dtype == np.uint8:
        return samples
    flat = samples.reshape(samples.shape[0], -1)
    return np.asarray(cv2.convertScaleAbs(flat, alpha=255 / 65535), np.uint8).reshape(samples.shape)


def _from_inks(y: int, stored: Bytes, alpha: Bytes | None, head: Head) -> Strip:
    """Ink planes with 255 = full ink, and a plain RGB of them: (255 − ink)(255 − black) ÷ 255."""
    stored = np.ascontiguousarray(stored)
    turned = np.asarray(cv2.bitwise_not(stored), np.uint8)
    inks, paper = (turned, stored) if head.inverted else (stored, turned)
    *lights, black = cv2.split(paper)
    planes = [cv2.multiply(light, black, scale=1 / _FULL) for light in lights]
    planes.append(np.full(black.shape, _FULL, np.uint8) if alpha is None else np.ascontiguousarray(alpha))
    return Strip(y, np.asarray(cv2.merge(planes), np.uint8), inks)
