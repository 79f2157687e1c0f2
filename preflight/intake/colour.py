"""A file's own colours as sRGB: ICC profiles through LittleCMS, on its exact path."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Literal, TypeAlias

import numpy as np
from PIL import Image, ImageCms

from preflight.errors import IntakeError
from preflight.model import Bytes

#: From uint8 colours (n, channels) to uint8 colours (n, channels).
Convert: TypeAlias = Callable[[Bytes], Bytes]

#: Without these LittleCMS resamples the chain into a coarse table: up to 11 of 255 off (measured).
EXACT = ImageCms.Flags.NOOPTIMIZE | ImageCms.Flags.NOCACHE
BLACK_POINT = ImageCms.Flags.BLACKPOINTCOMPENSATION
_RELATIVE = ImageCms.Intent.RELATIVE_COLORIMETRIC
_REFERENCE = Path(__file__).parent.with_name("data") / "coated-reference.icc"


class _Profile(ImageCms.ImageCmsProfile):
    """A profile that is not written into what was converted to it: Pillow takes 1 ms for that, each time."""

    def tobytes(self) -> bytes:
        """Nothing: nobody reads it."""
        return b""


class ProfileError(IntakeError):
    """An ICC profile that cannot be used."""

    def __init__(self, what: str) -> None:
        super().__init__(what, "Save the file again with another colour profile, such as sRGB.")


def reference_profile() -> bytes:
    """The coated-paper CMYK reference that comes with the program; where it is from stands beside it."""
    return _REFERENCE.read_bytes()


def to_srgb(icc: bytes | None) -> Convert:
    """Function from a file's own RGB to sRGB, both uint8 (n, 3).

    Parameters
    ----------
    icc
        The file's profile, for RGB, or for grey (the three channels are then equal). None: the colours are sRGB.

    Raises
    ------
    ProfileError
        When it is no such profile, or LittleCMS cannot use it.
    """
    if icc is None:
        return unchanged
    opened = open_profile(icc)
    space = opened.profile.xcolor_space.strip()
    if space == "GRAY":
        grey = transform(opened, built_in("sRGB"), "L", "RGB", _RELATIVE, EXACT | BLACK_POINT)
        return lambda rgb: grey(rgb[:, :1])
    if space != "RGB":
        raise ProfileError(f"the colour profile is for {space}, not for RGB")
    convert = transform(opened, built_in("sRGB"), "RGB", "RGB", _RELATIVE, EXACT | BLACK_POINT)
    return unchanged if _is_srgb(convert) else convert


def cmyk_to_srgb(icc: bytes | None) -> Convert:
    """Function from a file's own inks, uint8 (n, 4), 255 = full ink, to sRGB, uint8 (n, 3).

    Parameters
    ----------
    icc
        The file's CMYK profile; None: the coated-paper reference.

    Raises
    ------
    ProfileError
        When it is no such profile, or LittleCMS cannot use it.
    """
    opened = open_profile(reference_profile() if icc is None else icc)
    space = opened.profile.xcolor_space.strip()
    if space != "CMYK":
        raise ProfileError(f"the colour profile is for {space}, not for CMYK")
    return transform(opened, built_in("sRGB"), "CMYK", "RGB", _RELATIVE, EXACT | BLACK_POINT)


def open_profile(icc: bytes) -> ImageCms.ImageCmsProfile:
    """Open a profile. Raises ProfileError when it is none, or broken."""
    try:
        return _Profile(BytesIO(icc))
    except (OSError, ImageCms.PyCMSError):
        raise ProfileError("this is no ICC profile, or a broken one") from None


def transform(
    source: ImageCms.ImageCmsProfile,
    target: ImageCms.ImageCmsProfile,
    mode: str,
    to: str,
    intent: ImageCms.Intent,
    flags: ImageCms.Flags,
) -> Convert:
    """Function from colours in Pillow's mode ``mode`` to colours in mode ``to``, one a row.

    Raises
    ------
    ProfileError
        When LittleCMS cannot build it from the two profiles.
    """
    try:
        built = ImageCms.buildTransform(source, target, mode, to, intent, flags)
    except ImageCms.PyCMSError:
        raise ProfileError("the profile lacks the tables that the conversion needs") from None

    def convert(colours: Bytes) -> Bytes:
        if not len(colours):
            return np.zeros((0, len(to)), np.uint8)
        row = Image.frombytes(mode, (len(colours), 1), np.ascontiguousarray(colours).tobytes())
        converted: Bytes = np.asarray(built.apply(row), np.uint8)[0]
        return converted

    return convert


def unchanged(colours: Bytes) -> Bytes:
    """What ``to_srgb`` gives for colours that are sRGB already."""
    return colours


def built_in(space: Literal["sRGB", "LAB"]) -> ImageCms.ImageCmsProfile:
    """One of the profiles that LittleCMS makes itself."""
    return _Profile(ImageCms.createProfile(space))


def _is_srgb(convert: Convert) -> bool:
    """Whether a profile is sRGB under whatever name: no colour moves by more than a rounding step."""
    steps = np.arange(0, 256, 51, dtype=np.uint8)
    grid = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    return bool(np.abs(convert(grid).astype(np.int16) - grid).max() <= 1)
