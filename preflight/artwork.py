"""A customer's file, opened: what every reader of a format gives, and all that the rooms above know of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol, TypeAlias, runtime_checkable

import numpy as np
import numpy.typing as npt

from preflight.facts import DocumentFacts, InkFact, PixelFacts
from preflight.records import dataclass

Bytes: TypeAlias = npt.NDArray[np.uint8]
Floats: TypeAlias = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Strip:
    """Some rows of the artwork.

    ``rgba``: uint8, shape (rows, width, 4), straight alpha, in the file's own RGB (see ``PixelFacts.icc``); for a
    CMYK file a plain conversion that is good for shapes, not for colour. ``inks``: uint8, shape (rows, width, 4),
    C M Y K, 255 = full ink; None unless the file has inks of its own.
    """

    y: int
    rgba: Bytes
    inks: Bytes | None = None


class Artwork(Protocol):
    """A customer's file, or one page of it, opened. The only thing that touches it."""

    @property
    def name(self) -> str:
        """The file's name without its folder."""
        ...

    @property
    def facts(self) -> PixelFacts:
        """What the file's head says."""
        ...

    @property
    def page(self) -> int:
        """Which page of the file, counted from 1."""
        ...

    @property
    def document(self) -> DocumentFacts | None:
        """What the file's own objects say; None for a picture, which has none."""
        ...

    def strips(self) -> Iterator[Strip]:
        """Rows from top to bottom, each once. Raises IntakeError when the file ends early."""
        ...


@runtime_checkable
class WithInks(Artwork, Protocol):
    """An artwork whose file names inks of its own."""

    def ink_shares(self) -> tuple[InkFact, ...]:
        """The inks, spot colours and white plates with the share of the page that they would cover at 100 %."""
        ...

    def white_plate(self) -> Iterator[tuple[int, Bytes]]:
        """The customer's own white plate: first row and uint8 (rows, width), 255 = full; nothing without one."""
        ...


@runtime_checkable
class Drawn(Artwork, Protocol):
    """An artwork that is drawn from objects, as finely as is asked for."""

    @property
    def wants_program(self) -> bool:
        """Whether another program, which is installed, tells more of it."""
        ...

    def for_print(self, width_mm: float | None, height_mm: float | None, size_of: str = "artwork") -> Drawn:
        """The same, drawn so finely that a print of the ordered size comes to 300 ppi."""
        ...
