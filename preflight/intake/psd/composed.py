"""A picture put together from the layers, for a file that was saved without its merged picture."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from preflight.errors import IntakeError
from preflight.intake.head import unreadable
from preflight.intake.psd.sections import Sections

#: Rows that are put together at a time, and rows of a strip.
_TALL, ROWS = 1024, 256
#: What the library raises on layers that do not hold together.
_ODD: tuple[type[Exception], ...] = (
    ValueError, TypeError, LookupError, AttributeError, ArithmeticError, OSError, AssertionError, NotImplementedError,
    ImportError, RecursionError,
)  # fmt: skip


def rows(path: Path, sections: Sections) -> Iterator[tuple[int, npt.NDArray[Any]]]:
    """Pieces of 256 rows: colours as the file stores them, then transparency.

    Yields
    ------
    tuple
        The first row's number, and uint8 samples of shape (rows, width, colours + 1).

    Raises
    ------
    IntakeError
        When the layers cannot be put together.
    """
    from psd_tools import PSDImage
    from psd_tools.composite import composite

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with path.open("rb") as file:
                document = PSDImage.open(file)
            for top in range(0, sections.height, _TALL):
                box = (0, top, sections.width, min(top + _TALL, sections.height))
                colour, _, alpha = composite(document, viewport=box)
                whole = np.concatenate([colour, alpha], axis=-1)
                data = np.rint(np.clip(whole, 0.0, 1.0) * 255.0).astype(np.uint8)
                for y in range(0, len(data), ROWS):
                    yield top + y, data[y : y + ROWS]
    except _ODD as error:
        raise _refused() from error


def _refused() -> IntakeError:
    return unreadable(
        "it was saved without its merged picture, and its layers cannot be put together here",
        "Turn on 'Maximize compatibility' in the options for saving, save it again, and send the new file.",
    )
