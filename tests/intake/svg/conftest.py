"""What the tests of drawings share: a drawing written, opened and drawn."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from preflight.intake.svg import open_svg
from preflight.intake.svg.page import SvgPage

LIMIT = 118_800_000
ROOT = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {size}>{inside}</svg>'
MM = 'width="100mm" height="50mm" viewBox="0 0 100 50"'


@pytest.fixture
def drawing(tmp_path: Path) -> Callable[..., SvgPage]:
    """Open a drawing of 100 × 50 mm whose unit is the millimetre, or of another size."""

    def made(inside: str, size: str = MM, *, before: str = "", limit: int = LIMIT) -> SvgPage:
        path = tmp_path / "art.svg"
        path.write_text(before + ROOT.format(size=size, inside=inside), encoding="utf-8")
        return open_svg(path, pixel_limit=limit)[0]

    return made


@pytest.fixture
def draw() -> Callable[[SvgPage], np.ndarray]:
    """All rows of a drawing: uint8, shape (height, width, 4)."""

    def drawn(page: SvgPage) -> np.ndarray:
        rgba = np.concatenate([strip.rgba for strip in page.strips()])
        assert rgba.shape == (page.facts.height, page.facts.width, 4)
        return rgba

    return drawn
