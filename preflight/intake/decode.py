"""From a file to rows of samples, streamed where the format allows it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager, nullcontext
from io import BufferedRandom
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any, cast

import numpy as np
import numpy.typing as npt

from preflight.errors import IntakeError
from preflight.intake.head import SAMPLES, SAVE_AGAIN, Head, cut_short, unreadable
from preflight.intake.vips import ERRORS, file_name, forget_warnings, pyvips, warnings

ROWS = 256
#: Bytes of an interlaced picture from which it is laid down in a file.
_LAID_DOWN = 100_000_000
#: Rows that are fetched from the decoder at a time: still in the processor's cache when they are copied, they cost
#: 0.6 of what a whole piece does (measured).
_FEW = 16
_LOADERS = {"PNG": "pngload", "JPEG": "jpegload", "TIFF": "tiffload", "WebP": "webpload", "GIF": "gifload"}
_SAMPLES = {"uchar": np.uint8, "ushort": np.uint16}
#: What the JPEG decoder logs and does not raise, where the picture is no longer what was saved (libjpeg, jerror.h).
_JPEG_GAPS = ("premature end",)
_JPEG_DAMAGE = ("bad Huffman", "bad arithmetic", "instead of RST", "nconsistent progression")
#: EXIF 2.32, tag 0x0112: how a decoded copy is turned upright. 2 only mirrors each row and still streams.
_TURNS = {
    3: ("rot180",),
    4: ("flipver",),
    5: ("rot90", "fliphor"),
    6: ("rot90",),
    7: ("rot270", "fliphor"),
    8: ("rot270",),
}


def open_image(path: Path, head: Head) -> Any:
    """The decoder's image, its pixels not yet decoded; as stored, before the orientation.

    The loader is named by the format that was found: a name with brackets is a name, not options, and no other
    loader gets a chance at the file.

    Raises
    ------
    IntakeError
        When the decoder refuses it, or sees another picture than the head describes.
    """
    options: dict[str, Any] = {"access": "sequential", "fail_on": "error"}
    if head.unlimited:
        options["unlimited"] = True
    try:
        image = getattr(pyvips.Image, _LOADERS[head.format])(file_name(path), **options)
    except ERRORS as error:
        raise _refused(error, head) from error
    if head.width and (image.width, image.height) != (head.width, head.height):
        raise unreadable("its head and its pixels tell two different sizes")
    if head.width and image.bands != SAMPLES[head.colour] + head.extras:
        raise unreadable(f"its head and its pixels do not agree: {image.bands} channels for {head.colour} colours")
    if image.format not in _SAMPLES and not head.convert:
        raise unreadable("its samples are of a kind that cannot be read here")
    return image


def rows(path: Path, head: Head) -> Iterator[tuple[int, npt.NDArray[Any]]]:
    """Pieces of ``ROWS`` rows from the top, the orientation applied.

    Yields
    ------
    tuple
        The first row's number, and samples as uint8 or uint16 of shape (rows, width, channels).

    Raises
    ------
    IntakeError
        When the data are damaged or end early, as soon as that row is reached.

    Notes
    -----
    A large interlaced picture is held whole by the decoder. Its rows are laid down in a file first, so that what is
    measured on them need not lie in memory beside it: 240 MB less at the peak of 119 megapixels (measured). Where there
    is no room for the file they come from the decoder.
    """
    if head.interlaced and head.width * head.height * head.channels * head.bits >= 8 * _LAID_DOWN:
        with _file() as file:
            laid = None if file is None else _lay_down(file, path, head)
            if file is not None and laid is not None:
                yield from _taken_up(file, *laid)
                return
    yield from _decoded(path, head)


def _decoded(path: Path, head: Head) -> Iterator[tuple[int, npt.NDArray[Any]]]:
    """As ``rows``, from the decoder.

    A region, not a crop for each piece: the loader's small cache lives as long as the region, and TIFF strips that
    do not end with a piece are read once. A region belongs to the thread that made it.
    """
    forget_warnings()
    y = 0
    try:
        image = _upright(open_image(path, head), head)
        region = pyvips.Region.new(image)
        # Asked for once: each time the library looks them up by name.
        width, height, bands, kind = image.width, image.height, image.bands, _SAMPLES[image.format]
        for y in range(0, height, ROWS):
            yield y, _fetched(region, y, np.empty((min(ROWS, height - y), width, bands), kind))
    except ERRORS as error:
        raise _refused(error, head, y) from error
    if head.format == "JPEG":
        _check_log(warnings())


def _file() -> AbstractContextManager[BufferedRandom | None]:
    """A file of no name that goes away by itself; None where none can be made."""
    try:
        return cast("AbstractContextManager[BufferedRandom]", TemporaryFile())
    except OSError:
        return nullcontext()


def _lay_down(file: BufferedRandom, path: Path, head: Head) -> tuple[tuple[int, ...], np.dtype[Any]] | None:
    """Write all rows into a file; the shape and kind of a piece. None when there is no room for them."""
    shape: tuple[int, ...] = (0,)
    kind = np.dtype(np.uint8)
    for _, samples in _decoded(path, head):
        shape, kind = (max(shape[0], len(samples)), *samples.shape[1:]), samples.dtype
        try:
            file.write(samples.data)
        except OSError:
            return None
    file.seek(0)
    return shape, kind


def _taken_up(
    file: BufferedRandom, shape: tuple[int, ...], kind: np.dtype[Any]
) -> Iterator[tuple[int, npt.NDArray[Any]]]:
    """The pieces of such a file, as ``rows`` gives them."""
    y = 0
    samples = np.empty(shape, kind)
    while there := file.readinto(samples.data.cast("B")) * len(samples) // samples.nbytes:
        yield y, samples[:there]
        y += there
        samples = np.empty(shape, kind)


def _fetched(region: Any, y: int, samples: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """The rows from ``y`` on copied out of the decoder into ``samples``, shape (rows, width, channels)."""
    for first in range(0, len(samples), _FEW):
        part = samples[first : first + _FEW]
        data = region.fetch(0, y + first, part.shape[1], len(part))
        part[...] = np.frombuffer(data, part.dtype).reshape(part.shape)
    return samples


def bitmap(path: Path, head: Head) -> Iterator[tuple[int, npt.NDArray[Any]]]:
    """The same for BMP, which Pillow decodes whole.

    Raises
    ------
    IntakeError
        When Pillow cannot decode it.

    Notes
    -----
    Pillow's own pixel limit lies in its ``open``, which would refuse honest sheets; the shop's limit has been checked.
    """
    from PIL import BmpImagePlugin

    mode = "RGBA" if head.extras else "RGB"
    try:
        with BmpImagePlugin.BmpImageFile(path) as picture:
            if picture.size != (head.width, head.height):
                raise unreadable("its head and its pixels tell two different sizes")
            picture.load()
            for y in range(0, head.height, ROWS):
                rows = picture.crop((0, y, head.width, min(y + ROWS, head.height)))
                yield y, np.asarray(rows.convert(mode))
    except (OSError, ValueError, TypeError, SyntaxError, OverflowError, LookupError) as error:
        raise _refused(error, head) from error


def _upright(image: Any, head: Head) -> Any:
    if head.convert:
        image = image.colourspace("srgb")
    if head.orientation == 2:
        return image.fliphor()
    if head.orientation != 1:
        image = image.copy_memory()
        for turn in _TURNS[head.orientation]:
            image = getattr(image, turn)()
    return image


def _refused(error: Exception, head: Head, y: int = 0) -> IntakeError:
    """What the decoder's refusal means to people."""
    text = str(error).lower()
    if "truncated" in text or "premature end" in text or "unexpected end" in text:
        return cut_short()
    where = f"near row {y} of {head.height}" if y else "or of a kind that cannot be read here"
    return unreadable(f"its {head.format} data are damaged {where}", SAVE_AGAIN)


def _check_log(log: str) -> None:
    """Raise for gaps that the JPEG decoder filled with grey."""
    if any(sign in log for sign in _JPEG_GAPS):
        raise cut_short("parts of the picture are missing in the file")
    if any(sign in log for sign in _JPEG_DAMAGE):
        raise unreadable("its JPEG data are damaged inside")
