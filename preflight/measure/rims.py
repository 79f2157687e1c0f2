"""Whether an edge of solid white or black is the rim of an old background, or an outline that somebody drew.

Pixel by pixel the two are the same: a line of one colour between the art and the film. What differs is what surrounds
it (measured on clip art, stamps and pictures of our own, see docs/accuracy.md). A cut-out leaves a pixel or two, all
round, whatever the art's colour is, and of a colour that the art itself need not have. An outline is mostly wider, or
its colour is in the drawing as well, or it runs round a thing of one colour. Where that does not tell, nothing is said.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from preflight.measure.kernels import FIVE, both, erode, median, solid, u8
from preflight.measure.sheet import Sheet
from preflight.model import Bytes
from preflight.records import dataclass

#: Steps across the edge that a profile holds, px from the edge pixel inwards: film first, then edge, then art.
STEPS = (-4, -2, -1, 0, 1, 2, 3, 4, 5, 6)
#: Steps beyond any rim: only the art is there.
_ART = STEPS.index(4)
_OUTER = STEPS.index(-2)
#: Opacity from which a pixel is taken for opaque.
OPAQUE = 250
#: Median width of a rim, px, that a cut leaves; pixels of a slanting edge are met at up to 1.4 of it.
_CUT = 2.2
#: Levels by which a colour is still the ground's own, and the share of the inner art that makes it the art's own too.
_SAME, _OWN = 60, 0.001
#: Levels between neighbouring pixels that make texture, and the share of neighbours that makes a photograph.
_CHANGE, _PHOTOGRAPH = 2, 0.4
#: Art is flat when so much of it is of so few colours, taken as cells of so many levels.
_OF_FEW, _FEW, _FLAT = 0.92, 6, 8
#: Levels between two colours of flat art, and the share of the edge that another colour takes.
_APART, _ANOTHER = 60, 0.07
#: Cells of inner art that are enough to look for a colour in.
_LEAST_CELLS = 300
#: A rim of black goes round at least so much of the edge.
_ROUND = 0.7


@dataclass(frozen=True, slots=True)
class Rim:
    """An edge whose pixels are of the ground's own colour.

    ``profiles``: uint8 (n, len(STEPS), 4), RGBA across some of its pixels; ``inside``: float32 (n, 3), the art's
    colour at each; ``round``: share 0…1 of the edge that is like that; ``ground``: 255 or 0.
    """

    profiles: Bytes
    inside: npt.NDArray[np.float32]
    round: float
    ground: int

    def foreign(self, sheet: Sheet) -> bool:
        """Whether it is another background's rim. Black outlines are usual, white ones are not: black must show it."""
        if not len(self.inside):
            return False
        thin = self.width() <= _CUT
        if self.ground == 255:
            return thin or not self._own(sheet)
        if not thin or self.round < _ROUND or not (self._photograph() or self._of_all_colours()):
            return False
        return self._own(sheet) is False

    def width(self) -> float:
        """Median width, px: how much of the ground's colour is met on the way from the film to the art."""
        across = self.profiles[:, _OUTER:]
        opacity = across[..., 3].astype(np.float32) / 255.0
        towards = self.inside - np.float32(self.ground)
        along = ((across[..., :3] - np.float32(self.ground)) * towards[:, None]).sum(axis=2)
        art = along / np.maximum((towards**2).sum(axis=1), 1.0)[:, None]
        return float(median(((1.0 - np.clip(art, 0.0, 1.0)) * opacity).sum(axis=1)))

    def _photograph(self) -> bool:
        """Whether the art inside changes from pixel to pixel: round a photograph nobody draws a hairline."""
        art = self.profiles[:, _ART:]
        art = art[(art[..., 3] >= OPAQUE).all(axis=1), :, :3].astype(np.int16)
        changes = np.abs(np.diff(art, axis=1)).max(axis=2) > _CHANGE
        return bool(changes.size) and float(changes.mean()) >= _PHOTOGRAPH

    def _of_all_colours(self) -> bool:
        """Whether it goes round flat art of more than one colour; shading from one to the next is a drawing's."""
        cells = (self.inside // _FLAT).astype(np.intp) @ np.array((1024, 32, 1))
        counts = np.bincount(cells)
        if float(np.sort(counts)[-_FEW:].sum()) < _OF_FEW * len(cells):
            return False
        usual = median(self.inside[cells == counts.argmax()])
        return float((np.abs(self.inside - usual).max(axis=1) > _APART).mean()) >= _ANOTHER

    def _own(self, sheet: Sheet) -> bool | None:
        """Whether the art has the ground's colour well inside it, as lines or areas; None: too little to see."""
        inner = erode(solid(sheet.alpha4, OPAQUE), FIVE)
        cells = cv2.countNonZero(inner)
        if cells < _LEAST_CELLS:
            return None
        low, high = sorted((self.ground, abs(self.ground - _SAME)))
        like = cv2.inRange(sheet.sample4, (low, low, low, 0), (high, high, high, 255))
        return cv2.countNonZero(both(inner, u8(like))) > _OWN * cells
