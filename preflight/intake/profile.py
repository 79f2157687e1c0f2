"""The colour profile in a file: kept where it fits the pixels and can be used, else set aside with a note."""

from __future__ import annotations

import io

#: Colour space in a profile's header (ICC.1:2022, 7.2.8) → the colours of a picture it fits, and Pillow's mode.
_SPACES = {b"RGB ": ("rgb", "RGB"), b"GRAY": ("grey", "L"), b"CMYK": ("cmyk", "CMYK")}
_HEADER = 128
_MOST_NAME = 80


def check_profile(icc: bytes | None, colour: str, *, says_srgb: bool) -> tuple[bytes | None, str | None, str | None]:
    """The profile, its name, and a note for the report.

    Parameters
    ----------
    icc
        As it stands in the file; None = the file has none.
    colour
        "rgb", "grey" or "cmyk": what the pixels are.
    says_srgb
        The file names sRGB without a profile.

    Returns
    -------
    tuple
        Profile and name are None, and there is a note, where sRGB (or, for inks, nothing) has to be assumed.
    """
    instead = "its inks are taken as they stand" if colour == "cmyk" else "sRGB is assumed"
    if icc is None:
        return None, None, None if says_srgb else f"The file has no colour profile; {instead}."
    fits, mode = _SPACES.get(icc[16:20], ("", "")) if len(icc) > _HEADER else ("", "")
    if fits and fits != colour:
        return None, None, f"The file's colour profile is for other colours than the file holds; {instead}."
    name = _usable(icc, mode) if fits else None
    if name is None:
        return None, None, f"The file's colour profile cannot be read; {instead}."
    return icc, name, None


def _usable(icc: bytes, mode: str) -> str | None:
    """The name of a profile that a conversion can be built from; None when it cannot."""
    from PIL import ImageCms  # not on the path of a file without a profile

    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        ImageCms.buildTransform(profile, ImageCms.createProfile("sRGB"), mode, "RGB")
        name = ImageCms.getProfileDescription(profile)
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None
    printable = "".join(letter if letter.isprintable() else " " for letter in name)
    return " ".join(printable.split())[:_MOST_NAME] or "without a name"
