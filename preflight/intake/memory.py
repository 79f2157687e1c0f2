"""How much memory a picture takes, told from its head: what does not fit is refused before any of it is taken.

A child that runs into its limit half-way answers too, but later, and decoders that are refused memory often say that
the file is damaged. Every figure below was measured with libvips 8.18 on sheets of 60 and 119 megapixels.
"""

from __future__ import annotations

import sys

from preflight.errors import IntakeError
from preflight.intake.head import Head, unreadable
from preflight.model import PixelFacts

#: Bytes of a pixel that measuring takes at the most: of an opaque picture, more for transparency, more for inks. The
#: most are taken where a background was left in, for then all is measured again as if it were not there.
_OPAQUE, _SEE_THROUGH, _INKS = 4.2, 0.95, 0.3
#: Bytes of a pixel that are kept while the file is read: two maps of a quarter the size, and opacity.
_MAPS, _PLANE = 0.32, 1.0
#: Whatever the picture; and what the C library sets apart for decoders that hold a whole one.
_FIXED, _THREADS = 80_000_000, 200_000_000
#: Formats whose files are mapped whole while they are read.
_MAPPED = ("JPEG", "WebP", "GIF")
_STEP = (
    "Ask for it as a plain PNG at print size and 300 ppi, without interlacing. "
    "Or allow more with machine.memory_gb in the shop file."
)


def left() -> int | None:
    """Bytes that this process may still take; None where no limit is held, or the system does not tell."""
    if sys.platform != "linux":
        return None
    import resource

    most, _ = resource.getrlimit(resource.RLIMIT_AS)
    if most == resource.RLIM_INFINITY:
        return None
    try:
        with open("/proc/self/statm", encoding="ascii") as figures:  # noqa: PTH123
            taken = int(figures.read().split()[0]) * resource.getpagesize()
    except (OSError, ValueError):
        return None
    return max(0, most - taken)


def held(head: Head, size: int) -> int:
    """Bytes that decoding a picture keeps at the same time, its rows apart; ``size`` are those of the file."""
    turned = 0.0
    if head.orientation > 2:  # turned in memory
        turned = head.channels * (2 if head.bits > 8 and not head.convert else 1)
    kept = round(head.width * head.height * (head.held + turned))
    return (kept + _THREADS if kept else 0) + (size if head.format in _MAPPED else 0)


def needed(facts: PixelFacts, decoding: int) -> int:
    """Bytes that reading and measuring a picture can take.

    Parameters
    ----------
    decoding
        As ``held`` tells it.
    """
    pixels = facts.width * facts.height
    measuring = _OPAQUE + _SEE_THROUGH * facts.has_alpha + _INKS * (facts.colour == "cmyk")
    reading = decoding + pixels * (_MAPS + _PLANE * facts.has_alpha)
    return round(max(_FIXED + pixels * measuring, reading))


def check(facts: PixelFacts, decoding: int) -> None:
    """Refuse a picture for which there is not enough memory.

    Raises
    ------
    IntakeError
        With how much it would take.
    """
    there = left()
    if there is not None and needed(facts, decoding) > there:
        raise _too_much(facts, decoding)


def check_again(facts: PixelFacts, decoding: int) -> None:
    """The same for decoding alone, before rows are read: that may happen several times, and measuring has taken some.

    Raises
    ------
    IntakeError
        As ``check``.
    """
    if decoding and (there := left()) is not None and decoding > there:
        raise _too_much(facts, decoding)


def _too_much(facts: PixelFacts, decoding: int) -> IntakeError:
    megapixels = facts.width * facts.height / 1e6
    return unreadable(
        f"the picture is {facts.width} × {facts.height} px, {megapixels:.1f} megapixels: reading it can take "
        f"{needed(facts, decoding) / 2**30:.1f} GB of memory, more than one file may have",
        _STEP,
    )
