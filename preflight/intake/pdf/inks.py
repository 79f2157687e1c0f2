"""Colour spaces and the inks that they name.

Colour spaces: ISO 32000-1, 8.6 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from preflight.intake.pdf import values
from preflight.intake.pdf.names import ALL, NONE, PROCESS, is_white
from preflight.intake.pdf.values import Value
from preflight.records import dataclass

_DEEPEST = 8
_MOST_COLORANTS = 64


@dataclass(frozen=True, slots=True)
class Space:
    """A colour space.

    ``family``: "grey", "rgb", "cmyk", "spot" (Separation and DeviceN), "pattern" or "unknown". ``inks`` are its
    colorants in order, empty where it has none of its own; ``device`` tells DeviceCMYK from a profile for CMYK.
    ``indexed``: values are places in a table, not amounts. ``program``: instructions that turn a spot colour's amounts
    into a colour that can be drawn.
    """

    family: str
    components: int
    inks: tuple[str, ...] = ()
    device: bool = False
    indexed: bool = False
    program: int = 0
    base: Space | None = None


@dataclass(frozen=True, slots=True)
class Paint:
    """What an area is painted with.

    ``inks`` are those it puts down; ``nothing``: the colorant /None, no mark at all; ``leaves``: some process ink of
    DeviceCMYK is zero, so that overprint mode 1 leaves what lies below; ``blank``: all of them are.
    """

    family: str
    inks: tuple[str, ...] = ()
    nothing: bool = False
    leaves: bool = False
    blank: bool = False
    pattern: Value = None


GREY = Space("grey", 1)
RGB = Space("rgb", 3)
CMYK = Space("cmyk", 4, PROCESS, device=True)
PATTERN = Space("pattern", 0)
UNKNOWN = Space("unknown", 1)
BLACK = Paint("grey")
_SIMPLE = {
    "DeviceGray": GREY,
    "CalGray": GREY,
    "DeviceRGB": RGB,
    "CalRGB": RGB,
    "Lab": RGB,
    "DeviceCMYK": CMYK,
    "CalCMYK": CMYK,
    "Pattern": PATTERN,
}
_BY_CHANNELS = {1: GREY, 3: RGB, 4: replace(CMYK, device=False)}


def read_space(
    value: Value,
    named: Callable[[Value], Value],
    depth: int = _DEEPEST,
    *,
    program: Callable[[Value], int] = lambda _: 0,
) -> Space:
    """Read a colour space.

    Parameters
    ----------
    value
        A name (of the file format, or of the resources) or an array.
    named
        Finds a name in the resources.
    depth
        How many names and arrays may still lie in one another.
    program
        Counts the instructions of a function.
    """
    name = values.name(value)
    if name is not None:
        own = None if name in _SIMPLE or depth == 0 else named(value)
        return _SIMPLE.get(name, UNKNOWN) if own is None else read_space(own, named, depth - 1, program=program)
    family, *rest = list(values.items(value, 5)) or [None]
    kind = values.name(family)
    first = rest[0] if rest else None
    if kind == "ICCBased":
        return _BY_CHANNELS.get(values.whole(values.get(first, "/N")), UNKNOWN)
    if kind == "Separation":
        return Space("spot", 1, (values.name(first) or "",), program=program(_third(rest)))
    if kind == "DeviceN":
        inks = tuple(values.name(one) or "" for one in values.items(first, _MOST_COLORANTS))
        return Space("spot", len(inks), inks, program=program(_third(rest)))
    if kind in ("Indexed", "Pattern") and depth:
        under = None if first is None else read_space(first, named, depth - 1, program=program)
        if kind == "Pattern":
            return replace(PATTERN, base=under)
        return replace(under or UNKNOWN, components=1, indexed=True)
    return _SIMPLE.get(kind or "", UNKNOWN)


def _third(rest: Sequence[Value]) -> Value:
    """The function of a spot colour: what follows its names and the colour space it is drawn in."""
    return rest[2] if len(rest) > 2 else None


def initial(space: Space) -> Paint:
    """The paint that a colour space starts with: black, and full tints for spot colours."""
    if space.family == "cmyk":
        return paint(space, (0.0, 0.0, 0.0, 1.0))
    return paint(space, (1.0,) * space.components)


def paint(space: Space, amounts: Sequence[float]) -> Paint:
    """The paint of a colour space with these components."""
    if not space.inks:
        return Paint(space.family)
    if space.indexed or len(amounts) != len(space.inks):
        return whole_space(space)
    used = [ink for ink, amount in zip(space.inks, amounts, strict=True) if amount > 0.0]
    process = space.family == "cmyk" and space.device
    return Paint(
        space.family,
        tuple(ink for ink in used if ink != NONE),
        nothing=_only_none(space),
        leaves=process and len(used) < len(PROCESS),
        blank=process and not used,
    )


def whole_space(space: Space) -> Paint:
    """The paint of a picture or a blend: any ink of its colour space may be in it."""
    return Paint(space.family, tuple(ink for ink in space.inks if ink != NONE), nothing=_only_none(space))


def _only_none(space: Space) -> bool:
    return space.family == "spot" and bool(space.inks) and all(ink == NONE for ink in space.inks)


def ink_kind(name: str) -> str:
    """What an ink is: "process", "spot", "white" (a white plate of the customer's own) or "all" (every plate)."""
    if name == ALL:
        return "all"
    if name in PROCESS:
        return "process"
    return "white" if is_white(name) else "spot"
