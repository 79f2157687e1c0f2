"""Everything that a report shows of an artwork, drawn in one more pass over its strips."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np

from preflight.errors import IntakeError
from preflight.intake.colour import cmyk_to_srgb, to_srgb, unchanged
from preflight.measure.kernels import u8
from preflight.model import Artwork, Bytes, PixelFacts, Separation, Strip
from preflight.views import encode, layers
from preflight.views import palette as palettes
from preflight.views.closely import Looking
from preflight.views.model import AreaMap, OnCloth, Picture, Swatch, Views, Wanted
from preflight.views.shrunk import Frame, Shrinker, laid_on, premultiplied, straight

#: Longer side, px, of the artwork on each garment after the first, and of the picture for a list.
_SMALLER, _THUMB = 420, 160
#: The same of the pictures with hatching: its stripes are told apart at the size at which a page shows them.
_LAYER = 640
#: Garments of which a picture is drawn.
_MOST_CLOTHS = 12
Convert = Callable[[Bytes], Bytes]


def draw(artwork: Artwork, wanted: Wanted, separation: Separation) -> Views:
    """Draw everything that is wanted of one artwork.

    Raises
    ------
    IntakeError
        When the file ends early, cannot be decoded, or is no longer the one that was measured.
    """
    facts = artwork.facts
    if (facts.width, facts.height) != wanted.canvas:
        raise IntakeError("the file changed while it was being read", "Check what writes to it, then try again.")
    return _Drawing(facts, wanted, separation).of(artwork)


class _Drawing:
    """One pass, and the pictures that come of it."""

    def __init__(self, facts: PixelFacts, wanted: Wanted, separation: Separation) -> None:
        self.wanted, self.separation = wanted, separation
        self.frame = Frame.of(wanted.box)
        self.colours = Shrinker(self.frame, 4)
        self.inks: Shrinker | None = None
        self.own_inks = facts.colour == "cmyk"
        self.convert: Convert = cmyk_to_srgb(facts.icc) if self.own_inks else to_srgb(facts.icc)
        scale = wanted.mm_per_px
        self.white = None
        if scale is not None and wanted.choke_mm is not None:
            self.white = layers.WhiteLayer(self.frame, wanted.choke_mm / scale)
        self.looking = None if scale is None or not wanted.looks else Looking(wanted)

    def of(self, artwork: Artwork) -> Views:
        for strip in artwork.strips():
            self._see(strip)
        small = self.colours.close()
        alpha = u8(cv2.extractChannel(small, 3))
        lit = self._lit(small, alpha)
        return Views(
            on_cloth=self._on_cloths(lit),
            thumb=self._thumb(lit),
            close_ups=() if self.looking is None else tuple(self.looking.close_ups(self._full_srgb)),
            white=self._white(alpha),
            heavy=self._heavy(lit),
            swatches=self._swatches(lit),
        )

    def _see(self, strip: Strip) -> None:
        if self.looking is not None:
            self.looking.see(strip)
        box = self.wanted.box
        top, bottom = max(0, box.y - strip.y), min(len(strip.rgba), box.y + box.height - strip.y)
        if top >= bottom:
            return
        here = (slice(top, bottom), slice(box.x, box.x + box.width))
        rgba = strip.rgba[here]
        alpha = u8(cv2.extractChannel(rgba, 3))
        self.colours.add(premultiplied(rgba, alpha))
        if self.white is not None:
            self.white.add(alpha)
        if strip.inks is not None:
            self.inks = Shrinker(self.frame, 4) if self.inks is None else self.inks
            self.inks.add(_weighted(strip.inks[here], alpha))

    def _lit(self, small: Bytes, alpha: Bytes) -> Bytes:
        """Premultiplied sRGB of a premultiplied picture in the file's own colours."""
        if self.inks is not None:
            inks = self.inks.close()
            full = np.maximum(alpha, 1).astype(np.float32)[..., None]
            own = np.minimum(inks * (255.0 / full), 255).astype(np.uint8)
        elif self.convert is unchanged:
            return small
        else:
            own = straight(small)
        return premultiplied(np.ascontiguousarray(np.dstack((_converted(self.convert, own), alpha))))

    def _full_srgb(self, rgb: Bytes, inks: Bytes | None) -> Bytes:
        """The same of pixels that are not premultiplied."""
        return _converted(self.convert, rgb if inks is None else inks)

    def _on_cloths(self, lit: Bytes) -> tuple[OnCloth, ...]:
        """The first garment large, the others small."""
        first, *others = self.wanted.cloths[:_MOST_CLOTHS]
        found = [OnCloth(first, self._picture(laid_on(lit, first.rgb)))]
        if others:
            less = _at_most(lit, _SMALLER)
            found += [OnCloth(cloth, self._picture(laid_on(less, cloth.rgb))) for cloth in others]
        return tuple(found)

    def _thumb(self, lit: Bytes) -> Picture:
        return self._picture(laid_on(_at_most(lit, _THUMB), self.wanted.cloths[0].rgb))

    def _picture(self, pixels: Bytes) -> Picture:
        """A picture of the whole artwork, at whatever size."""
        scale = self.wanted.mm_per_px
        if scale is None:
            return encode.picture(pixels)
        along = 0 if self.frame.height > self.frame.width else 1
        full = (self.frame.height, self.frame.width)[along]
        return encode.picture(pixels, 0.0, 0.0, self.frame.cell * scale * full / pixels.shape[along])

    def _white(self, alpha: Bytes) -> AreaMap | None:
        if self.white is None or self.wanted.mm_per_px is None:
            return None
        white, bare = self.white.close()
        white, alpha, bare = _at_most(white, _LAYER), _at_most(alpha, _LAYER), _at_most(bare, _LAYER)
        drawn = layers.white_picture(white, bare, alpha)
        return AreaMap(self._picture(drawn), self.white.bare_px * self.wanted.mm_per_px**2)

    def _heavy(self, lit: Bytes) -> AreaMap | None:
        scale, limit = self.wanted.mm_per_px, self.wanted.ink_limit
        if scale is None or limit is None:
            return None
        if self.inks is None:
            total = palettes.total_ink(self._palette(lit), self.separation)
        else:
            inks = self.inks.close().astype(np.float32)
            total = np.asarray(inks.sum(axis=2) * np.float32(100 / 255), np.float32)
        px_mm = self.frame.cell * scale
        mask = palettes.over(total, limit, max(1, round(self.wanted.aperture_mm / px_mm)))
        ground = layers.pale(laid_on(_at_most(lit, _LAYER), (255, 255, 255)))
        small = (_at_most(u8(mask * np.uint8(255)), _LAYER) > 127).astype(np.uint8)
        return AreaMap(self._picture(layers.hatched(ground, small)), float(mask.sum()) * px_mm**2)

    def _swatches(self, lit: Bytes) -> tuple[Swatch, ...]:
        if self.wanted.shift_limit is None or self.own_inks:
            return ()
        return palettes.swatches(self._palette(lit), self.separation, self.wanted.shift_limit)

    @staticmethod
    def _palette(lit: Bytes) -> palettes.Palette:
        return palettes.palette(straight(lit), lit[..., 3])


def _converted(convert: Convert, colours: Bytes) -> Bytes:
    """Colours of a picture, uint8 (h, w, n), through a profile, uint8 (h, w, 3)."""
    height, width, channels = colours.shape
    return convert(np.ascontiguousarray(colours).reshape(-1, channels)).reshape(height, width, 3)


def _weighted(inks: Bytes, alpha: Bytes) -> Bytes:
    """Inks times opacity, uint8 (h, w, 4)."""
    if int(alpha.min()) == 255:
        return inks
    return u8(cv2.multiply(inks, cv2.merge([alpha] * 4), scale=1 / 255))


def _at_most(picture: Bytes, longest: int) -> Bytes:
    """A picture, premultiplied where it has colours, its longer side ``longest`` px at most."""
    height, width = picture.shape[:2]
    scale = longest / max(height, width)
    if scale >= 1:
        return picture
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    return u8(cv2.resize(picture, size, interpolation=cv2.INTER_AREA))
