"""The colour profile in a file: kept where it fits the pixels and can be used, else set aside with a note."""

from __future__ import annotations

from preflight.errors import IntakeError

#: Colour space in a profile's header (ICC.1:2022, 7.2.8) → the colours of a picture it fits.
_SPACES = {b"RGB ": "rgb", b"GRAY": "grey", b"CMYK": "cmyk"}
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
    fits = _SPACES.get(icc[16:20]) if len(icc) > _HEADER else None
    if fits and fits != colour:
        return None, None, f"The file's colour profile is for other colours than the file holds; {instead}."
    name = _usable(icc) if fits else None
    if name is None:
        return None, None, f"The file's colour profile cannot be read; {instead}."
    return icc, name, None


def _usable(icc: bytes) -> str | None:
    """The name of a profile that a conversion to sRGB can be built from; None when it cannot."""
    # Not on the path of a file without a profile.
    from PIL import ImageCms

    from preflight.intake.colour import cmyk_to_srgb, open_profile, to_srgb

    try:
        (cmyk_to_srgb if icc[16:20] == b"CMYK" else to_srgb)(icc)
        name = ImageCms.getProfileDescription(open_profile(icc))
    except (IntakeError, ImageCms.PyCMSError):
        return None
    printable = "".join(letter if letter.isprintable() else " " for letter in name)
    return " ".join(printable.split())[:_MOST_NAME] or "without a name"
