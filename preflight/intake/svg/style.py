"""How an element is painted, once style sheets and what it inherits are taken together."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from preflight.intake.svg.lengths import DEFAULT_FONT, font_size, length, split, unit_interval
from preflight.records import dataclass

_REFERENCE = re.compile(r"""^\s*url\(\s*["']?\s*([^"')]*?)\s*["']?\s*\)\s*(.*)$""", re.DOTALL)
#: The family where none is given or none of those is there: as the library that draws has it (its documentation).
_FAMILY = "Times New Roman"
#: SVG 1.1 lets a profile's colour follow the one for the screen.
_ICC = re.compile(r"\s+icc-color\(.*$", re.DOTALL)
_SIZE_WORDS = "xx-small|x-small|small|medium|large|x-large|xx-large|larger|smaller"
_SHORT_FONT = re.compile(rf"(?:^|\s)({_SIZE_WORDS}|[\d.]+(?:%|[a-zA-Z]+))(?:\s*/\s*\S+)?\s+(.+)$", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Paint:
    """What fills a shape or its outline.

    ``colour`` is the colour as red, green, blue (0 … 1), None for none; ``reference`` names a gradient or a pattern.
    """

    colour: tuple[float, float, float] | None = None
    alpha: float = 1.0
    reference: str | None = None

    @property
    def visible(self) -> bool:
        """Whether it leaves anything."""
        return self.reference is not None or (self.colour is not None and self.alpha > 0)


NONE = Paint()
BLACK = Paint((0.0, 0.0, 0.0))


@dataclass(frozen=True, slots=True)
class Style:
    """The properties that matter here. The first part is inherited, the second is the element's own."""

    fill: Paint = BLACK
    fill_opacity: float = 1.0
    stroke: Paint = NONE
    stroke_opacity: float = 1.0
    stroke_width: str = "1"
    dashes: str = "none"
    colour: str = "black"
    visible: bool = True
    font: float = DEFAULT_FONT  #: px
    family: str = _FAMILY
    markers: tuple[str, str, str] = ("none", "none", "none")
    # its own
    shown: bool = True  #: display is not none
    opacity: float = 1.0
    filter: str | None = None  #: what it refers to
    mask: str | None = None
    blended: bool = False
    keeps_width: bool = False  #: vector-effect: non-scaling-stroke

    @property
    def heir(self) -> Style:
        """What an element inside starts from."""
        if self.shown and not self.isolated and not self.keeps_width:
            return self
        return replace(self, shown=True, opacity=1.0, filter=None, mask=None, blended=False, keeps_width=False)

    @property
    def filled(self) -> bool:
        """Whether the area is painted."""
        return self.fill.visible and self.fill_opacity > 0

    @property
    def stroked(self) -> bool:
        """Whether the outline is painted."""
        return self.stroke.visible and self.stroke_opacity > 0

    @property
    def seamless(self) -> bool:
        """Whether the outline has just the look of the area: the line is then no line, it makes the area larger."""
        return self.filled and self.fill == self.stroke and self.fill_opacity == self.stroke_opacity

    @property
    def translucent(self) -> bool:
        """Whether something other than plain, full covering is set."""
        alphas = []
        if self.filled:
            alphas.append(self.fill_opacity * self.fill.alpha)
        if self.stroked:
            alphas.append(self.stroke_opacity * self.stroke.alpha)
        return self.isolated or any(alpha < 1 for alpha in alphas)

    @property
    def isolated(self) -> bool:
        """Whether the element is drawn by itself first and then laid over what is there."""
        return self.opacity < 1 or self.blended or self.filter is not None or self.mask is not None


def compute(declared: dict[str, str], parent: Style) -> Style:
    """The style of an element from what is declared for it and the style of what it lies in."""
    style = parent.heir
    if not declared:
        return style
    told = {name: value.strip() for name, value in declared.items() if value.strip().lower() != "inherit"}
    changes = {**_inherited(told, parent), **_own(told)}
    return replace(style, **changes) if changes else style  # type: ignore[arg-type]


