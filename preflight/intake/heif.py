"""HEIC and AVIF: pictures inside an ISO base media file, decoded whole by libraries that do not stream.

The library for HEIC has crashed on damaged files in trials: it belongs into a process of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from preflight.errors import IntakeError
from preflight.intake import density, memory, pixels, profile
from preflight.intake.head import SAVE_AGAIN, Head, check_size, cut_short, unreadable
from preflight.intake.reading import reading
from preflight.intake.tags import read_exif
from preflight.model import PixelFacts, Strip
from preflight.records import dataclass

HEIC, AVIF = "HEIC", "AVIF"
ROWS = 256
#: Decoded whole and copied: more pixels than these need over a gigabyte (measured: 144 megapixels took up to 2.1).
MOST_PIXELS = 80_000_000
_HELD = 15.0
_TURNED_NOTE = "The file says how the picture is turned; it is checked the way viewers show it."
#: What the libraries raise on files that do not hold together.
_ERRORS: tuple[type[Exception], ...] = (
    OSError, ValueError, RuntimeError, SyntaxError, TypeError, LookupError, ArithmeticError, EOFError,
)  # fmt: skip
#: Colour primaries of ITU-T H.273: BT.709, those of sRGB.
_SRGB_PRIMARIES = 1
#: EXIF orientation → the decoded picture upright.
_UPRIGHT: dict[int, Callable[[npt.NDArray[Any]], npt.NDArray[Any]]] = {
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: a.transpose(1, 0, 2)[:, ::-1],
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: a.transpose(1, 0, 2)[::-1],
}


@dataclass(frozen=True, slots=True)
class HeifPicture:
    """One picture in one file. Holds no file open between calls."""

    path: Path
    facts: PixelFacts
    page: int = 1
    _head: Head = field(repr=False, kw_only=True)

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        return self.path.name

    @property
    def document(self) -> None:
        """A picture file has no objects."""
        return None

    def strips(self) -> Iterator[Strip]:
        """Pieces of 256 rows (the last may be shorter) from top to bottom, each once per call.

        Yields
        ------
        Strip
            RGBA with straight alpha.

        Raises
        ------
        IntakeError
            When the file turns out to be damaged or cut short.
        """
        decode = _decode_heic if self._head.format == HEIC else _decode_avif
        with reading(self.path, "Save it as a PNG, smaller, and send that."):
            memory.check_again(self.facts, memory.held(self._head, 0))
            samples = _upright(decode(self.path), self._head)
            if samples.shape[:2] != (self.facts.height, self.facts.width):
                raise unreadable("its head and its pixels tell two different sizes")
            for y in range(0, self.facts.height, ROWS):
                yield pixels.strip(y, np.ascontiguousarray(samples[y : y + ROWS]), self._head)


def open_heic(path: Path, *, pixel_limit: int) -> list[HeifPicture]:
    """Read the head of a HEIC photo; no pixel is decoded.

    Parameters
    ----------
    path
        An ordinary file.
    pixel_limit
        Most pixels that are let through.

    Raises
    ------
    IntakeError
        When it is damaged, larger than the limit, or its library is not installed.
    OSError
        When the file cannot be opened.
    """
    file = _open_heic(path)
    if not len(file):
        raise unreadable("there is no picture in it")
    width, height = file.size
    info = file.info
    primaries = (info.get("nclx_profile") or {}).get("color_primaries")
    head = Head(
        format=HEIC,
        width=width,
        height=height,
        colour="rgb",
        bits=int(info.get("bit_depth") or 8),
        extras=int(file.has_alpha),
        alpha=0 if file.has_alpha else None,
        stated=_stated(info.get("exif")),
        icc=info.get("icc_profile") or None,
        says_srgb=primaries == _SRGB_PRIMARIES,
        frames=len(file),
        frame_word="pictures",
        held=_HELD,
    )
    return [_picture(path, head, pixel_limit)]


def open_avif(path: Path, *, pixel_limit: int) -> list[HeifPicture]:
    """Read the head of an AVIF picture; no pixel is decoded. Otherwise the same as ``open_heic``.

    Raises
    ------
    IntakeError
        As ``open_heic``.
    OSError
        When the file cannot be opened.
    """
    with _open_avif(path) as picture:
        exif = picture.info.get("exif")
        orientation, _ = read_exif(exif) if exif else (1, None)
        alpha = picture.mode == "RGBA"
        head = Head(
            format=AVIF,
            width=picture.size[0],
            height=picture.size[1],
            colour="rgb",
            extras=int(alpha),
            alpha=0 if alpha else None,
            orientation=orientation,
            stated=_stated(exif),
            icc=picture.info.get("icc_profile") or None,
            frames=int(picture.n_frames),
            frame_word="pictures",
            held=_HELD,
        )
    return [_picture(path, head, pixel_limit)]


def _picture(path: Path, head: Head, pixel_limit: int) -> HeifPicture:
    check_size(head.width, head.height)
    there, most = head.width * head.height, min(pixel_limit, MOST_PIXELS)
    if there > most:
        raise unreadable(
            f"the picture is {head.width} × {head.height} px, {there / 1e6:.1f} megapixels; "
            f"the limit for {head.format} is {most / 1e6:.1f} megapixels",
            "Save it as a PNG at print size and 300 ppi, and send that.",
        )
    ppi, source, density_note = density.choose(head.stated, turned=head.turned)
    icc, icc_name, profile_note = profile.check_profile(head.icc, head.colour, says_srgb=head.says_srgb)
    notes = [note for note in (profile_note, density_note) if note]
    if head.frames > 1:
        notes.append(f"The file holds {head.frames} {head.frame_word}; only the first is checked.")
    if head.orientation != 1:
        notes.append(_TURNED_NOTE)
    width, height = (head.height, head.width) if head.turned else (head.width, head.height)
    facts = PixelFacts(
        format=head.format,
        width=width,
        height=height,
        has_alpha=head.alpha is not None,
        colour=head.colour,
        bits=head.bits,
        density_ppi=ppi,
        density_from=source,
        icc=icc,
        icc_name=icc_name,
        frames=head.frames,
        notes=tuple(notes),
    )
    memory.check(facts, memory.held(head, 0))
    return HeifPicture(path, facts, _head=head)


def _stated(exif: bytes | None) -> tuple[density.Stated, ...]:
    if not exif:
        return ()
    _, stated = read_exif(exif)
    return () if stated is None else (stated,)


def _upright(samples: npt.NDArray[Any], head: Head) -> npt.NDArray[Any]:
    turn = _UPRIGHT.get(head.orientation)
    return samples if turn is None else turn(samples)


def _open_heic(path: Path) -> Any:
    try:
        import pi_heif
    except ImportError:
        raise unreadable("it is a HEIC photo, and the library for them is not installed", _AS_JPEG) from None
    pi_heif.options.DECODE_THREADS = 1
    pi_heif.options.THUMBNAILS = pi_heif.options.DEPTH_IMAGES = pi_heif.options.AUX_IMAGES = False
    data = path.read_bytes()
    try:
        return pi_heif.open_heif(data, convert_hdr_to_8bit=True)
    except _ERRORS as error:
        raise _refused(error, HEIC) from error


def _decode_heic(path: Path) -> npt.NDArray[Any]:
    file = _open_heic(path)
    try:
        # A copy, made while the file is open: the library's array points into memory that goes away with the file.
        samples = np.array(file[file.primary_index])
    except _ERRORS as error:
        raise _refused(error, HEIC) from error
    if samples.ndim == 2:
        samples = np.repeat(samples[..., None], 3, axis=2)
    if file.premultiplied_alpha:
        samples = _straight(samples)
    return samples


def _straight(samples: npt.NDArray[Any]) -> npt.NDArray[Any]:
    alpha = np.maximum(samples[..., 3:], 1).astype(np.float32)
    colour = np.clip(np.rint(samples[..., :3] * (255.0 / alpha)), 0, 255).astype(np.uint8)
    return np.concatenate([colour, samples[..., 3:]], axis=2)


def _open_avif(path: Path) -> Any:
    from PIL import AvifImagePlugin

    AvifImagePlugin.DEFAULT_MAX_THREADS = 1
    if not AvifImagePlugin.SUPPORTED:
        raise unreadable("it is an AVIF picture, and the library for them is not installed", _AS_PNG)
    try:
        # Not Pillow's ``open``: its own pixel limit would refuse honest sheets; the shop's is checked from the head.
        return AvifImagePlugin.AvifImageFile(path)
    except FileNotFoundError:
        raise
    except _ERRORS as error:
        raise _refused(error, AVIF) from error


def _decode_avif(path: Path) -> npt.NDArray[Any]:
    with _open_avif(path) as picture:
        try:
            picture.load()
            return np.asarray(picture)
        except _ERRORS as error:
            raise _refused(error, AVIF) from error


def _refused(error: Exception, format: str) -> IntakeError:  # noqa: A002
    text = str(error).lower()
    if any(sign in text for sign in ("truncated", "end of file", "unexpected end", "end-of-file")):
        return cut_short()
    return unreadable(f"its {format} data are damaged or of a kind that cannot be read here", SAVE_AGAIN)


_AS_JPEG = "Save it as a JPEG or PNG and send that, or install film-preflight with its libraries."
_AS_PNG = "Save it as a PNG and send that."
