"""A fixture that writes a document and gives its path."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.intake.pdf import making


@pytest.fixture
def make(tmp_path: Path) -> Callable[..., Path]:
    """``making.make`` into a folder of the test's own; ``name=`` for another file name."""

    @functools.wraps(making.make)
    def made(*arguments, name: str = "art.pdf", **options):
        return making.make(tmp_path / name, *arguments, **options)

    return made
