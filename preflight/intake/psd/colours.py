"""From the channels of a PSD file to strips: each colour mode in its own way."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageCms

from preflight.intake import pixels
from preflight.intake.head import Head
from preflight.intake.psd.sections import INDEXED, LAB, Sections
from preflight.model import Bytes, Strip

_FULL = 255


def to_strip(y: int, samples: npt.NDArray[Any], sections: Sections, head: Head) -> Strip:
    """Make a strip.

    Parameters
    ----------
    samples
        The colour channels, then the transparency where ``head`` has one; shape (rows, width, channels).
    """
    if sections.mode == INDEXED:
        return Strip(y, _from_palette(samples, sections))
    if sections.mode == LAB:
        return Strip(y, _from_lab(samples, head))
    if head.alpha is not None and head.colour != "cmyk":
        samples = _without_white(samples)
    return pixels.strip(y, samples, head)


def _without_white(samples: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """The colours themselves: the merged picture is stored as laid over white.

    stored = colour × a + white × (1 − a); where a is 0 the stored colour stays.
    """
    full = np.float32(_FULL if samples.dtype == np.uint8 else 65535)
    alpha = samples[..., -1:]
    if (alpha == full).all():
        return samples
    share = np.maximum(alpha, 1).astype(np.float32) / full
    colour = (samples[..., :-1].astype(np.float32) - full) / share + full
    straight = np.where(alpha > 0, np.clip(np.rint(colour), 0, full), samples[..., :-1])
    return np.concatenate([straight.astype(samples.dtype), alpha], axis=-1)


def _from_palette(samples: npt.NDArray[Any], sections: Sections) -> Bytes:
    table = np.full((256, 4), _FULL, np.uint8)
    table[:, :3] = np.frombuffer(sections.palette, np.uint8).reshape(3, 256).T
    if sections.clear_index is not None and sections.clear_index < 256:
        table[sections.clear_index, 3] = 0
    rgba: Bytes = table[samples[..., 0]]
    if samples.shape[2] > 1:
        rgba[..., 3] = samples[..., 1]
    return rgba


def _from_lab(samples: npt.NDArray[Any], head: Head) -> Bytes:
    """Lab as the format stores it (L 0 … 255, a and b with 128 for none) to sRGB."""
    if samples.dtype == np.uint16:
        samples = cv2.convertScaleAbs(samples.reshape(samples.shape[0], -1), alpha=255 / 65535).reshape(samples.shape)
    # The library keeps a and b with a sign, in the same byte.
    lab = np.ascontiguousarray(samples[..., :3]) ^ np.array([0, 128, 128], np.uint8)
    picture = Image.frombytes("LAB", (lab.shape[1], lab.shape[0]), lab.tobytes())
    rgb = np.asarray(_lab_to_srgb().apply(picture), np.uint8)
    alpha = np.full(rgb.shape[:2], _FULL, np.uint8) if head.alpha is None else samples[..., 3]
    return np.dstack([rgb, alpha])


@lru_cache(maxsize=1)
def _lab_to_srgb() -> ImageCms.ImageCmsTransform:
    lab, srgb = ImageCms.createProfile("LAB"), ImageCms.createProfile("sRGB")
    return ImageCms.buildTransform(lab, srgb, "LAB", "RGB", ImageCms.Intent.RELATIVE_COLORIMETRIC)
