"""Colour difference CIEDE2000, and sRGB as CIELAB under D50. In numpy: a colour library takes a second to import."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from preflight.model import Bytes

Doubles: TypeAlias = npt.NDArray[np.float64]

#: The profile connection space's white (ICC.1:2010, 7.2.16).
D50_XYZ = np.array([0.9642, 1.0, 0.8249])
#: x, y of red, green, blue and white (IEC 61966-2-1, as carried by CSS Color Module Level 4, section 10.2).
_SRGB = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06], [0.3127, 0.3290]])
#: The Bradford cone responses (ICC.1:2010, annex E.3).
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
_POW25_7 = 25.0**7


def _srgb_to_d50() -> Doubles:
    """Matrix from linear sRGB to XYZ, adapted from D65 to D50 by Bradford."""
    xyz = np.column_stack([_SRGB[:, 0] / _SRGB[:, 1], np.ones(4), (1 - _SRGB.sum(axis=1)) / _SRGB[:, 1]])
    primaries, white = xyz[:3].T, xyz[3]
    to_xyz = primaries * np.linalg.solve(primaries, white)
    gains = (_BRADFORD @ D50_XYZ) / (_BRADFORD @ white)
    adapted: Doubles = np.linalg.solve(_BRADFORD, gains[:, None] * _BRADFORD) @ to_xyz
    return adapted


_TO_D50 = _srgb_to_d50()
_BYTE = np.arange(256) / 255.0
_LINEAR = np.where(_BYTE <= 0.04045, _BYTE / 12.92, ((_BYTE + 0.055) / 1.055) ** 2.4)  # IEC 61966-2-1


def srgb_to_lab(rgb: Bytes) -> Doubles:
    """CIELAB under D50 of sRGB colours, as the ICC's connection space has it: white is (100, 0, 0).

    Parameters
    ----------
    rgb
        uint8, shape (n, 3).

    Returns
    -------
    Doubles
        L*, a*, b*; shape (n, 3).

    References
    ----------
    IEC 61966-2-1 (curve and primaries), ICC.1:2010 annex E (Bradford), CIE 15 (CIELAB).
    """
    ratio = _LINEAR[rgb] @ _TO_D50.T / D50_XYZ
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.stack([116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=1)


def ciede2000(lab1: Doubles, lab2: Doubles) -> Doubles:
    """CIEDE2000 between two sets of colours, with all weights 1.

    Parameters
    ----------
    lab1, lab2
        L*, a*, b* in the last axis; shapes that broadcast.

    Returns
    -------
    Doubles
        ΔE00, one for each pair; 0 for equal colours.

    References
    ----------
    ISO/CIE 11664-6. The published 34 pairs hold within 1e-4 (tests/outside).
    """
    l1, a1, b1 = np.moveaxis(np.asarray(lab1, np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(lab2, np.float64), -1, 0)
    mean_chroma = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    stretch = 1.5 - 0.5 * np.sqrt(mean_chroma**7 / (mean_chroma**7 + _POW25_7))
    c1, c2 = np.hypot(a1 * stretch, b1), np.hypot(a2 * stretch, b2)
    h1 = np.degrees(np.arctan2(b1, a1 * stretch)) % 360
    h2 = np.degrees(np.arctan2(b2, a2 * stretch)) % 360
    hue_step, hue = _hues(h1, h2, grey=c1 * c2 == 0)
    delta_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(hue_step) / 2)
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    weight_l = 1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2)
    weight_c = 1 + 0.045 * chroma
    weight_h = 1 + 0.015 * chroma * _hue_factor(hue)
    turn = np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2)))
    rotation = -2 * np.sqrt(chroma**7 / (chroma**7 + _POW25_7)) * np.sin(turn)
    part_l, part_c, part_h = (l2 - l1) / weight_l, (c2 - c1) / weight_c, delta_h / weight_h
    squared = part_l**2 + part_c**2 + part_h**2 + rotation * part_c * part_h
    result: Doubles = np.sqrt(np.maximum(squared, 0.0))
    return result


def _hues(h1: Doubles, h2: Doubles, grey: npt.NDArray[np.bool_]) -> tuple[Doubles, Doubles]:
    """Step from one hue to the other the short way, and their mean; degrees. A grey has no hue of its own."""
    step = h2 - h1
    step = np.where(step > 180, step - 360, np.where(step < -180, step + 360, step))
    both = h1 + h2
    mean = np.where(np.abs(h1 - h2) <= 180, both / 2, np.where(both < 360, both / 2 + 180, both / 2 - 180))
    return np.where(grey, 0.0, step), np.where(grey, both, mean)


def _hue_factor(hue: Doubles) -> Doubles:
    """How much the eye's tolerance depends on the hue (T of the standard)."""
    first, second, third, fourth = (np.cos(np.radians(n * hue + shift)) for n, shift in _HARMONICS)
    factor: Doubles = 1 - 0.17 * first + 0.24 * second + 0.32 * third - 0.20 * fourth
    return factor


_HARMONICS = ((1, -30), (2, 0), (3, 6), (4, -63))