def _inherited(told: dict[str, str], parent: Style) -> dict[str, object]:
    changes: dict[str, object] = {}
    colour = told.get("color", parent.colour)
    if colour.lower() == "currentcolor":
        colour = parent.colour
    if "color" in told:
        changes["colour"] = colour
    for name in ("fill", "stroke"):
        if name in told and (paint := _paint(told[name], colour)) is not None:
            changes[name] = paint
        if f"{name}-opacity" in told:
            changes[f"{name}_opacity"] = unit_interval(told[f"{name}-opacity"])
    if split(told.get("stroke-width")) is not None:
        changes["stroke_width"] = told["stroke-width"]
    if "stroke-dasharray" in told:
        changes["dashes"] = told["stroke-dasharray"]
    if "visibility" in told:
        changes["visible"] = told["visibility"].lower() == "visible"
    changes.update(_font(told, parent))
    if any(name.startswith("marker") for name in told):
        names = ("marker-start", "marker-mid", "marker-end")
        pairs = zip(names, parent.markers, strict=True)
        changes["markers"] = tuple(told.get(name, told.get("marker", before)) for name, before in pairs)
    return changes


def _font(told: dict[str, str], parent: Style) -> dict[str, object]:
    changes: dict[str, object] = {}
    short = _SHORT_FONT.search(told["font"]) if "font" in told else None
    if short is not None:
        changes = {"font": font_size(short[1], parent.font), "family": _family(short[2])}
    if "font-size" in told:
        changes["font"] = font_size(told["font-size"], parent.font)
    if "font-family" in told:
        changes["family"] = _family(told["font-family"])
    return changes


def _own(told: dict[str, str]) -> dict[str, object]:
    changes: dict[str, object] = {}
    if told.get("display", "").lower() == "none":
        changes["shown"] = False
    if "opacity" in told:
        changes["opacity"] = unit_interval(told["opacity"])
    for name in ("filter", "mask"):
        if told.get(name, "none").lower() != "none":
            changes[name] = told[name]
    blend, isolation = told.get("mix-blend-mode", "normal").lower(), told.get("isolation", "auto").lower()
    if blend != "normal" or isolation == "isolate":
        changes["blended"] = True
    if told.get("vector-effect", "").lower() == "non-scaling-stroke":
        changes["keeps_width"] = True
    return changes


def _family(text: str) -> str:
    """The first family of a list, without its quotation marks."""
    first = text.split(",")[0].strip().strip("\"'").strip()
    return " ".join(first.split()) or _FAMILY


@lru_cache(maxsize=1024)
def _paint(text: str, current: str) -> Paint | None:
    """A paint; None where it cannot be read, which changes nothing (CSS)."""
    reference = _REFERENCE.match(text)
    if reference is not None:
        return Paint(reference=reference[1])
    word = text.strip().lower()
    if word in ("none", "context-fill", "context-stroke"):
        return NONE
    return _colour(current if word == "currentcolor" else text)


def _colour(text: str) -> Paint | None:
    if text.lower() == "black":
        return BLACK
    from tinycss2.color4 import parse_color

    try:
        found = parse_color(_ICC.sub("", text))
        if found is None or found == "currentcolor":
            return None
        red, green, blue, alpha = found.to("srgb")
    except (ValueError, TypeError, NotImplementedError):
        return Paint((0.5, 0.5, 0.5))  # some colour, of a space that is not known here
    return Paint((round(red, 4), round(green, 4), round(blue, 4)), float(alpha or 0.0))


def reference(text: str | None) -> str | None:
    """What ``url(…)`` refers to; None for anything else."""
    match = _REFERENCE.match(text) if text else None
    return match[1] if match is not None else None


def stroke_width(style: Style, of: float) -> float:
    """Width of the outline in units of the element.

    Parameters
    ----------
    of
        What 100 % is: the viewport's diagonal ÷ √2.
    """
    return max(0.0, length(style.stroke_width, of=of, font=style.font, otherwise=1.0))


def dash_step(style: Style, of: float) -> float | None:
    """Mean length of a dash and its gap, in units of the element; None for an unbroken line."""
    if style.dashes.lower() == "none":
        return None
    parts = [length(one, of=of, font=style.font) for one in style.dashes.replace(",", " ").split()]
    if not parts or min(parts) < 0 or sum(parts) <= 0:
        return None
    return 2.0 * sum(parts) / len(parts)
