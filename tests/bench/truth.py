"""Truths that follow from the finished picture, by means the program does not share.

Contrast by the WCAG 2 formula, colour shift through LittleCMS at full precision and scikit-image's CIEDE2000, white
under the art by an exact distance map. Each gives "yes", "no", or "close" when the picture lies near the limit, where
nobody should be counted right or wrong.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000, rgb2lab

from .raster import Bytes

#: Garments as people write them (CSS colours and hex) and what they are.
GARMENTS = {
    "black": (0, 0, 0),
    "white": (255, 255, 255),
    "#1d1d1f": (0x1D, 0x1D, 0x1F),
    "#101820": (0x10, 0x18, 0x20),
    "navy": (0, 0, 128),
    "#8b1a1a": (0x8B, 0x1A, 0x1A),
    "#f2efe6": (0xF2, 0xEF, 0xE6),
    "#fffdf5": (0xFF, 0xFD, 0xF5),
    "lightgray": (211, 211, 211),
    "#2f5d3a": (0x2F, 0x5D, 0x3A),
}
#: Those that a design may be ordered on by chance.
ORDINARY = ("black", "white", "#1d1d1f", "navy", "#8b1a1a", "#f2efe6", "lightgray", "#2f5d3a")


def luminance(rgb: Any) -> Any:
    """Relative luminance of sRGB bytes (WCAG 2.1)."""
    tone = np.asarray(rgb, np.float64) / 255
    linear = np.where(tone <= 0.04045, tone / 12.92, ((tone + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def visible(rgba: Bytes, most: int = 60000) -> tuple[Bytes, Any]:
    """Colours of an even sample of the visible pixels, and their opacity 0…1."""
    flat = rgba.reshape(-1, 4)
    flat = flat[flat[:, 3] > 0]
    flat = flat[:: max(1, len(flat) // most)]
    return flat[:, :3], flat[:, 3] / 255.0


def low_contrast(rgba: Bytes, garment: str) -> str:
    """Whether at least a fifth of the art stays under 1.5 : 1 on the garment."""
    colours, weight = visible(rgba)
    if not len(colours):
        return "close"
    ground = float(luminance(np.array(GARMENTS[garment])))
    art = luminance(colours)
    ratio = (np.maximum(art, ground) + 0.05) / (np.minimum(art, ground) + 0.05)
    under = [float(weight[ratio < limit].sum() / weight.sum()) for limit in (1.4, 1.62)]
    return "yes" if under[0] > 0.27 else "no" if under[1] < 0.14 else "close"


@lru_cache(maxsize=1)
def _there_and_back() -> tuple[Any, Any]:
    profile = ImageCms.getOpenProfile(str(_profile()))
    srgb = ImageCms.createProfile("sRGB")
    exact = ImageCms.Flags.NOOPTIMIZE | ImageCms.Flags.NOCACHE | ImageCms.Flags.BLACKPOINTCOMPENSATION
    intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
    to_ink = ImageCms.buildTransform(srgb, profile, "RGB", "CMYK", intent, exact)
    back = ImageCms.buildTransform(profile, srgb, "CMYK", "RGB", intent, exact)
    return to_ink, back


def _profile() -> Path:
    """The bundled separation profile: reference data, not code of the program."""
    found = sorted(Path(__file__).parents[2].glob("preflight/**/*.icc"))
    if not found:
        raise FileNotFoundError("no separation profile in the package")
    return found[0]


def shifts(rgba: Bytes) -> str:
    """Whether more than 5 % of the art shifts by more than 10 ΔE00 through the bundled profile."""
    colours, weight = visible(rgba, 20000)
    if not len(colours):
        return "close"
    to_ink, back = _there_and_back()
    picture = Image.fromarray(np.ascontiguousarray(colours[None]), "RGB")
    apply: Any = ImageCms.applyTransform
    delta: Any = deltaE_ciede2000
    printed = np.asarray(apply(apply(picture, to_ink), back))[0]
    shift = delta(rgb2lab(colours / 255.0), rgb2lab(printed / 255.0))
    share = [float(weight[shift > limit].sum() / weight.sum()) for limit in (13.0, 7.5)]
    return "yes" if share[0] > 0.09 else "no" if share[1] < 0.03 else "close"


def without_white(alpha: Bytes, ppi: float, choke_mm: float = 0.18) -> float:
    """Area in mm² of the art that white pulled in by the choke, and grown out again by it, does not reach.

    The rim that every choke leaves is not counted, a part that loses its white altogether is (mathematical opening
    by a disc of the choke's radius, on a map of twice the resolution).
    """
    solid = cv2.resize(alpha, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR) >= 128
    solid = np.pad(solid, 8)
    radius = choke_mm * ppi / 25.4 * 2
    inside = cv2.distanceTransform(solid.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    core = inside > radius + 0.5
    if not core.any():
        return float(solid.sum()) / (2 * ppi / 25.4) ** 2
    reach = cv2.distanceTransform((~core).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    lost = solid & (reach > radius + 0.5 + 0.75)
    return float(lost.sum()) / (2 * ppi / 25.4) ** 2
